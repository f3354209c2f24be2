/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A stack at other conditions: what changes in each material, and the callouts before and then.
 */
#include "internal/numbers.h"
#include "internal/parts.h"
#include <math.h>
#include <string.h>

/* The middle of what the callouts ask about, by wave number. */
static double middle_nm(const bc_shift_report *report)
{
    const bc_check_result *result = report->reports[0].result;
    double from = INFINITY, to = 0.0;
    for (size_t f = 0; f < result->count; f++) {
        from = fmin(from, result->finding[f].callout->from_nm);
        to = fmax(to, result->finding[f].callout->to_nm);
    }
    return 2.0 / (1.0 / from + 1.0 / to);
}

static double index_at(const bc_medium *medium, double nm)
{
    double n;
    return bc_dispersion_index(medium->dispersion, 1, &nm, &n, NULL, NULL) == BC_OK ? n : NAN;
}

/* Material number `which` of the layers and the glass, as it was and as it is then; false: there are no more. */
static bool material_at(const bc_shift_report *report, size_t which, const bc_medium **before, const bc_medium **then)
{
    const bc_stack *one = report->reports[0].stack, *other = report->reports[1].stack;
    size_t seen = 0;
    for (size_t j = one->layers; j-- > 0;) {
        bool first = true;
        for (size_t k = one->layers; k-- > j + 1;)
            first = first && strcmp(one->layer[k].material.name, one->layer[j].material.name) != 0;
        *before = &one->layer[j].material;
        *then = &other->layer[j].material;
        if (first && seen++ == which)
            return true;
    }
    *before = &one->substrate;
    *then = &other->substrate;
    return seen == which;
}

static double change_percent(const bc_shift_report *report)
{
    const double nm = middle_nm(report);
    return 100.0 * (bc_optical_thickness_nm(report->reports[1].stack, nm) /
                        bc_optical_thickness_nm(report->reports[0].stack, nm) -
                    1.0);
}

static void add_conditions(bc_text *words, const bc_conditions *conditions)
{
    bc_text_add(words, "%s, %g C",
                conditions->n_void > 1.0 ? "humid air (pores full of water, index 1.333)"
                                         : "vacuum or dry air (pores empty)",
                conditions->temperature_c);
}

static void add_words(bc_text *words, const bc_shift_report *report)
{
    const double change = change_percent(report);
    bc_text_add(words, "Stack 1 is as designed: ");
    add_conditions(words, &report->before);
    bc_text_add(words, ". Stack 2 is the same one in ");
    add_conditions(words, &report->then);
    bc_text_add(words, ".");
    if (isfinite(change))
        bc_text_add(
            words,
            " At %.4g nm its layers are optically %.3g %% %s on the whole: the spectrum moves to %s wavelengths "
            "by about as much (exactly so for a single layer without dispersion).",
            middle_nm(report), fabs(change), change < 0.0 ? "thinner" : "thicker", change < 0.0 ? "shorter" : "longer");
    bc_text_add(words,
                " This is an estimate: n = p n_solid + (1 - p) n_void, dn/dT and expansion linear; stress, and how "
                "fast water enters, are left out (common practice, no source).");
}

static void add_materials(bc_text *out, const bc_shift_report *report)
{
    static const char *const heading[] = {"material",        "packing",  "dn/dT per K",
                                          "expansion per K", "n before", "n then"};
    bc_table table = {.columns = 6, .right = {false, true, true, true, true, true}, .indent = 2};
    const double nm = middle_nm(report);
    const bc_medium *before, *then;
    bc_table_row(&table);
    for (size_t column = 0; column < table.columns; column++)
        bc_table_cell(&table, column, "%s", heading[column]);
    for (size_t which = 0; material_at(report, which, &before, &then); which++) {
        const bc_behaviour own = bc_behaviour_of(report->behaviours, report->behaviour, before->name);
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%s", before->name);
        bc_table_cell(&table, 1, "%.4g", own.packing_density);
        bc_table_cell(&table, 2, "%.3g", own.dn_dt);
        bc_table_cell(&table, 3, "%.3g", own.expansion);
        bc_table_cell(&table, 4, "%.4f", index_at(before, nm));
        bc_table_cell(&table, 5, "%.4f", index_at(then, nm));
    }
    bc_table_write(&table, out);
    bc_text_add(out, "\n");
}

bc_status bc_report_shift_text(const bc_shift_report *report, bc_text *out, bc_error *error)
{
    bc_text words = {0};
    add_words(&words, report);
    bc_text_wrap_gathered(out, 0, &words);
    bc_text_add(out, "\n");
    add_materials(out, report);
    return bc_report_compare_text(2, report->reports, out, error);
}

static void conditions_json(const bc_conditions *conditions, cJSON *array, bc_json *json)
{
    cJSON *row = bc_json_object(json, array, NULL);
    bc_json_number(json, row, "n_void", conditions->n_void, 12);
    bc_json_number(json, row, "temperature_c", conditions->temperature_c, 12);
}

bc_status bc_report_shift_json(const bc_shift_report *report, bc_text *out, bc_error *error)
{
    const double nm = middle_nm(report);
    const bc_medium *before, *then;
    bc_json json;
    cJSON *array;
    bc_json_open(&json);
    bc_json_number(&json, json.root, "at_nm", nm, 12);
    bc_json_number(&json, json.root, "optical_thickness_percent", change_percent(report), 12);
    array = bc_json_array(&json, json.root, "conditions");
    conditions_json(&report->before, array, &json);
    conditions_json(&report->then, array, &json);
    array = bc_json_array(&json, json.root, "materials");
    for (size_t which = 0; material_at(report, which, &before, &then); which++) {
        const bc_behaviour own = bc_behaviour_of(report->behaviours, report->behaviour, before->name);
        cJSON *row = bc_json_object(&json, array, NULL);
        bc_json_string(&json, row, "material", before->name);
        bc_json_number(&json, row, "packing_density", own.packing_density, 12);
        bc_json_number(&json, row, "dn_dt_per_k", own.dn_dt, 12);
        bc_json_number(&json, row, "expansion_per_k", own.expansion, 12);
        bc_json_number(&json, row, "n_before", index_at(before, nm), 12);
        bc_json_number(&json, row, "n_then", index_at(then, nm), 12);
    }
    bc_compare_json(2, report->reports, &json);
    return bc_json_close(&json, out, error);
}
