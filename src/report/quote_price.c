/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A quote as rows for a spreadsheet that prices it.
 */
#include "internal/numbers.h"
#include "internal/quote_words.h"
#include "print.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A number, or an empty cell for one that is not known. */
static void add_number(bc_text *out, double value, int digits)
{
    if (isfinite(value))
        bc_text_add(out, ",%.*g", digits, value);
    else
        bc_text_add(out, ",");
}

static void add_count(bc_text *out, size_t count)
{
    if (count > 0)
        bc_text_add(out, ",%zu", count);
    else
        bc_text_add(out, ",");
}

/* nm of a material in one deposition of a stack, as thickness on the part. */
static double material_nm(const bc_stack *stack, const bc_medium *material)
{
    double nm = 0.0;
    for (size_t i = 0; i < stack->layers; i++)
        nm += strcmp(stack->layer[i].material.name, material->name) == 0 ? stack->layer[i].thickness_nm : 0.0;
    return nm;
}

/* g of a material that land on the load circle in one deposition, at the density that its table gives. NAN: not known.
 */
static double material_g(const bc_quote_request *request, const bc_stack *stack, const bc_medium *material)
{
    static const double cm_per_nm = 1e-7, cm_per_mm = 0.1;
    const bc_chamber *chamber = request->chamber;
    if (chamber == NULL || !chamber->has_load_diameter)
        return NAN;
    return material_nm(stack, material) * cm_per_nm * 0.25 * 3.14159265358979323846 *
           pow(chamber->load_diameter_mm * cm_per_mm, 2.0) *
           bc_dispersion_note_number(material->dispersion, "density_g_cm3");
}

static void add_once(bc_media *all, const bc_medium *material)
{
    for (size_t m = 0; m < all->count; m++)
        if (strcmp(all->medium[m]->name, material->name) == 0)
            return;
    all->medium[all->count++] = material;
}

/* The layer materials of all options, each name once, in the order in which they are deposited. */
static bool collect(size_t count, const bc_quote_surface *surface, bc_media *all)
{
    size_t layers = 1;
    for (size_t s = 0; s < count; s++)
        for (size_t o = 0; o < surface[s].report->result->options; o++)
            layers += surface[s].report->result->option[o].stack.layers;
    all->medium = calloc(layers, sizeof(const bc_medium *));
    if (all->medium == NULL)
        return false;
    for (size_t s = 0; s < count; s++) {
        const bc_quote_result *result = surface[s].report->result;
        for (size_t o = 0; o < result->options; o++)
            for (size_t i = result->option[o].stack.layers; i-- > 0;)
                add_once(all, &result->option[o].stack.layer[i].material);
    }
    return true;
}

static void add_heading(const bc_media *all, bc_text *out)
{
    bc_text_add(out, "surface,option,recommended,verdict,quantity,faces,layers,total_nm,yield_percent,parts_per_load,"
                     "hours_per_load,loads,expected_loads,expected_hours,confidence_percent,loads_at_confidence,"
                     "hours_at_confidence,failed_part,blanks");
    for (size_t m = 0; m < all->count; m++) {
        char name[BC_NAME_SIZE + 16];
        bc_print(name, sizeof name, "%s_nm_per_load", all->medium[m]->name);
        bc_text_add(out, ",");
        bc_add_csv_cell(out, name);
        bc_print(name, sizeof name, "%s_g_per_load", all->medium[m]->name);
        bc_text_add(out, ",");
        bc_add_csv_cell(out, name);
    }
    bc_text_add(out, "\n");
}

static void add_option(const bc_quote_surface *surface, size_t which, const bc_media *all, bc_text *out)
{
    const bc_quote_report *report = surface->report;
    const bc_quote_request *request = report->request;
    const bc_quote_result *result = report->result;
    const bc_quote_option *option = &result->option[which];
    const double loads = option->loads_at_confidence > 0 ? (double)option->loads_at_confidence : NAN;
    bc_add_csv_cell(out, surface->name == NULL ? "" : surface->name);
    bc_text_add(out, ",%zu,%s,%s", which + 1, which == result->recommended ? "yes" : "no",
                which == result->recommended ? bc_feasibility_word(result->verdict) : "");
    add_count(out, request->quantity);
    bc_text_add(out, ",%d,%zu,%.3f", request->both_sides ? 2 : 1, option->stack.layers, option->total_nm);
    add_number(out, 100.0 * option->yield, 6);
    add_count(out, result->parts_per_load);
    add_number(out, option->hours_per_load, 6);
    add_count(out, option->loads);
    add_number(out, option->loads_expected, 6);
    add_number(out, option->expected_hours, 6);
    add_number(out, 100.0 * (request->confidence > 0.0 ? request->confidence : 0.95), 6);
    add_count(out, option->loads_at_confidence);
    add_number(out, loads * option->hours_per_load, 6);
    bc_text_add(out, ",%s", request->failed_part == BC_FAILED_SCRAP ? "scrap" : "strip");
    add_count(out, option->blanks);
    for (size_t m = 0; m < all->count; m++) {
        bc_text_add(out, ",%.3f", material_nm(&option->stack, all->medium[m]));
        add_number(out, material_g(request, &option->stack, all->medium[m]), 4);
    }
    bc_text_add(out, "\n");
}

bc_status bc_report_quotes_price_csv(size_t count, const bc_quote_surface *surface, bc_text *out, bc_error *error)
{
    bc_media all = {0};
    out->failed = out->failed || !collect(count, surface, &all);
    add_heading(&all, out);
    for (size_t s = 0; s < count; s++)
        for (size_t o = 0; o < surface[s].report->result->options && !out->failed; o++)
            add_option(&surface[s], o, &all, out);
    bc_media_clear(&all);
    return bc_text_end(out, error);
}
