/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The colour of a stack's reflection, angle by angle.
 */
#include "internal/chart_scale.h"
#include "internal/numbers.h"
#include "internal/parts.h"
#include "internal/plot_words.h"
#include "print.h"
#include <math.h>

#define ROOM       0.12 /* of the range of a* and b*, around the path */
#define LEAST_ROOM 0.5  /* of a* and b* */
#define MOST_NAMED 7    /* angles with a label of their own */

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
                "luminous: R weighted by %s and the photopic eye, 380 to 780 nm in steps of 5 nm. L*, a*, b*: "
                "white is all light reflected. Where L* is low a colour is faint, whatever its chroma.",
                bc_illuminant_word(report->illuminant));
    bc_text_wrap_gathered(out, 0, &words);
    bc_text_add(out, "\n");
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
    }
    bc_sources_json(&media, &json);
    bc_cautions_json(1, &media, &json);
    return bc_json_close(&json, out, error);
}

static bc_chart_range around(double least, double most)
{
    const double room = fmax(ROOM * (most - least), LEAST_ROOM);
    return bc_chart_whole_steps((bc_chart_range){fmin(least, 0.0) - room, fmax(most, 0.0) + room}, 6);
}

/* Grey: where a* and b* are 0. */
static void add_axes(bc_chart *chart)
{
    bc_chart_item *item = bc_chart_add(chart, BC_CHART_LEVEL);
    if (item != NULL)
        item->low = 0.0;
    item = bc_chart_add(chart, BC_CHART_RULE);
    if (item != NULL)
        item->from = item->to = 0.0;
}

static void add_path(bc_chart *chart, const bc_colour_report *report)
{
    const size_t every = 1 + (report->angles - 1) / MOST_NAMED;
    double *a = bc_chart_array(chart, report->angles), *b = bc_chart_array(chart, report->angles);
    bc_chart_item *path = bc_chart_add(chart, BC_CHART_LINE);
    if (a == NULL || b == NULL || path == NULL)
        return;
    path->count = report->angles;
    path->x = a;
    path->y = b;
    for (size_t i = 0; i < report->angles; i++) {
        bc_chart_item *mark = bc_chart_add(chart, BC_CHART_MARK);
        if (mark == NULL)
            return;
        a[i] = mark->from = mark->to = report->colour[i].a;
        b[i] = mark->low = report->colour[i].b;
        if (i % every == 0 || i + 1 == report->angles)
            bc_print(mark->text, sizeof mark->text, "%.4g°", bc_degrees(report->aoi_rad[i]));
    }
}

bc_status bc_plot_colour(const bc_colour_report *report, const bc_plot_options *options, bc_text *out, bc_error *error)
{
    bc_plot_extent a = BC_PLOT_NO_EXTENT, b = BC_PLOT_NO_EXTENT;
    bc_chart chart;
    bc_chart_panel *panel;
    bc_chart_note *note;
    bc_chart_open(&chart, options);
    for (size_t i = 0; i < report->angles; i++) {
        const double at = 0.0;
        bc_plot_stretch(&a, 1, &at, &report->colour[i].a, -1.0, 1.0);
        bc_plot_stretch(&b, 1, &at, &report->colour[i].b, -1.0, 1.0);
    }
    panel = bc_chart_add_panel(&chart);
    if (panel != NULL) {
        bc_print(panel->heading, sizeof panel->heading, "Colour of the reflection, %s, %g° observer, %s",
                 bc_illuminant_word(report->illuminant), observer_deg[report->observer],
                 bc_polarization_word(report->polarization));
        bc_print(panel->x.name, sizeof panel->x.name, "a*");
        bc_print(panel->y.name, sizeof panel->y.name, "b*");
        panel->x.range = around(a.least, a.most);
        panel->y.range = around(b.least, b.most);
        add_axes(&chart);
        add_path(&chart, report);
    }
    note = bc_chart_add_note(&chart);
    if (note != NULL)
        bc_print(
            note->text, sizeof note->text,
            "Angles of incidence along the path; grey is at a* = b* = 0. Luminous reflectance %.3f %% at %.4g°. %s",
            100.0 * report->colour[0].luminous, bc_degrees(report->aoi_rad[0]), BC_PREDICTED);
    return bc_chart_write(&chart, options, out, error);
}
