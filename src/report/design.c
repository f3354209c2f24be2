/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/parts.h"
#include "internal/table.h"
#include <string.h>

static bool is_draft(const bc_design_report *report)
{
    return strcmp(report->verb, "draft") == 0;
}

static const char *stop_word(bc_stop stop)
{
    static const char *const word[] = {
        [BC_STOP_CONVERGED] = "converged", [BC_STOP_BUDGET] = "budget", [BC_STOP_GOOD] = "good"};
    return word[stop];
}

static const char *stop_sentence(bc_stop stop)
{
    static const char *const sentence[] = {[BC_STOP_CONVERGED] = "no step lowers the worst callout any more",
                                           [BC_STOP_BUDGET] =
                                               "the bound on the work was reached; more effort may find better",
                                           [BC_STOP_GOOD] = "the aim was met"};
    return sentence[stop];
}

static void ladder_text(const bc_design_report *report, bc_text *out)
{
    static const char *const heading[] = {"films", "total nm", "limit_used", ""};
    bc_table table = {.columns = 4, .right = {true, true, true, false}, .indent = 2};
    if (report->rungs == 0)
        return;
    bc_table_row(&table);
    for (size_t column = 0; column < table.columns; column++)
        bc_table_cell(&table, column, "%s", heading[column]);
    for (size_t i = 0; i < report->rungs; i++) {
        char used[BC_PRINTED_SIZE];
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%zu", report->rung[i].stack.films);
        bc_table_cell(&table, 1, "%.3f", report->rung[i].total_nm);
        bc_print_used(used, report->rung[i].limit_used);
        bc_table_cell(&table, 2, "%s", used);
        if (i == report->chosen)
            bc_table_cell(&table, 3, "<- chosen");
    }
    bc_text_add(out, "Ladder (the best found with each number of films that improves on fewer):\n");
    bc_table_write(&table, out);
    bc_text_add(out, "\n");
}

static void films_text(const bc_stack *stack, bc_text *out)
{
    bc_table table = {.columns = 4, .right = {true, false, true, false}, .indent = 2};
    if (stack->films == 0) {
        bc_text_add(out, "No film: the bare glass.\n\n");
        return;
    }
    bc_table_row(&table);
    bc_table_cell(&table, 0, "film");
    bc_table_cell(&table, 1, "material");
    bc_table_cell(&table, 2, "thickness nm");
    for (size_t film = 0; film < stack->films; film++) {
        char thickness[BC_PRINTED_SIZE];
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%zu", film + 1);
        bc_table_cell(&table, 1, "%s", stack->film[film].material.name);
        bc_print_thickness(thickness, stack->film[film].thickness_nm);
        bc_table_cell(&table, 2, "%s", thickness);
        bc_table_cell(&table, 3, "%s", stack->film[film].fixed ? "fixed" : "");
    }
    bc_text_add(out, "Films from %s to the glass:\n", stack->incident.name);
    bc_table_write(&table, out);
    bc_text_add(out, "\n");
}

static void work_text(const bc_design_report *report, bc_text *out)
{
    bc_text words = {0};
    if (is_draft(report)) {
        bc_text_add(&words, "Search: %zu start%s, seed %lu, effort %g", report->starts, report->starts == 1 ? "" : "s",
                    report->seed, report->effort);
    } else {
        char before[BC_PRINTED_SIZE];
        bc_print_used(before, report->limit_used_before);
        bc_text_add(&words, "Before: limit_used %s", before);
    }
    bc_text_add(&words, ". It ended because %s.", stop_sentence(report->stop));
    if (report->thin_films > 0) {
        bc_text_add(&words, " ");
        bc_add_films(&words, report->thin_films);
        bc_text_add(&words, " of the start %s thinner than the minimum of %g nm and had to grow.",
                    report->thin_films == 1 ? "was" : "were", report->minimum_nm);
    }
    if (!words.failed)
        bc_text_wrap(out, 0, 0, words.data);
    out->failed = out->failed || words.failed;
    bc_text_clear(&words);
}

bc_status bc_report_design_text(const bc_design_report *report, bc_text *out, bc_error *error)
{
    char used[BC_PRINTED_SIZE];
    bc_print_used(used, report->check.result->limit_used);
    bc_text_add(out, "%s: ", report->verb);
    bc_add_films(out, report->check.stack->films);
    bc_text_add(out, ", %.3f nm, limit_used %s\n\n", bc_stack_total_nm(report->check.stack), used);
    ladder_text(report, out);
    films_text(report->check.stack, out);
    bc_findings_text(&report->check, out);
    work_text(report, out);
    bc_text_add(out, "\n");
    bc_sources_text(&report->check, out);
    bc_text_add(out, "\n");
    bc_cautions_text(&report->check, out);
    return bc_text_end(out, error);
}

static void films_json(const bc_stack *stack, bc_json *json)
{
    cJSON *films = bc_json_array(json, json->root, "films");
    for (size_t film = 0; film < stack->films; film++) {
        cJSON *row = bc_json_object(json, films, NULL);
        bc_json_string(json, row, "material", stack->film[film].material.name);
        bc_json_number(json, row, "thickness_nm", stack->film[film].thickness_nm, 15);
        bc_json_bool(json, row, "fixed", stack->film[film].fixed);
    }
}

static void ladder_json(const bc_design_report *report, bc_json *json)
{
    cJSON *ladder = bc_json_array(json, json->root, "ladder");
    for (size_t i = 0; i < report->rungs; i++) {
        cJSON *row = bc_json_object(json, ladder, NULL);
        bc_json_number(json, row, "films", (double)report->rung[i].stack.films, 15);
        bc_json_number(json, row, "total_nm", report->rung[i].total_nm, 15);
        bc_json_number(json, row, "limit_used", report->rung[i].limit_used, 12);
        bc_json_bool(json, row, "chosen", i == report->chosen);
    }
}

bc_status bc_report_design_json(const bc_design_report *report, bc_text *out, bc_error *error)
{
    bc_json json;
    bc_json_open(&json);
    bc_findings_json(&report->check, "start", &json);
    bc_json_string(&json, json.root, "order", "from incident");
    films_json(report->check.stack, &json);
    bc_json_number(&json, json.root, "total_nm", bc_stack_total_nm(report->check.stack), 15);
    bc_json_number(&json, json.root, "starts", (double)report->starts, 15);
    if (is_draft(report)) {
        bc_json_number(&json, json.root, "seed", (double)report->seed, 15);
        bc_json_number(&json, json.root, "effort", report->effort, 12);
        ladder_json(report, &json);
    } else {
        bc_json_number(&json, json.root, "limit_used_before", report->limit_used_before, 12);
    }
    bc_json_number(&json, json.root, "minimum_nm", report->minimum_nm, 12);
    bc_json_string(&json, json.root, "stop", stop_word(report->stop));
    bc_sources_json(&report->check, &json);
    bc_cautions_json(&report->check, &json);
    return bc_json_close(&json, out, error);
}
