/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The colour of a stack's reflection, angle by angle.
 */
#include "internal/inspect_words.h"
#include "internal/numbers.h"
#include "internal/parts.h"
#include "print.h"
#include <math.h>

static const double observer_deg[] = {[BC_OBSERVER_2] = 2.0, [BC_OBSERVER_10] = 10.0};

/* What the lists of index data and cautions are made from: no callout, but the substrate that one would be for. */
static bc_check_report media_of(const bc_colour_report *report, bc_check_result *result, bc_finding *finding)
{
    static const bc_callout wide = {.name = "", .from_nm = 380.0, .to_nm = 780.0};
    *finding = (bc_finding){.callout = &wide, .substrate = &report->stack->substrate};
    *result = (bc_check_result){.count = 1, .finding = finding};
    return (bc_check_report){
        .stack_path = report->stack_path, .stack = report->stack, .result = result, .back = report->back};
}

static const char *back_words(const bc_colour_report *report)
{
    return report->back == NULL || report->back->kind == BC_BACK_NONE ? "the coated surface alone"
                                                                      : "the part with its second surface";
}

static void add_table(const bc_colour_report *report, bc_text *out)
{
    static const char *const heading[] = {"deg", "luminous %", "x", "y", "L*", "a*", "b*", "C*ab", "hue deg"};
    bc_table table = {.columns = 9, .right = {true, true, true, true, true, true, true, true, true}};
    bc_table_row(&table);
    for (size_t column = 0; column < table.columns; column++)
        bc_table_cell(&table, column, "%s", heading[column]);
    for (size_t i = 0; i < report->angles; i++) {
        const bc_colour *colour = &report->colour[i];
        const double value[] = {colour->x, colour->y, colour->L, colour->a, colour->b, colour->chroma};
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%.4g", bc_degrees(report->aoi_rad[i]));
        bc_table_cell(&table, 1, "%.4f", 100.0 * colour->luminous);
        for (size_t v = 0; v < 6; v++)
            if (isfinite(value[v]))
                bc_table_cell(&table, 2 + v, "%.*f", v < 2 ? 4 : 2, value[v]);
            else
                bc_table_cell(&table, 2 + v, "-");
        if (isfinite(colour->hue))
            bc_table_cell(&table, 8, "%.1f", bc_degrees(colour->hue));
        else
            bc_table_cell(&table, 8, "-");
    }
    bc_table_write(&table, out);
}

static void add_scatter(const bc_colour_report *report, bc_text *out)
{
    static const char *const heading[] = {"deg", "a* sd", "b* sd", "luminous % sd", "from design", "run to run"};
    bc_table table = {.columns = 6, .right = {true, true, true, true, true, true}};
    bc_text words = {0};
    bc_text_add(&words,
                "Over %zu simulated runs (process %s, seed %lu): standard deviations, and the colour difference "
                "CIEDE2000 that 95 %% of the runs stay below, from the design and from one another.",
                report->runs->runs, report->process_path, report->runs->seed);
    bc_text_wrap_gathered(out, 0, &words);
    if (report->runs->no_errors) {
        bc_text_add(out, "The process gives no error of any kind: every run is the design.\n\n");
        return;
    }
    bc_table_row(&table);
    for (size_t column = 0; column < table.columns; column++)
        bc_table_cell(&table, column, "%s", heading[column]);
    for (size_t i = 0; i < report->angles; i++) {
        const bc_colour_scatter *scatter = &report->runs->scatter[i];
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%.4g", bc_degrees(report->aoi_rad[i]));
        BC_NUMBER_CELL(&table, 1, "%.2f", scatter->a_sigma);
        BC_NUMBER_CELL(&table, 2, "%.2f", scatter->b_sigma);
        BC_NUMBER_CELL(&table, 3, "%.4f", 100.0 * scatter->luminous_sigma);
        BC_NUMBER_CELL(&table, 4, "%.2f", scatter->from_design);
        BC_NUMBER_CELL(&table, 5, "%.2f", scatter->between);
    }
    bc_table_write(&table, out);
    bc_text_add(out, "\n");
}

bc_status bc_report_colour_text(const bc_colour_report *report, bc_text *out, bc_error *error)
{
    bc_check_result result;
    bc_finding finding;
    const bc_check_report media = media_of(report, &result, &finding);
    bc_text words = {0};
    bc_heading_text(&media, out);
    bc_text_add(&words, "Colour of the reflection of %s: illuminant %s, %g degree observer, %s light.",
                back_words(report), bc_illuminant_word(report->illuminant), observer_deg[report->observer],
                bc_polarization_word(report->polarization));
    bc_text_add(out, "\n");
    bc_text_wrap_gathered(out, 0, &words);
    bc_text_add(out, "\n");
    add_table(report, out);
    bc_text_add(out, "\n");
    bc_text_add(&words,
                "luminous: R weighted by %s and V(lambda), 380 to 780 nm in steps of 5 nm. L*, a*, b*: "
                "white is all light reflected. Where L* is low a colour is faint, whatever its chroma.",
                bc_illuminant_word(report->illuminant));
    bc_text_wrap_gathered(out, 0, &words);
    bc_text_add(out, "\n");
    if (report->runs != NULL)
        add_scatter(report, out);
    bc_sources_text(&media, out);
    bc_cautions_text(1, &media, out);
    return bc_text_end(out, error);
}

static void add_xyz(bc_json *json, cJSON *into, const bc_colour *colour)
{
    bc_json_number(json, into, "X", colour->X, 12);
    bc_json_number(json, into, "Y", colour->Y, 12);
    bc_json_number(json, into, "Z", colour->Z, 12);
    bc_json_number(json, into, "x", colour->x, 12);
    bc_json_number(json, into, "y", colour->y, 12);
}

void bc_colour_json(const bc_colour *colour, cJSON *into, bc_json *json)
{
    bc_json_number(json, into, "x", colour->x, 12);
    bc_json_number(json, into, "y", colour->y, 12);
    bc_json_number(json, into, "L", colour->L, 12);
    bc_json_number(json, into, "a", colour->a, 12);
    bc_json_number(json, into, "b", colour->b, 12);
    bc_json_number(json, into, "chroma", colour->chroma, 12);
    bc_json_number(json, into, "hue_deg", bc_degrees(colour->hue), 12);
    bc_json_number(json, into, "luminous_percent", 100.0 * colour->luminous, 12);
}

void bc_scatter_of_colour_json(const bc_colour_scatter *scatter, cJSON *row, bc_json *json)
{
    cJSON *into = bc_json_object(json, row, "scatter");
    bc_json_number(json, into, "a_sigma", scatter->a_sigma, 12);
    bc_json_number(json, into, "b_sigma", scatter->b_sigma, 12);
    bc_json_number(json, into, "luminous_sigma_percent", 100.0 * scatter->luminous_sigma, 12);
    bc_json_number(json, into, "difference_from_design", scatter->from_design, 12);
    bc_json_number(json, into, "difference_between_runs", scatter->between, 12);
}

bc_status bc_report_colour_json(const bc_colour_report *report, bc_text *out, bc_error *error)
{
    bc_check_result result;
    bc_finding finding;
    const bc_check_report media = media_of(report, &result, &finding);
    bc_colour white;
    bc_json json;
    cJSON *array;
    bc_colour_white(report->illuminant, report->observer, &white);
    bc_json_open(&json);
    bc_json_string(&json, json.root, "stack", report->stack_path);
    bc_json_string(&json, json.root, "illuminant", bc_illuminant_word(report->illuminant));
    bc_json_number(&json, json.root, "observer_deg", observer_deg[report->observer], 12);
    bc_json_string(&json, json.root, "polarization", bc_polarization_word(report->polarization));
    add_xyz(&json, bc_json_object(&json, json.root, "white"), &white);
    array = bc_json_array(&json, json.root, "angles");
    for (size_t i = 0; i < report->angles; i++) {
        const bc_colour *colour = &report->colour[i];
        cJSON *row = bc_json_object(&json, array, NULL);
        bc_json_number(&json, row, "aoi_deg", bc_degrees(report->aoi_rad[i]), 12);
        add_xyz(&json, row, colour);
        bc_json_number(&json, row, "L", colour->L, 12);
        bc_json_number(&json, row, "a", colour->a, 12);
        bc_json_number(&json, row, "b", colour->b, 12);
        bc_json_number(&json, row, "chroma", colour->chroma, 12);
        bc_json_number(&json, row, "hue_deg", bc_degrees(colour->hue), 12);
        bc_json_number(&json, row, "luminous_percent", 100.0 * colour->luminous, 12);
        if (report->runs != NULL)
            bc_scatter_of_colour_json(&report->runs->scatter[i], row, &json);
    }
    if (report->runs != NULL) {
        bc_json_number(&json, json.root, "runs", (double)report->runs->runs, 15);
        bc_json_number(&json, json.root, "seed", (double)report->runs->seed, 15);
        bc_json_string(&json, json.root, "process_file", report->process_path);
    }
    bc_sources_json(&media, &json);
    bc_cautions_json(1, &media, &json);
    return bc_json_close(&json, out, error);
}
