/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Several stacks against the same callouts, side by side.
 */
#include "internal/numbers.h"
#include "internal/parts.h"
#include "print.h"
#include <math.h>
#include <string.h>

#define SIDE_BY_SIDE 4 /* stacks that a line of 80 columns takes */

void bc_compare_mark(char to[BC_COMPARE_MARK], size_t stack)
{
    bc_print(to, BC_COMPARE_MARK, "%zu", stack + 1);
}

/* The finding of stack `s` for the same callout at the same place among the glasses; NULL: it has none. */
static const bc_finding *alike(const bc_check_report *reports, size_t s, const bc_finding *finding)
{
    const bc_medium *glass = NULL, *other = NULL;
    do {
        glass = bc_next_glass(reports[0].result, glass);
        other = bc_next_glass(reports[s].result, other);
    } while (glass != NULL && glass != finding->substrate);
    for (size_t f = 0; other != NULL && f < reports[s].result->count; f++)
        if (reports[s].result->finding[f].callout == finding->callout &&
            reports[s].result->finding[f].substrate == other)
            return &reports[s].result->finding[f];
    return NULL;
}

static void add_cells(bc_table *table, size_t column, const bc_finding *finding)
{
    char number[BC_PRINTED_SIZE];
    if (finding == NULL) {
        bc_table_cell(table, column, "-");
        bc_table_cell(table, column + 1, "-");
        return;
    }
    bc_print_value(number, finding);
    bc_table_cell(table, column, "%s", number);
    bc_print_used(number, finding->limit_used);
    bc_table_cell(table, column + 1, "%s%s", number, finding->pass ? "" : " F");
}

/* Stacks first to last - 1, of which there is room for SIDE_BY_SIDE. */
static void table_of(size_t first, size_t last, const bc_check_report *reports, bc_text *out)
{
    bc_table table = {.columns = 2 + 2 * (last - first), .right = {false}};
    char letter[BC_COMPARE_MARK], used[BC_PRINTED_SIZE];
    for (size_t column = 1; column < table.columns; column++)
        table.right[column] = true;
    bc_table_row(&table);
    bc_table_cell(&table, 0, "callout");
    bc_table_cell(&table, 1, "limit %%");
    for (size_t s = first; s < last; s++) {
        bc_compare_mark(letter, s);
        bc_table_cell(&table, 2 + 2 * (s - first), "%s: %%", letter);
        bc_table_cell(&table, 3 + 2 * (s - first), "used");
    }
    for (size_t f = 0; f < reports[0].result->count; f++) {
        const bc_finding *finding = &reports[0].result->finding[f];
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%s", finding->callout->name);
        bc_table_cell(&table, 1, "%s %.6g", bc_sense_word(finding->callout->sense), 100.0 * finding->callout->limit);
        for (size_t s = first; s < last; s++)
            add_cells(&table, 2 + 2 * (s - first), alike(reports, s, finding));
    }
    bc_table_row(&table);
    bc_table_cell(&table, 0, "largest");
    for (size_t s = first; s < last; s++) {
        bc_print_used(used, reports[s].result->limit_used);
        bc_table_cell(&table, 3 + 2 * (s - first), "%s%s", used, reports[s].result->pass ? "" : " F");
    }
    bc_table_write(&table, out);
}

static void add_best(size_t stacks, const bc_check_report *reports, size_t best, bc_text *out)
{
    char letter[BC_COMPARE_MARK], used[BC_PRINTED_SIZE];
    bool any_fails = false, is_alone = true;
    bc_text words = {0};
    for (size_t s = 0; s < stacks; s++) {
        any_fails = any_fails || !reports[s].result->pass;
        is_alone = is_alone && (s == best || reports[s].result->limit_used > reports[best].result->limit_used);
    }
    bc_compare_mark(letter, best);
    bc_print_used_percent(used, reports[best].result->limit_used);
    bc_text_add(&words, "%sStack %s uses least of its limits%s: %s %%.", any_fails ? "F: not met. " : "", letter,
                is_alone ? "" : ", no less than another", used);
    bc_text_add(out, "\n");
    bc_text_wrap_gathered(out, 0, &words);
}

bc_status bc_report_compare_text(size_t stacks, const bc_check_report *reports, bc_text *out, bc_error *error)
{
    char letter[BC_COMPARE_MARK];
    size_t best = 0;
    for (size_t s = 0; s < stacks; s++) {
        bc_compare_mark(letter, s);
        bc_text_add(out, "%s  ", letter);
        bc_text_add_plain(out, reports[s].stack_path);
        bc_text_add(out, ": ");
        bc_add_layers(out, reports[s].stack->layers);
        bc_text_add(out, ", %.3f nm, on %s\n", bc_stack_total_nm(reports[s].stack),
                    bc_next_glass(reports[s].result, NULL)->name);
        best = reports[s].result->limit_used < reports[best].result->limit_used ? s : best;
    }
    if (reports[0].callouts_path != NULL) {
        bc_text_add(out, "Callouts ");
        bc_text_add_plain(out, reports[0].callouts_path);
        bc_text_add(out, "\n");
    }
    for (size_t s = 0; s < stacks; s += SIDE_BY_SIDE) {
        bc_text_add(out, "\n");
        table_of(s, s + SIDE_BY_SIDE < stacks ? s + SIDE_BY_SIDE : stacks, reports, out);
    }
    add_best(stacks, reports, best, out);
    bc_back_text(&reports[0], out);
    if (reports[0].brief)
        return bc_text_end(out, error);
    bc_text_add(out, "\n");
    bc_cautions_text(stacks, reports, out);
    return bc_text_end(out, error);
}

static void stack_json(const bc_check_report *report, cJSON *stacks, bc_json *json)
{
    const bc_check_result *result = report->result;
    cJSON *row = bc_json_object(json, stacks, NULL), *callouts;
    bc_json_string(json, row, "stack", report->stack_path);
    bc_json_number(json, row, "layers", (double)report->stack->layers, 15);
    bc_json_number(json, row, "total_nm", bc_stack_total_nm(report->stack), 15);
    bc_json_bool(json, row, "pass", result->pass);
    bc_json_number(json, row, "limit_used", result->limit_used, 12);
    callouts = bc_json_array(json, row, "callouts");
    for (size_t f = 0; f < result->count; f++) {
        const bc_finding *finding = &result->finding[f];
        cJSON *one = bc_json_object(json, callouts, NULL);
        bc_json_string(json, one, "name", finding->callout->name);
        bc_json_string(json, one, "substrate", finding->substrate->name);
        bc_amount_json(json, one, "value", finding->callout, finding->value);
        bc_amount_json(json, one, "limit", finding->callout, finding->callout->limit);
        bc_json_number(json, one, "limit_used", finding->limit_used, 12);
        bc_json_bool(json, one, "pass", finding->pass);
    }
}

void bc_compare_json(size_t stacks, const bc_check_report *reports, bc_json *json)
{
    bool pass = true;
    cJSON *array;
    for (size_t s = 0; s < stacks; s++)
        pass = pass && reports[s].result->pass;
    bc_json_bool(json, json->root, "pass", pass);
    bc_json_string(json, json->root, "callouts_file", reports[0].callouts_path);
    array = bc_json_array(json, json->root, "stacks");
    for (size_t s = 0; s < stacks; s++)
        stack_json(&reports[s], array, json);
    bc_cautions_json(stacks, reports, json);
}

bc_status bc_report_compare_json(size_t stacks, const bc_check_report *reports, bc_text *out, bc_error *error)
{
    bc_json json;
    bc_json_open(&json);
    bc_compare_json(stacks, reports, &json);
    return bc_json_close(&json, out, error);
}
