/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/inspect_words.h"
#include <math.h>
#include <stdio.h>

void bc_fill_witnesses(const bc_inspect_report *report, bc_table *table)
{
    static const char *const heading[] = {"witness", "verdict", "used", "rms %", "scale %", "cause"};
    *table = (bc_table){.columns = 6, .right = {false, false, true, true, true, false}};
    bc_table_row(table);
    for (size_t column = 0; column < table->columns; column++)
        bc_table_cell(table, column, "%s", heading[column]);
    for (size_t i = 0; i < report->witnesses; i++) {
        const bc_inspect_result *result = &report->result[i];
        bc_text verdict = {0};
        bc_table_row(table);
        bc_table_cell(table, 0, "%s", result->label);
        bc_add_verdict(&verdict, result->verdict, report->color);
        bc_table_cell(table, 1, "%s", verdict.failed ? "" : verdict.data);
        table->failed = table->failed || verdict.failed;
        bc_text_clear(&verdict);
        BC_NUMBER_CELL(table, 2, "%.3f", result->count == 0 ? NAN : result->finding[result->decisive].limit_used);
        BC_NUMBER_CELL(table, 3, "%.4f", 100.0 * result->rms);
        BC_NUMBER_CELL(table, 4, "%+.2f", 100.0 * (result->scale - 1.0));
        bc_table_cell(table, 5, "%s", bc_cause_word(result->cause[0].kind));
    }
}

static void spread_row(bc_table *table, const bc_spread *spread, double times, double less)
{
    BC_NUMBER_CELL(table, 1, "%.4f", times * (spread->mean - less));
    BC_NUMBER_CELL(table, 2, "%.2g", times * spread->deviation);
    BC_NUMBER_CELL(table, 3, "%+.2g", times * spread->drift);
    BC_NUMBER_CELL(table, 4, "%.2g", BC_COVERAGE * times * spread->drift_sigma);
    bc_table_cell(table, 5, "%zu", spread->count);
}

void bc_fill_spreads(const bc_inspect_report *report, bc_table *table)
{
    static const char *const heading[] = {"over the lot", "mean", "spread", "drift", "+-", "of"};
    const bc_lot_result *lot = report->lot;
    *table = (bc_table){.columns = 6, .right = {false, true, true, true, true, true}};
    bc_table_row(table);
    for (size_t column = 0; column < table->columns; column++)
        bc_table_cell(table, column, "%s", heading[column]);
    bc_table_row(table);
    bc_table_cell(table, 0, "scale %%");
    spread_row(table, &lot->scale, 100.0, 1.0);
    for (size_t i = lot->layers; i-- > 0;) {
        if (lot->layer[i].count == 0)
            continue;
        bc_table_row(table);
        bc_table_cell(table, 0, "layer %zu (%s) nm", bc_layer_number(lot->layers, i),
                      report->setup->design->layer[i].material.name);
        spread_row(table, &lot->layer[i], 1.0, 0.0);
    }
    for (size_t i = 0; i < lot->callouts; i++) {
        if (lot->value[i].count == 0)
            continue;
        bc_table_row(table);
        bc_table_cell(table, 0, "%s %%", report->setup->callouts->callout[i].name);
        spread_row(table, &lot->value[i], 100.0, 0.0);
    }
}

void bc_add_lot_count(bc_text *lines, const bc_lot_result *lot)
{
    bc_text_add(lines,
                "Of %zu witnesses %zu accepted, %zu rejected, %zu undecided; a lot is accepted when every one "
                "is, and rejected when any is.\n",
                lot->count, lot->accepted, lot->rejected, lot->undecided);
}

void bc_add_lot_remarks(bc_text *lines, const bc_inspect_report *report)
{
    for (size_t i = 0; i < report->witnesses; i++)
        for (size_t j = 0; j < report->result[i].count; j++)
            if (report->result[i].finding[j].text[0] != '\0')
                bc_text_add(lines, "%s, \"%s\": %s\n", report->result[i].label,
                            report->result[i].finding[j].callout->name, report->result[i].finding[j].text);
    bc_add_lot_colours(lines, report);
}

void bc_add_lot_next(bc_text *lines, const bc_inspect_report *report)
{
    if (report->runs != NULL)
        bc_add_runs(lines, report->runs);
    if (report->next_process_path != NULL)
        bc_text_add(lines, "Process by these runs: %s\n", report->next_process_path);
}

void bc_lot_text(const bc_inspect_report *report, bc_text *out)
{
    const bc_lot_result *lot = report->lot;
    bc_table table;
    bc_text lines = {0};
    bc_text_add(out, "Verdict on the lot: ");
    bc_add_verdict(out, lot->verdict, report->color);
    bc_text_add(out, "\n");
    bc_add_beside(&lines, report);
    bc_add_lot_count(&lines, lot);
    bc_add_lines(out, &lines);
    bc_text_add(out, "\n");
    bc_fill_witnesses(report, &table);
    bc_table_write(&table, out);
    bc_text_add(out, "\n");
    bc_fill_spreads(report, &table);
    bc_table_write(&table, out);
    bc_text_wrap(out, 0, 0, BC_SPREAD_WORDS);
    bc_add_lot_next(&lines, report);
    if (lines.length > 0)
        bc_text_add(out, "\n");
    bc_add_lines(out, &lines);
    bc_add_lot_remarks(&lines, report);
    bc_add_lines(out, &lines);
}

static void spread_json(const bc_spread *spread, double times, double less, const char *unit, cJSON *into,
                        bc_json *json)
{
    static const char *const part[] = {"mean", "deviation", "drift", "drift_uncertainty"};
    const double value[] = {times * (spread->mean - less), times * spread->deviation, times * spread->drift,
                            BC_COVERAGE * times * spread->drift_sigma};
    for (size_t i = 0; i < sizeof part / sizeof part[0]; i++) {
        char name[40];
        snprintf(name, sizeof name, "%s_%s", part[i], unit);
        bc_json_number(json, into, name, value[i], 12);
    }
    bc_json_number(json, into, "witnesses", (double)spread->count, 15);
}

/* What a program finds under the same names for one witness. */
static void means_json(const bc_inspect_report *report, bc_json *json)
{
    const bc_lot_result *lot = report->lot;
    cJSON *layers, *callouts;
    double squares = 0.0;
    for (size_t i = 0; i < report->witnesses; i++)
        squares += report->result[i].rms * report->result[i].rms;
    bc_json_number(json, json->root, "rms_percent", 100.0 * sqrt(squares / (double)report->witnesses), 12);
    bc_json_number(json, json->root, "scale_percent", 100.0 * (lot->scale.mean - 1.0), 12);
    layers = bc_json_array(json, json->root, "layers");
    for (size_t i = lot->layers; i-- > 0;) {
        const bc_layer *layer = &report->setup->design->layer[i];
        cJSON *row = bc_json_object(json, layers, NULL);
        bc_json_string(json, row, "material", layer->material.name);
        bc_json_number(json, row, "design_nm", layer->thickness_nm, 15);
        bc_json_number(json, row, "fitted_nm", lot->layer[i].count == 0 ? NAN : lot->layer[i].mean, 12);
        bc_json_number(json, row, "deviation_nm", lot->layer[i].count == 0 ? NAN : lot->layer[i].deviation, 12);
    }
    callouts = bc_json_array(json, json->root, "callouts");
    for (size_t i = 0; i < lot->callouts; i++) {
        const bc_callout *callout = &report->setup->callouts->callout[i];
        cJSON *row = bc_json_object(json, callouts, NULL);
        bc_json_string(json, row, "name", callout->name);
        bc_amount_json(json, row, "value", callout, lot->value[i].count == 0 ? NAN : lot->value[i].mean);
        bc_amount_json(json, row, "limit", callout, callout->limit);
    }
}

void bc_lot_json(const bc_inspect_report *report, bc_json *json)
{
    const bc_lot_result *lot = report->lot;
    cJSON *object, *array;
    bc_json_string(json, json->root, "verdict", bc_conformity_word(lot->verdict));
    means_json(report, json);
    object = bc_json_object(json, json->root, "lot");
    bc_json_number(json, object, "accepted", (double)lot->accepted, 15);
    bc_json_number(json, object, "rejected", (double)lot->rejected, 15);
    bc_json_number(json, object, "undecided", (double)lot->undecided, 15);
    spread_json(&lot->scale, 100.0, 1.0, "percent", bc_json_object(json, object, "scale"), json);
    array = bc_json_array(json, object, "layers");
    for (size_t i = lot->layers; i-- > 0;)
        spread_json(&lot->layer[i], 1.0, 0.0, "nm", bc_json_object(json, array, NULL), json);
    array = bc_json_array(json, object, "callouts");
    for (size_t i = 0; i < lot->callouts; i++)
        spread_json(&lot->value[i], 100.0, 0.0, "percent", bc_json_object(json, array, NULL), json);
    array = bc_json_array(json, json->root, "witnesses");
    for (size_t i = 0; i < report->witnesses; i++)
        bc_witness_json(report, i, bc_json_object(json, array, NULL), json);
}
