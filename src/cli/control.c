/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "control.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The last run that was inspected against callouts; NULL: none was. */
static const bc_record_run *last_asked(const bc_record_runs *runs)
{
    for (size_t i = runs->count; i-- > 0;)
        if (runs->run[i].findings > 0)
            return &runs->run[i];
    return NULL;
}

static bool same_callouts(const bc_record_run *one, const bc_record_run *other)
{
    if (one->findings != other->findings)
        return false;
    for (size_t i = 0; i < one->findings; i++)
        if (strcmp(one->finding[i].name, other->finding[i].name) != 0 ||
            one->finding[i].limit != other->finding[i].limit)
            return false;
    return true;
}

static bc_status open_series(cli_control *control, const bc_record_runs *runs, bc_control_kind kind, const char *name,
                             bc_control_series **out, bc_error *error)
{
    bc_control_series *series = &control->series[control->report.charts];
    *out = series;
    *series = (bc_control_series){.kind = kind, .limit = NAN};
    snprintf(series->name, sizeof series->name, "%s", name);
    series->value = calloc(2 * runs->count + 1, sizeof *series->value);
    series->run = calloc(runs->count + 1, sizeof *series->run);
    control->report.charts++;
    return series->value == NULL || series->run == NULL ? bc_fail_memory(error) : BC_OK;
}

static void add_value(bc_control_series *series, size_t run, double value, double limit_used)
{
    if (series->limit_used != NULL)
        series->limit_used[series->count] = limit_used;
    series->run[series->count] = run;
    series->value[series->count++] = value;
}

static bc_status add_limit_used(cli_control *control, const bc_record_runs *runs, const bc_record_run *last,
                                bc_error *error)
{
    bc_control_series *series;
    const bc_status status = open_series(control, runs, BC_CONTROL_LIMIT_USED, "", &series, error);
    if (status != BC_OK)
        return status;
    series->limit = 1.0;
    series->limit_used = series->value + runs->count;
    for (size_t i = 0; i < runs->count; i++) {
        const bc_record_run *run = &runs->run[i];
        control->report.others += !same_callouts(run, last);
        if (same_callouts(run, last) && isfinite(run->limit_used))
            add_value(series, i, run->limit_used, run->limit_used);
    }
    return BC_OK;
}

static bc_status add_callout(cli_control *control, const bc_record_runs *runs, const bc_record_run *last, size_t which,
                             bc_error *error)
{
    const bc_record_run_finding *asked = &last->finding[which];
    bc_control_series *series;
    const bc_status status = open_series(control, runs, BC_CONTROL_CALLOUT, asked->name, &series, error);
    if (status != BC_OK)
        return status;
    series->limit = asked->limit;
    series->at_least = (asked->value > asked->limit) == (asked->limit_used < 1.0);
    series->limit_used = series->value + runs->count;
    for (size_t i = 0; i < runs->count; i++) {
        const bc_record_run *run = &runs->run[i];
        if (same_callouts(run, last) && isfinite(run->finding[which].value) && isfinite(run->finding[which].limit_used))
            add_value(series, i, run->finding[which].value, run->finding[which].limit_used);
    }
    return BC_OK;
}

/* What a run was made with, for a material; 1 where that is not known. NAN: its layers say nothing. */
static double tooling_of(const bc_record_run *run, const char *material)
{
    for (size_t j = 0; j < run->layers; j++)
        if (strcmp(run->layer[j].material, material) == 0)
            return isnan(run->layer[j].tooling) ? 1.0 : run->layer[j].tooling;
    return NAN;
}

static bc_status add_tooling(cli_control *control, const bc_record_runs *runs, const char *material, bc_error *error)
{
    bc_control_series *series;
    const bc_status status = open_series(control, runs, BC_CONTROL_TOOLING, material, &series, error);
    if (status != BC_OK)
        return status;
    for (size_t i = 0; i < runs->count; i++)
        for (size_t m = 0; m < runs->run[i].materials; m++) {
            const bc_record_run_material *found = &runs->run[i].material[m];
            const double tooling = tooling_of(&runs->run[i], material);
            if (strcmp(found->name, material) == 0 && isfinite(tooling * found->factor))
                add_value(series, i, tooling * found->factor, NAN);
        }
    return BC_OK;
}

static bool has_tooling(const cli_control *control, const char *material)
{
    for (size_t s = 0; s < control->report.charts; s++)
        if (control->series[s].kind == BC_CONTROL_TOOLING && strcmp(control->series[s].name, material) == 0)
            return true;
    return false;
}

static bc_status make_room(cli_control *control, const bc_record_runs *runs, const bc_record_run *last, bc_error *error)
{
    size_t most = 1 + (last == NULL ? 0 : last->findings);
    for (size_t i = 0; i < runs->count; i++)
        most += runs->run[i].materials;
    control->series = calloc(most, sizeof *control->series);
    control->chart = calloc(most, sizeof *control->chart);
    control->label = calloc(runs->count + 1, sizeof *control->label);
    if (control->series == NULL || control->chart == NULL || control->label == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < runs->count; i++)
        control->label[i] = runs->run[i].number[0] != '\0' ? runs->run[i].number : runs->run[i].path;
    return BC_OK;
}

bc_status cli_control_make(const bc_record_runs *runs, size_t baseline, cli_control *control, bc_error *error)
{
    const bc_record_run *last = last_asked(runs);
    bc_status status;
    *control = (cli_control){.report = {.runs = runs->count, .baseline = baseline}};
    status = make_room(control, runs, last, error);
    if (status == BC_OK && last != NULL)
        status = add_limit_used(control, runs, last, error);
    for (size_t f = 0; status == BC_OK && last != NULL && f < last->findings; f++)
        status = add_callout(control, runs, last, f, error);
    for (size_t i = 0; status == BC_OK && i < runs->count; i++)
        for (size_t m = 0; status == BC_OK && m < runs->run[i].materials; m++)
            if (!has_tooling(control, runs->run[i].material[m].name))
                status = add_tooling(control, runs, runs->run[i].material[m].name, error);
    for (size_t c = 0; status == BC_OK && c < control->report.charts; c++)
        status = bc_control_chart_make(&control->series[c], baseline, &control->chart[c], error);
    control->report.label = control->label;
    control->report.chart = control->chart;
    return status;
}

void cli_control_clear(cli_control *control)
{
    for (size_t c = 0; c < control->report.charts; c++) {
        free(control->series[c].value);
        free(control->series[c].run);
        bc_control_chart_clear(&control->chart[c]);
    }
    free(control->series);
    free(control->chart);
    free(control->label);
    *control = (cli_control){0};
}
