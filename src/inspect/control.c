/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/control.h>
#include <gsl/gsl_math.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>

#define SIGMAS 3.0

/* The average range of two normal values of standard deviation 1, and the standard deviation of such ranges. */
static const double d2 = M_2_SQRTPI;

static double d3(void)
{
    return sqrt(2.0 - 4.0 / M_PI);
}

static void set_lines(const bc_control_series *series, bc_control_chart *chart)
{
    const size_t n = chart->baseline;
    chart->average = gsl_stats_mean(series->value, 1, n);
    chart->moving[0] = NAN;
    for (size_t i = 1; i < series->count; i++)
        chart->moving[i] = fabs(series->value[i] - series->value[i - 1]);
    chart->range = gsl_stats_mean(chart->moving + 1, 1, n - 1);
    chart->sigma = chart->range / d2;
    chart->low = chart->average - SIGMAS * chart->sigma;
    chart->high = chart->average + SIGMAS * chart->sigma;
    chart->range_high = chart->range * (1.0 + SIGMAS * d3() / d2);
}

static void raise_alarm(bc_control_chart *chart, bc_control_rule rule, size_t from, size_t to, size_t raised, bool high)
{
    chart->alarm[chart->alarms++] = (bc_control_alarm){rule, from, to, raised, high};
}

static int side_of(const bc_control_chart *chart, double value)
{
    return (value > chart->average) - (value < chart->average);
}

static int step_to(const bc_control_chart *chart, size_t i)
{
    const double *value = chart->series->value;
    return (value[i] > value[i - 1]) - (value[i] < value[i - 1]);
}

/* Values in succession on one side, or that rise (fall) all the way: one alarm each, as long as it lasts. */
static void find_successions(bc_control_chart *chart)
{
    const size_t count = chart->series->count;
    for (size_t i = 0, next; i < count; i = next) {
        const int side = side_of(chart, chart->series->value[i]);
        for (next = i + 1; next < count && side_of(chart, chart->series->value[next]) == side;)
            next++;
        if (side != 0 && next - i >= BC_CONTROL_RUN)
            raise_alarm(chart, BC_RULE_SIDE, i, next - 1, i + BC_CONTROL_RUN - 1, side > 0);
    }
    for (size_t i = 1, next; i < count; i = next) {
        const int step = step_to(chart, i);
        for (next = i + 1; next < count && step_to(chart, next) == step;)
            next++;
        if (step != 0 && next - i + 1 >= BC_CONTROL_RUN)
            raise_alarm(chart, BC_RULE_TREND, i - 1, next - 1, i + BC_CONTROL_RUN - 2, step > 0);
    }
}

static int first_raised(const void *one, const void *other)
{
    const bc_control_alarm *a = one, *b = other;
    if (a->raised != b->raised)
        return a->raised < b->raised ? -1 : 1;
    return (int)a->rule - (int)b->rule;
}

/* Values that are all the same have lines of no width, and rounding is no alarm. */
static void find_alarms(bc_control_chart *chart)
{
    const bc_control_series *series = chart->series;
    for (size_t i = 0; i < series->count && chart->range > 0.0; i++) {
        const double value = series->value[i];
        if (value < chart->low || value > chart->high)
            raise_alarm(chart, BC_RULE_BEYOND, i, i, i, value > chart->high);
        if (i > 0 && chart->moving[i] > chart->range_high)
            raise_alarm(chart, BC_RULE_RANGE, i - 1, i, i, true);
    }
    if (chart->range > 0.0)
        find_successions(chart);
    if (chart->alarms > 0)
        qsort(chart->alarm, chart->alarms, sizeof *chart->alarm, first_raised);
}

bc_status bc_control_chart_make(const bc_control_series *series, size_t baseline, bc_control_chart *chart,
                                bc_error *error)
{
    const size_t wanted = baseline > 0 ? baseline : BC_CONTROL_BASELINE;
    *chart = (bc_control_chart){.series = series, .mean_used = NAN, .at_3_sigma = NAN};
    if (series->count < BC_CONTROL_LEAST)
        return BC_OK;
    chart->baseline = wanted < BC_CONTROL_LEAST ? BC_CONTROL_LEAST : wanted > series->count ? series->count : wanted;
    chart->moving = calloc(series->count, sizeof *chart->moving);
    chart->alarm = calloc(3 * series->count, sizeof *chart->alarm);
    if (chart->moving == NULL || chart->alarm == NULL) {
        bc_control_chart_clear(chart);
        return bc_fail_memory(error);
    }
    chart->known = true;
    set_lines(series, chart);
    find_alarms(chart);
    if (series->limit_used != NULL) {
        chart->mean_used = gsl_stats_mean(series->limit_used, 1, series->count);
        chart->at_3_sigma = chart->mean_used + SIGMAS * gsl_stats_sd(series->limit_used, 1, series->count);
    }
    return BC_OK;
}

void bc_control_chart_clear(bc_control_chart *chart)
{
    free(chart->moving);
    free(chart->alarm);
    *chart = (bc_control_chart){0};
}

bool bc_control_sounds(const bc_control_chart *chart, size_t runs)
{
    for (size_t a = 0; a < chart->alarms; a++)
        if (chart->series->run[chart->alarm[a].to] + 1 == runs)
            return true;
    return false;
}
