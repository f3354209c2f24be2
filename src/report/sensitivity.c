/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_scale.h"
#include "internal/numbers.h"
#include "internal/parts.h"
#include "internal/plot_words.h"
#include "print.h"
#include <math.h>

#define MOST_TABLES 6 /* callouts with a table of their own in the text; JSON has them all */

static const char *const kind_name[] = {
    [BC_ERROR_PERCENT] = "thickness_1_percent", [BC_ERROR_NM] = "thickness_1_nm", [BC_ERROR_INDEX] = "index_0_01"};

static const bc_layer *layer_at(const bc_sensitivity_report *report, size_t order)
{
    return &report->check.stack->layer[report->result->layer[order].layer];
}

/* One table: limit_used (finding -1), or the value of one finding in percent, as changes from the design's. */
static void table_of(const bc_sensitivity_report *report, long finding, bc_text *out)
{
    static const char *const heading[] = {"layer", "material", "nm",     "-1 %",  "+1 %",
                                          "-1 nm", "+1 nm",    "-.01 n", "+.01 n"};
    const bc_check_result *check = report->check.result;
    bc_table table = {.columns = 9, .right = {true, false, true, true, true, true, true, true, true}};
    bc_table_row(&table);
    for (size_t column = 0; column < table.columns; column++)
        bc_table_cell(&table, column, "%s", heading[column]);
    for (size_t order = 0; order < report->result->layers; order++) {
        const bc_layer_sensitivity *seen = &report->result->layer[order];
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%zu", order + 1);
        bc_table_cell(&table, 1, "%s", layer_at(report, order)->material.name);
        bc_table_cell(&table, 2, "%.1f", layer_at(report, order)->thickness_nm);
        for (int kind = 0; kind < BC_ERROR_KINDS; kind++)
            for (int up = 0; up < 2; up++) {
                const double change = finding < 0
                                          ? seen->limit_used[kind][up] - check->limit_used
                                          : 100.0 * (seen->value[kind][up][finding] - check->finding[finding].value);
                bc_table_cell(&table, 3 + 2 * (size_t)kind + (size_t)up, "%+.*f", finding < 0 ? 3 : 4, change);
            }
    }
    bc_table_write(&table, out);
}

static void decision(const bc_sensitivity_report *report, bc_text *words)
{
    const bc_sensitivity_result *result = report->result;
    const double now = report->check.result->limit_used;
    const bc_layer_sensitivity *seen = &result->layer[result->decisive];
    size_t both = 0;
    if (result->layers == 0) {
        bc_text_add(words, "The stack has no layer.");
        return;
    }
    if (seen->worst > 0.0)
        bc_text_add(words,
                    "Layer %zu (%s) decides: 1 %% of its thickness takes the design from %.1f to %.1f %% of the limit.",
                    result->decisive + 1, layer_at(report, result->decisive)->material.name, 100.0 * now,
                    100.0 * (now + seen->worst));
    else
        bc_text_add(words, "No error of 1 %% of one layer uses more of the limit.");
    for (size_t order = 0; order < result->layers; order++) {
        const double *used = result->layer[order].limit_used[BC_ERROR_PERCENT];
        if (used[0] > now && used[1] > now)
            bc_text_add(words, both++ == 0 ? " 1 %% either way raises it: layer %zu" : ", %zu", order + 1);
    }
    bc_text_add(words, both > 0 ? "." : "");
}

bc_status bc_report_sensitivity_text(const bc_sensitivity_report *report, bc_text *out, bc_error *error)
{
    const bc_check_result *check = report->check.result;
    bc_text words = {0};
    bc_heading_text(&report->check, out);
    bc_text_add(out, "\nOne layer off, all others as designed; layer 1 is next to the substrate.\n\n");
    bc_text_add(out, "Change of limit_used, which is %.3f:\n", check->limit_used);
    table_of(report, -1, out);
    for (size_t f = 0; f < check->count && f < MOST_TABLES && report->result->layers > 0; f++) {
        const bc_finding *finding = &check->finding[f];
        bc_text_add(out, finding->callout->colour == BC_NO_COLOUR ? "\nChange in %% of \"" : "\nChange of \"");
        bc_text_add_plain(out, finding->callout->name);
        bc_text_add(out, "\" on %s, %s %s %.4f%s, limit %.6g%s:\n", finding->substrate->name,
                    bc_quantity_word(finding->callout->quantity), bc_statistic_word(finding->callout),
                    100.0 * finding->value, bc_unit_behind(finding->callout), 100.0 * finding->callout->limit,
                    bc_unit_behind(finding->callout));
        table_of(report, (long)f, out);
    }
    if (check->count > MOST_TABLES)
        bc_text_add(out, "\n%zu further callouts: see --json.\n", check->count - MOST_TABLES);
    bc_text_add(out, "\n");
    decision(report, &words);
    bc_text_wrap_gathered(out, 0, &words);
    bc_text_add(out, "\n");
    bc_cautions_text(1, &report->check, out);
    return bc_text_end(out, error);
}

static void layer_json(const bc_sensitivity_report *report, size_t order, cJSON *layers, bc_json *json)
{
    const bc_check_result *check = report->check.result;
    const bc_layer_sensitivity *seen = &report->result->layer[order];
    cJSON *row = bc_json_object(json, layers, NULL), *callouts;
    bc_json_number(json, row, "layer", (double)(order + 1), 15);
    bc_json_string(json, row, "material", layer_at(report, order)->material.name);
    bc_json_number(json, row, "thickness_nm", layer_at(report, order)->thickness_nm, 15);
    for (int kind = 0; kind < BC_ERROR_KINDS; kind++) {
        cJSON *object = bc_json_object(json, row, kind_name[kind]);
        bc_json_number(json, object, "limit_used_less", seen->limit_used[kind][0], 12);
        bc_json_number(json, object, "limit_used_more", seen->limit_used[kind][1], 12);
        callouts = bc_json_array(json, object, "callouts");
        for (size_t f = 0; f < check->count; f++) {
            cJSON *one = bc_json_object(json, callouts, NULL);
            bc_json_number(json, one, "value_less_percent", 100.0 * seen->value[kind][0][f], 12);
            bc_json_number(json, one, "value_more_percent", 100.0 * seen->value[kind][1][f], 12);
        }
    }
}

bc_status bc_report_sensitivity_json(const bc_sensitivity_report *report, bc_text *out, bc_error *error)
{
    const bc_sensitivity_result *result = report->result;
    bc_json json;
    cJSON *layers;
    bc_json_open(&json);
    bc_findings_json(&report->check, "stack", &json);
    bc_json_number(&json, json.root, "decisive_layer", result->layers == 0 ? NAN : (double)(result->decisive + 1), 15);
    layers = bc_json_array(&json, json.root, "layers");
    for (size_t order = 0; order < result->layers; order++)
        layer_json(report, order, layers, &json);
    bc_sources_json(&report->check, &json);
    bc_cautions_json(1, &report->check, &json);
    return bc_json_close(&json, out, error);
}

/* Downwards and upwards are a bar each, from the design's figure to what it becomes. */
static void add_bars(bc_chart *chart, const bc_sensitivity_report *report, bc_error_kind kind)
{
    const double now = report->check.result->limit_used;
    for (size_t order = 0; order < report->result->layers; order++)
        for (int up = 0; up < 2; up++) {
            const double used = report->result->layer[order].limit_used[kind][up];
            bc_chart_item *item = bc_chart_add(chart, BC_CHART_BAR);
            if (item == NULL)
                return;
            item->from = (double)(order + 1) + (up == 0 ? -0.36 : 0.02);
            item->to = item->from + 0.34;
            item->low = fmin(now, used);
            item->high = fmax(now, used);
            item->style = up;
            bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_BAR, up, false, up == 0 ? "less" : "more");
        }
}

static void add_panel(bc_chart *chart, const bc_sensitivity_report *report, bc_error_kind kind)
{
    static const char *const heading[] = {[BC_ERROR_PERCENT] = "Thickness off by 1 %",
                                          [BC_ERROR_NM] = "Thickness off by 1 nm",
                                          [BC_ERROR_INDEX] = "Index off by 0.01"};
    const bc_sensitivity_result *result = report->result;
    double least = report->check.result->limit_used, most = least;
    bc_chart_panel *panel = bc_chart_add_panel(chart);
    bc_chart_item *level;
    if (panel == NULL)
        return;
    for (size_t order = 0; order < result->layers; order++)
        for (int up = 0; up < 2; up++) {
            least = fmin(least, result->layer[order].limit_used[kind][up]);
            most = fmax(most, result->layer[order].limit_used[kind][up]);
        }
    bc_print(panel->heading, sizeof panel->heading, "%s", heading[kind]);
    bc_print(panel->y.name, sizeof panel->y.name, "limit_used");
    bc_print(panel->x.name, sizeof panel->x.name, "Layer, 1 next to the substrate");
    bc_print(panel->x.brief, sizeof panel->x.brief, "Layer");
    panel->x.counts = true;
    panel->x.range = (bc_chart_range){0.4, (double)result->layers + 0.6};
    panel->y.range = bc_chart_whole_steps(
        (bc_chart_range){least - 0.06 * (most - least) - 1e-6, most + 0.06 * (most - least) + 1e-6}, 4);
    panel->x_below = kind + 1 < BC_ERROR_KINDS;
    add_bars(chart, report, kind);
    level = bc_chart_add(chart, BC_CHART_LEVEL);
    if (level != NULL)
        level->low = report->check.result->limit_used;
}

bc_status bc_plot_sensitivity(const bc_sensitivity_report *report, const bc_plot_options *options, bc_text *out,
                              bc_error *error)
{
    bc_chart chart;
    bc_chart_note *note;
    if (report->result->layers == 0)
        return bc_fail(error, BC_ERROR_INPUT, "the stack has no layer; there is nothing to draw");
    bc_chart_open(&chart, options);
    for (bc_error_kind kind = BC_ERROR_PERCENT; kind < BC_ERROR_KINDS; kind++)
        add_panel(&chart, report, kind);
    note = bc_chart_add_note(&chart);
    if (note != NULL)
        bc_print(note->text, sizeof note->text,
                 "One layer off at a time; bars begin at the design, which uses %.1f %% of the limit. At 1 a callout "
                 "is at its "
                 "limit. %s",
                 100.0 * report->check.result->limit_used, BC_PREDICTED);
    return bc_chart_write(&chart, options, out, error);
}
