/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What the rules of a control chart do: alarms of a process in control, and how soon a drift and a step raise one. The
 * chart is made anew after each run, as a shop would look at it.
 */
#include "charts.h"
#include <bloomcoat/control.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define MOST 400

static size_t chart_of(size_t count, double *value, size_t *run, size_t baseline, bc_control_alarm *first)
{
    const bc_control_series series = {.limit = NAN, .count = count, .value = value, .run = run};
    bc_control_chart chart;
    bc_error error = {0};
    size_t alarms;
    if (bc_control_chart_make(&series, baseline, &chart, &error) != BC_OK) {
        fprintf(stderr, "%s\n", error.message);
        exit(1);
    }
    alarms = chart.alarms;
    if (alarms > 0)
        *first = chart.alarm[0];
    bc_control_chart_clear(&chart);
    return alarms;
}

/* Alarms per 100 runs of a process in control, after the baseline, by rule. */
static void in_control(gsl_rng *random, size_t baseline, size_t histories)
{
    double *value = calloc(MOST, sizeof *value), of_rule[4] = {0}, any = 0.0;
    size_t *run = calloc(MOST, sizeof *run), thirty = 0;
    for (size_t h = 0; h < histories; h++) {
        bc_control_series series = {.limit = NAN, .value = value, .run = run};
        bc_control_chart chart;
        bc_control_alarm first;
        for (size_t i = 0; i < MOST; i++) {
            value[i] = gsl_ran_gaussian(random, 1.0);
            run[i] = i;
        }
        series.count = baseline + 100;
        if (bc_control_chart_make(&series, baseline, &chart, NULL) != BC_OK)
            exit(1);
        for (size_t a = 0; a < chart.alarms; a++)
            if (chart.alarm[a].raised >= baseline) {
                of_rule[chart.alarm[a].rule] += 1.0;
                any += 1.0;
            }
        bc_control_chart_clear(&chart);
        thirty += chart_of(30, value, run, baseline, &first) > 0;
    }
    printf("  lines from %3zu runs: %.2f alarms in the 100 runs after them (value %.2f, range %.2f, side %.2f, trend "
           "%.2f); "
           "%.0f %% of histories of 30 runs show one\n",
           baseline, any / (double)histories, of_rule[0] / (double)histories, of_rule[1] / (double)histories,
           of_rule[2] / (double)histories, of_rule[3] / (double)histories, 100.0 * (double)thirty / (double)histories);
    free(value);
    free(run);
}

/* Runs after the change until the first alarm that is raised after it. */
static double runs_until(gsl_rng *random, size_t before, double step, double slope)
{
    double value[MOST];
    size_t run[MOST];
    for (size_t i = 0; i < MOST; i++) {
        const double since = (double)i - (double)before + 1.0;
        bc_control_series series = {.limit = NAN, .count = i + 1, .value = value, .run = run};
        bc_control_chart chart;
        bool seen = false;
        run[i] = i;
        value[i] = gsl_ran_gaussian(random, 1.0) + (since > 0.0 ? step + slope * since : 0.0);
        if (i < before)
            continue;
        if (bc_control_chart_make(&series, 0, &chart, NULL) != BC_OK)
            exit(1);
        for (size_t a = 0; a < chart.alarms; a++)
            seen = seen || chart.alarm[a].raised >= before;
        bc_control_chart_clear(&chart);
        if (seen)
            return since;
    }
    return (double)MOST;
}

static void changed(gsl_rng *random, size_t before, double step, double slope, size_t histories)
{
    double *runs = calloc(histories, sizeof *runs);
    for (size_t h = 0; h < histories; h++)
        runs[h] = runs_until(random, before, step, slope);
    gsl_sort(runs, 1, histories);
    printf("  after %2zu runs a step of %.1f sigma and a drift of %.2f sigma a run: seen after %.0f runs (median; 95 "
           "%% within "
           "%.0f)\n",
           before, step, slope, gsl_stats_median_from_sorted_data(runs, 1, histories),
           gsl_stats_quantile_from_sorted_data(runs, 1, histories, 0.95));
    free(runs);
}

/* A lot whose limit_used goes from 0.70 to 0.94 over so many runs. */
static void lot(gsl_rng *random, size_t runs, double sigma, size_t histories)
{
    size_t seen = 0, failed_before = 0;
    double at = 0.0;
    for (size_t h = 0; h < histories; h++) {
        double value[MOST];
        size_t run[MOST];
        bool fails = false;
        for (size_t i = 0; i < runs; i++) {
            bc_control_alarm first;
            run[i] = i;
            value[i] = 0.70 + 0.24 * (double)i / (double)(runs - 1) + gsl_ran_gaussian(random, sigma);
            fails = fails || value[i] > 1.0;
            if (chart_of(i + 1, value, run, 0, &first) > 0) {
                seen++;
                failed_before += fails;
                at += value[i] - (value[i] - (0.70 + 0.24 * (double)i / (double)(runs - 1)));
                break;
            }
        }
    }
    printf("  limit_used from 0.70 to 0.94 over %2zu runs, scatter %.2f: %.1f %% raise an alarm (at %.2f on average), "
           "%.1f "
           "%% only when a run had failed\n",
           runs, sigma, 100.0 * (double)seen / (double)histories, at / (double)seen,
           100.0 * (double)failed_before / (double)histories);
}

void chart_tables(gsl_rng *random, size_t histories)
{
    printf("\nControl charts of normal values. %zu histories each.\n", histories);
    in_control(random, 10, histories);
    in_control(random, 20, histories);
    in_control(random, 100, histories);
    changed(random, 20, 0.0, 0.05, histories);
    changed(random, 20, 0.0, 0.1, histories);
    changed(random, 20, 0.0, 0.2, histories);
    changed(random, 20, 1.0, 0.0, histories);
    changed(random, 20, 2.0, 0.0, histories);
    changed(random, 20, 3.0, 0.0, histories);
    changed(random, 8, 0.0, 0.1, histories);
    lot(random, 12, 0.02, histories);
    lot(random, 25, 0.02, histories);
    lot(random, 25, 0.04, histories);
    lot(random, 40, 0.03, histories);
}
