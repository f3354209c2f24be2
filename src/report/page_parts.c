/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/page_parts.h"
#include "internal/curved.h"
#include "internal/numbers.h"
#include "internal/plot_words.h"
#include <math.h>
#include <string.h>

#define PANELS ((size_t)4) /* of curves in one picture: more would be too flat to read */

/* A path without its folders. */
static const char *file_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash == NULL ? path : slash + 1;
}

static void add_fact(bc_document *document, const char *name, const char *value)
{
    if (value == NULL)
        return;
    bc_document_cell(document, "%s", name);
    bc_document_cell(document, "%s", value);
}

void bc_page_add_part(bc_document *document)
{
    bc_document_add(document, BC_BLOCK_FACTS);
    add_fact(document, "Part", document->part);
    add_fact(document, "Date", document->date);
}

static void add_coating(bc_document *document, const bc_stack *stack)
{
    bc_text layers = {0};
    bc_add_layers(&layers, stack->layers);
    bc_text_add(&layers, ", %.3f nm", bc_stack_total_nm(stack));
    bc_document_cell(document, "Coating");
    bc_document_take(document, &layers);
}

void bc_page_add_stack(bc_document *document, const bc_stack *stack)
{
    add_coating(document, stack);
    add_fact(document, "Substrate", stack->substrate.name);
    add_fact(document, "Light comes from", stack->incident.name);
}

void bc_page_head(bc_document *document, const bc_check_report *report)
{
    const bc_medium *glass = NULL;
    bc_text glasses = {0};
    bc_page_add_part(document);
    add_coating(document, report->stack);
    while ((glass = bc_next_glass(report->result, glass)) != NULL)
        bc_text_add(&glasses, "%s%s", glasses.length == 0 ? "" : ", ", glass->name);
    bc_document_cell(document, "Substrate");
    bc_document_take(document, &glasses);
    if (report->curved != NULL) {
        bc_document_cell(document, "Surface");
        bc_document_cell(document, "%s, radius %g mm, clear aperture %g mm",
                         report->curved->concave ? "concave" : "convex", report->curved->radius_mm,
                         report->curved->clear_aperture_mm);
    }
    add_fact(document, "Light comes from", report->stack->incident.name);
}

/* Some of the curves' panels; the layers beneath the last of them. */
static bc_status add_picture(bc_document *document, const bc_check_report *report, const bc_check_curves *curves,
                             bool last, bc_error *error)
{
    static const bc_plot_options plain = {0};
    const bc_finding *decisive = &report->result->finding[report->result->decisive];
    const double at_nm = 0.5 * (decisive->callout->from_nm + decisive->callout->to_nm);
    bc_stack shown = *report->stack;
    bc_block *block = bc_document_add(document, BC_BLOCK_PICTURE);
    bc_status status = BC_OK;
    if (block == NULL)
        return bc_fail_memory(error);
    shown.substrate = *decisive->substrate;
    bc_chart_open(&block->chart, &plain);
    bc_plot_check_panels(&block->chart, report, curves);
    if (last)
        status = bc_plot_stack_panel(&block->chart, &shown, at_nm, error);
    document->failed = document->failed || block->chart.failed;
    return status;
}

bc_status bc_page_curves(bc_document *document, const bc_check_report *report, const bc_check_curves *curves,
                         bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t first = 0; status == BC_OK && curves != NULL && first < curves->lights; first += PANELS) {
        bc_check_curves some = *curves;
        some.light = curves->light + first;
        some.lights = curves->lights - first < PANELS ? curves->lights - first : PANELS;
        status = add_picture(document, report, &some, first + PANELS >= curves->lights, error);
    }
    return status;
}

void bc_page_add_picture(bc_document *document, void (*fill)(bc_chart *chart, const void *report), const void *report,
                         double flat)
{
    static const bc_plot_options plain = {0};
    bc_block *block = bc_document_add(document, BC_BLOCK_PICTURE);
    bc_chart *chart;
    if (block == NULL)
        return;
    chart = &block->chart;
    bc_chart_open(chart, &plain);
    fill(chart, report);
    for (size_t p = 0; p < chart->panels; p++)
        chart->panel[p].weight = flat * (chart->panel[p].weight == 0.0 ? 1.0 : chart->panel[p].weight);
    document->failed = document->failed || chart->failed;
}

static void add_finding(bc_document *document, const bc_check_result *result, const bc_finding *finding)
{
    const bc_callout *callout = finding->callout;
    char letter[BC_CHART_BRIEF], asked[BC_CHART_TEXT], number[BC_PRINTED_SIZE];
    bc_plot_callout_letter(result, callout, letter);
    bc_plot_callout(asked, callout);
    bc_print_value(number, finding);
    bc_document_cell(document, "%s", letter);
    bc_document_cell(document, "%s", callout->name);
    bc_document_cell(document, "%s", asked);
    bc_document_cell(document, "%s", number);
    if (callout->statistic == BC_EXTREME)
        bc_document_cell(document, "%.1f", finding->at_nm);
    else
        bc_document_cell(document, "%s", ""); /* an average is nowhere */
    bc_document_cell(document, "%.4g", bc_degrees(finding->at_aoi_rad));
    bc_document_cell(document, "%s", bc_polarization_word(finding->at_polarization));
    bc_print_used(number, finding->limit_used);
    bc_document_cell(document, "%s", number);
    bc_document_cell(document, "%s", finding->pass ? "meets" : "FAILS");
    bc_document_tone(document, finding->pass ? BC_TONE_GOOD : BC_TONE_BAD);
}

void bc_page_findings(bc_document *document, const bc_check_report *report)
{
    const bc_medium *glass = NULL;
    bc_text part = {0};
    bc_table colours;
    while ((glass = bc_next_glass(report->result, glass)) != NULL) {
        bc_text heading = {0};
        bc_text_add(&heading, "Callouts on %s", glass->name);
        bc_document_add(document, BC_BLOCK_HEADING);
        bc_document_take(document, &heading);
        bc_document_add_table(document, "|callout|asked|worst %>|at nm>|deg>|pol|used>|");
        for (size_t f = 0; f < report->result->count; f++)
            if (report->result->finding[f].substrate == glass)
                add_finding(document, report->result, &report->result->finding[f]);
    }
    bc_document_add(document, BC_BLOCK_PARAGRAPH);
    bc_document_cell(document, "used: the share of the limit that is used; 1.000 is exactly at the limit.");
    bc_back_text(report, &part);
    if (part.length > 0) {
        bc_document_add(document, BC_BLOCK_PARAGRAPH);
        part.data[--part.length] = '\0'; /* its newline */
        bc_document_take(document, &part);
    }
    document->failed = document->failed || part.failed;
    bc_text_clear(&part);
    if (bc_fill_colours(report, &colours)) {
        bc_document_add(document, BC_BLOCK_PARAGRAPH);
        bc_document_cell(document, "%s", BC_COLOURS_WORDS);
        bc_document_take_table(document, &colours);
    }
}

void bc_page_layers(bc_document *document, const char *heading, const bc_check_report *report)
{
    const bc_stack *stack = report->stack;
    const bc_medium *glass = bc_next_glass(report->result, NULL);
    bc_document_add_heading(document, heading);
    bc_document_add_table(document, "layer>|material|thickness nm>");
    bc_document_cell(document, "%s", "");
    bc_document_cell(document, "%s (substrate)", bc_next_glass(report->result, glass) == NULL ? glass->name : "each");
    bc_document_cell(document, "%s", "");
    for (size_t number = 1; number <= stack->layers; number++) {
        const bc_layer *layer = &stack->layer[bc_layer_index(stack->layers, number)];
        char thickness[BC_PRINTED_SIZE];
        bc_print_thickness(thickness, layer->thickness_nm);
        bc_document_cell(document, "%zu", number);
        bc_document_cell(document, "%s", layer->material.name);
        bc_document_cell(document, "%s", thickness);
    }
    bc_document_cell(document, "%s", "");
    bc_document_cell(document, "%s (incident medium)", stack->incident.name);
    bc_document_cell(document, "total %.3f", bc_stack_total_nm(stack));
}

/* The profile by its file's name alone: its folders are nobody's business. */
void bc_page_add_surface(bc_document *document, const bc_check_report *report)
{
    bc_check_report shown = *report;
    bc_curved curved = *report->curved;
    bc_profile profile;
    bc_text lines = {0};
    if (curved.profile != NULL) {
        profile = *curved.profile;
        curved.profile = &profile;
        if (profile.path != NULL && strrchr(profile.path, '/') != NULL)
            profile.path = strrchr(profile.path, '/') + 1;
    }
    shown.curved = &curved;
    bc_add_curved(&lines, &shown);
    bc_document_section(document, "The surface", &lines);
}

static void add_sources(bc_document *document, const bc_media *all)
{
    bc_document_add_heading(document, "Where the indices come from");
    bc_document_add_table(document, "material|range nm|source");
    for (size_t i = 0; i < all->count; i++) {
        const bc_dispersion *dispersion = all->medium[i]->dispersion;
        double from_nm, to_nm;
        bc_dispersion_range(dispersion, &from_nm, &to_nm);
        bc_document_cell(document, "%s", all->medium[i]->name);
        if (bc_dispersion_is_constant(dispersion))
            bc_document_cell(document, "any");
        else
            bc_document_cell(document, "%g–%g", from_nm, to_nm);
        bc_document_cell(document, "%s", bc_source_words(dispersion));
    }
}

static void add_file(bc_document *document, const char *role, const char *path, const char *sha256)
{
    bc_document_cell(document, "%s", role);
    bc_document_cell(document, "%s", file_name(path));
    bc_document_cell(document, "%s", sha256);
}

void bc_page_origins(bc_document *document, const bc_page_options *options, bc_media *all)
{
    add_sources(document, all);
    bc_document_add_heading(document, "Files this rests on");
    bc_document_add_table(document, "what|file|SHA-256 of its bytes#");
    for (size_t i = 0; i < options->inputs; i++)
        add_file(document, options->input[i].role, options->input[i].path, options->input[i].sha256);
    for (size_t i = 0; i < all->count; i++) {
        const bc_dispersion *dispersion = all->medium[i]->dispersion;
        if (bc_dispersion_sha256(dispersion) != NULL)
            add_file(document, "index table", bc_dispersion_path(dispersion), bc_dispersion_sha256(dispersion));
    }
    bc_document_add(document, BC_BLOCK_PARAGRAPH);
    bc_document_cell(document, "Computed by %s. `sha256sum FILE` prints the checksum of a file.", BC_DOCUMENT_MAKER);
    bc_media_clear(all);
}

void bc_page_add_cautions(bc_document *document, bc_text *lines)
{
    if (!lines->failed)
        bc_drop_repeated(lines);
    bc_document_add(document, BC_BLOCK_CAUTIONS);
    bc_document_cell(document, "Cautions");
    bc_document_take_lines(document, lines);
}

void bc_page_cautions(bc_document *document, const bc_check_report *report)
{
    bc_text lines = {0};
    bc_add_cautions(&lines, report);
    bc_page_add_cautions(document, &lines);
}
