/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/yield_words.h"
#include "print.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define TOO_GOOD "20"

static const struct {
    const char *column; /* in the file */
    double shown;       /* times the value: as it is in the file */
} kinds[BC_PROCESS_ERRORS] = {
    {"thickness_sigma_percent", 100.0}, {"run_thickness_sigma_percent", 100.0}, {"index_sigma", 1.0}};

const char *bc_process_error_name(bc_process_error kind)
{
    return kinds[kind].column;
}

bool bc_process_error_of(const bc_process *process, const char *material, bc_process_error which, double *value)
{
    const bc_process_row row = bc_process_for(process, material);
    const bool given[BC_PROCESS_ERRORS] = {row.has_thickness_sigma, row.has_run_thickness_sigma, row.has_index_sigma};
    const double values[BC_PROCESS_ERRORS] = {row.thickness_sigma, row.run_thickness_sigma, row.index_sigma};
    *value = values[which] * kinds[which].shown;
    return given[which];
}

bool bc_is_outermost(const bc_stack *stack, size_t layer)
{
    for (size_t i = 0; i < layer; i++)
        if (strcmp(stack->layer[i].material.name, stack->layer[layer].material.name) == 0)
            return false;
    return true;
}

static const char *plural(size_t count)
{
    return count == 1 ? "" : "s";
}

/* Of 100, with as many digits as the width of the interval calls for. */
static int decimals_for(const bc_yield_result *result)
{
    const double width = 100.0 * (result->yield_high - result->yield_low);
    return width > 0.5 ? 1 : width > 0.05 ? 2 : 3;
}

void bc_print_known(char to[BC_PRINTED_SIZE], const bc_known_yield *known)
{
    const double width = 100.0 * (known->high - known->low);
    const int decimals = width > 5.0 ? 0 : width > 0.5 ? 1 : 2;
    to[0] = '\0';
    if (known->runs > 0.0)
        bc_print(to, BC_PRINTED_SIZE, "%.*f to %.*f", decimals, 100.0 * known->low, decimals, 100.0 * known->high);
}

void bc_add_known_yield(bc_text *out, const bc_known_yield *known)
{
    char bounds[BC_PRINTED_SIZE];
    bc_print_known(bounds, known);
    if (known->runs > 0.0)
        bc_text_add(out, "The process is known by %.3g runs: that leaves a yield of %s of 100 runs (95 %% interval)",
                    known->runs, bounds);
}

static void add_share(bc_text *lines, const bc_yield_result *result)
{
    const double of_hundred = 100.0 * result->yield;
    const int decimals = decimals_for(result);
    /* 100 and 0 are written only where they are meant. */
    const bool whole = (of_hundred < 99.5 && of_hundred > 0.5) || result->good == 0 || result->good == result->runs;
    if (result->no_errors) {
        bc_text_add(lines,
                    "The process file gives no error for these layers, so every run is the design itself, and %s the "
                    "callouts.",
                    result->good > 0 ? "meets" : "does not meet");
    } else {
        bc_text_add(lines, "Of 100 runs about %.*f will meet the callouts (95 %% interval %.*f to %.*f).",
                    whole ? 0 : decimals, of_hundred, decimals, 100.0 * result->yield_low, decimals,
                    100.0 * result->yield_high);
        bc_text_add(lines,
                    " %zu of %zu simulated run%s did (seed %lu). The interval is that of the simulation; how well the "
                    "process file describes the chamber is not in it.",
                    result->good, result->runs, plural(result->runs), result->seed);
        if (result->known.runs > 0.0) {
            bc_text_add(lines, "\n");
            bc_add_known_yield(lines, &result->known);
            bc_text_add(lines, ", %.1f on the average.", 100.0 * result->known.average);
        }
    }
    bc_text_add(lines, "\n");
}

/* What the bound on the work left out. */
static void add_left_out(bc_text *lines, const bc_yield_result *result)
{
    if (result->runs < result->asked && !result->no_errors)
        bc_text_add(lines, "Instead of %zu runs %zu were made: more are more work than a yield may take.\n",
                    result->asked, result->runs);
    if (result->left_out)
        bc_text_add(lines, "%s left out as more work than a yield may take: 'sensitivity' says which layer decides.\n",
                    isnan(result->scale_for_95) && result->influences == 0
                        ? "The influences, and the errors at which 95 % of the runs would be good, were"
                    : result->influences == 0 ? "The influences were"
                                              : "The errors at which 95 % of the runs would be good were");
}

static void add_design(bc_text *lines, const bc_yield_report *report)
{
    const bc_check_result *check = report->check.result;
    char used[BC_PRINTED_SIZE];
    bc_print_used_percent(used, check->limit_used);
    if (check->pass)
        bc_text_add(lines, "The design itself meets its callouts; \"%s\" uses %s %% of its limit.",
                    check->finding[check->decisive].callout->name, used);
    else
        bc_text_add(
            lines,
            "The design itself does NOT meet its callouts: \"%s\" uses %s %% of its limit. No process makes up for "
            "that.",
            check->finding[check->decisive].callout->name, used);
    bc_text_add(lines, "\n");
}

/* The error with the largest influence; `influences` when none has any. */
static size_t find_decisive(const bc_yield_result *result)
{
    size_t decisive = result->influences;
    for (size_t i = 0; i < result->influences; i++)
        if (result->influence[i].influence > 0.0 &&
            (decisive == result->influences || result->influence[i].influence > result->influence[decisive].influence))
            decisive = i;
    return decisive;
}

void bc_add_decisive_error(bc_text *lines, const bc_yield_result *result, size_t layers)
{
    const size_t i = find_decisive(result);
    const bc_influence *influence = &result->influence[i];
    if (i == result->influences)
        return;
    if (influence->layer != BC_NO_LAYER)
        bc_text_add(lines, "Layer %zu (%s) decides:", bc_layer_number(layers, influence->layer), influence->material);
    else if (influence->material[0] != '\0')
        bc_text_add(lines, "The index of %s decides:", influence->material);
    else
        bc_text_add(lines, "The drift of the whole run decides:");
    if (result->influence_of_failure)
        bc_text_add(lines, " its error has a part in %.0f %% of what makes runs fail.", 100.0 * influence->influence);
    else
        bc_text_add(
            lines,
            " its error has a part in %.0f %% of how the share of the limit varies (%s 1 %% of the runs %s, too few to "
            "tell what makes them).",
            100.0 * influence->influence, "under", result->yield > 0.5 ? "fail" : "are good");
    bc_text_add(lines, "\n");
}

size_t bc_influence_in_row(const bc_yield_report *report, size_t row)
{
    const size_t layers = report->check.stack->layers;
    return row < layers ? bc_layer_index(layers, row + 1) : row;
}

/* The drift of the whole run: one figure, unless the materials differ. */
static void drift_cell(const bc_yield_report *report, bc_table *table)
{
    const bc_stack *stack = report->check.stack;
    double low = INFINITY, high = -INFINITY, value;
    bool any = false;
    for (size_t layer = 0; layer < stack->layers; layer++) {
        any = bc_process_error_of(report->process, stack->layer[layer].material.name, BC_ERROR_RUN_THICKNESS_SIGMA,
                                  &value) ||
              any;
        low = fmin(low, value);
        high = fmax(high, value);
    }
    if (!any)
        bc_table_cell(table, 2, "not given");
    else if (low == high)
        bc_table_cell(table, 2, "%.4g %%", low);
    else
        bc_table_cell(table, 2, "%.4g..%.4g %%", low, high);
}

static void influence_row(const bc_yield_report *report, size_t i, bc_table *table)
{
    const bc_influence *influence = &report->result->influence[i];
    const bool is_layer = influence->layer != BC_NO_LAYER;
    double value;
    bc_table_row(table);
    bc_table_cell(table, 1, "%s", influence->material);
    bc_table_cell(table, 3, "%.2f", influence->influence);
    bc_table_cell(table, 4, "%s", i == find_decisive(report->result) ? "<- decides" : "");
    if (influence->material[0] == '\0') {
        bc_table_cell(table, 0, "whole run");
        drift_cell(report, table);
        return;
    }
    if (is_layer)
        bc_table_cell(table, 0, "layer %zu", bc_layer_number(report->check.stack->layers, influence->layer));
    else
        bc_table_cell(table, 0, "index n");
    if (bc_process_error_of(report->process, influence->material,
                            is_layer ? BC_ERROR_THICKNESS_SIGMA : BC_ERROR_INDEX_SIGMA, &value))
        bc_table_cell(table, 2, "%.4g%s", value, is_layer ? " %" : "");
    else
        bc_table_cell(table, 2, "not given");
}

bool bc_fill_influences(const bc_yield_report *report, bc_table *table)
{
    static const char *const heading[] = {"error", "material", "sigma", "influence", ""};
    *table = (bc_table){.columns = 5, .right = {false, false, true, true, false}, .indent = 2};
    if (find_decisive(report->result) == report->result->influences)
        return false;
    bc_table_row(table);
    for (size_t column = 0; column < table->columns; column++)
        bc_table_cell(table, column, "%s", heading[column]);
    for (size_t row = 0; row < report->result->influences; row++)
        influence_row(report, bc_influence_in_row(report, row), table);
    return true;
}

static void add_scale(bc_text *lines, const bc_yield_result *result)
{
    if (result->no_errors || isnan(result->scale_for_95))
        return;
    if (result->scale_for_95 == 0.0)
        bc_text_add(lines, "No process, however good, brings the yield of this design to 95 %%.");
    else if (isinf(result->scale_for_95))
        bc_text_add(lines, "The yield would still be 95 %% with all errors at " TOO_GOOD " times what they are.");
    else
        bc_text_add(lines, "The yield would be 95 %% with all errors at %.2g times what they are.",
                    result->scale_for_95);
    bc_text_add(lines, "\n");
}

void bc_add_yield(bc_text *lines, const bc_yield_report *report)
{
    add_share(lines, report->result);
    add_left_out(lines, report->result);
    add_design(lines, report);
    add_scale(lines, report->result);
}

bool bc_fill_fails(const bc_yield_report *report, bc_table *table)
{
    const bc_callouts *callouts = report->callouts;
    *table = (bc_table){.columns = 2, .right = {false, true}, .indent = 2};
    if (report->result->fails[report->result->decisive] == 0.0)
        return false;
    bc_table_row(table);
    bc_table_cell(table, 0, "callout");
    bc_table_cell(table, 1, "fails, of 100 runs");
    for (size_t c = 0; c < callouts->count; c++) {
        bc_table_row(table);
        bc_table_cell(table, 0, "%s", callouts->callout[c].name);
        bc_table_cell(table, 1, "%.2f", 100.0 * report->result->fails[c]);
    }
    return true;
}

void bc_add_missing_errors(bc_text *lines, const bc_yield_report *report)
{
    const bc_stack *stack = report->check.stack;
    for (bc_process_error which = 0; which < BC_PROCESS_ERRORS; which++) {
        size_t missing = 0;
        double value;
        for (size_t layer = 0; layer < stack->layers; layer++) {
            if (!bc_is_outermost(stack, layer) ||
                bc_process_error_of(report->process, stack->layer[layer].material.name, which, &value))
                continue;
            if (missing++ == 0)
                bc_text_add(lines, "The process file gives no %s for", kinds[which].column);
            bc_text_add(lines, "%s %s", missing == 1 ? "" : ",", stack->layer[layer].material.name);
        }
        if (missing > 0)
            bc_text_add(lines, ": taken as no error of that kind.\n");
    }
}

/* Sentences, and an empty line after them when there is any. */
static void write_lines(bc_text *lines, bool gap, bc_text *out)
{
    gap = gap && lines->length > 0;
    bc_add_lines(out, lines);
    if (gap)
        bc_text_add(out, "\n");
}

static void tables_text(const bc_yield_report *report, bc_text *out)
{
    bc_table table;
    if (bc_fill_influences(report, &table)) {
        bc_table_write(&table, out);
        bc_text_wrap(out, 0, 0, BC_INFLUENCE_WORDS);
        bc_text_add(out, "\n");
    }
    if (bc_fill_fails(report, &table)) {
        bc_text_add(out, "\"%s\" fails most often:\n", report->callouts->callout[report->result->decisive].name);
        bc_table_write(&table, out);
        bc_text_add(out, "\n");
    }
    if (bc_fill_clouds(report, &table)) {
        bc_text words = {0};
        bc_add_clouds_words(&words, report);
        bc_text_wrap_gathered(out, 0, &words);
        bc_table_write(&table, out);
        bc_text_add(out, "\n");
    }
}

bc_status bc_report_yield_text(const bc_yield_report *report, bc_text *out, bc_error *error)
{
    bc_text lines = {0};
    bc_heading_text(&report->check, out);
    if (report->process_path != NULL) {
        bc_text_add(out, "Process ");
        bc_text_add_plain(out, report->process_path);
        bc_text_add(out, "\n");
    }
    bc_text_add(out, "\n");
    bc_add_yield(&lines, report);
    write_lines(&lines, true, out);
    bc_add_decisive_error(&lines, report->result, report->check.stack->layers);
    write_lines(&lines, false, out);
    tables_text(report, out);
    bc_add_missing_errors(&lines, report);
    write_lines(&lines, true, out);
    bc_back_text(&report->check, out);
    bc_sources_text(&report->check, out);
    bc_text_add(out, "\n");
    bc_cautions_text(1, &report->check, out);
    return bc_text_end(out, error);
}
