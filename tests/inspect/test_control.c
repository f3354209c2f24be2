/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Control charts against figures worked by hand, and against what chance does.
 */
#include "witness.h"
#include <bloomcoat/control.h>
#include <gsl/gsl_randist.h>
#include <math.h>
#include <stdlib.h>

#define MOST 60

typedef struct charted {
    double value[MOST];
    size_t run[MOST];
    bc_control_series series;
    bc_control_chart chart;
} charted;

static void make(charted *c, size_t count, const double *value, size_t baseline)
{
    bc_error error = {0};
    for (size_t i = 0; i < count; i++) {
        c->value[i] = value[i];
        c->run[i] = i;
    }
    c->series = (bc_control_series){.kind = BC_CONTROL_LIMIT_USED,
                                    .limit = 1.0,
                                    .count = count,
                                    .value = c->value,
                                    .limit_used = c->value,
                                    .run = c->run};
    ck_assert_msg(bc_control_chart_make(&c->series, baseline, &c->chart, &error) == BC_OK, "%s", error.message);
}

/* By hand: ranges 1 2 1 3 1 of 10 11 9 10 13 12 are 1.6 on average. The usual factors are 2.660 and 3.267 (tables of
 * control charts of individuals, as in ISO 7870-2; from memory). */
START_TEST(lines_by_hand)
{
    static const double value[] = {10, 11, 9, 10, 13, 12};
    charted c;
    make(&c, 6, value, 0);
    ck_assert(c.chart.known && c.chart.baseline == 6);
    ck_assert_double_eq_tol(c.chart.average, 65.0 / 6.0, 1e-12);
    ck_assert_double_eq_tol(c.chart.range, 1.6, 1e-12);
    ck_assert_double_eq_tol(c.chart.high - c.chart.average, 2.660 * 1.6, 3e-3);
    ck_assert_double_eq_tol(c.chart.average - c.chart.low, 2.660 * 1.6, 3e-3);
    ck_assert_double_eq_tol(c.chart.range_high, 3.267 * 1.6, 3e-3);
    ck_assert(isnan(c.chart.moving[0]) && c.chart.moving[4] == 3.0);
    ck_assert_uint_eq(c.chart.alarms, 0);
    /* s^2 = (25 + 1 + 121 + 25 + 169 + 49) / 36 / 5 */
    ck_assert_double_eq_tol(c.chart.at_3_sigma, 65.0 / 6.0 + 3.0 * sqrt(390.0 / 36.0 / 5.0), 1e-12);
    bc_control_chart_clear(&c.chart);
    make(&c, 4, value, 0);
    ck_assert(!c.chart.known && c.chart.alarms == 0 && isnan(c.chart.at_3_sigma));
    bc_control_chart_clear(&c.chart);
}
END_TEST

static void expect_alarm(const bc_control_chart *chart, size_t which, bc_control_alarm expected)
{
    ck_assert_uint_lt(which, chart->alarms);
    const bc_control_alarm *alarm = &chart->alarm[which];
    ck_assert_msg(alarm->rule == expected.rule && alarm->from == expected.from && alarm->to == expected.to &&
                      alarm->raised == expected.raised && alarm->high == expected.high,
                  "%d %zu %zu %zu %d", (int)alarm->rule, alarm->from, alarm->to, alarm->raised, alarm->high);
}

START_TEST(each_rule)
{
    /* 0 1 0 1 ... has the average 1/2, lines at 1/2 +- 2.66 and 3.267 */
    double value[20];
    charted c;
    for (size_t i = 0; i < 20; i++)
        value[i] = (double)(i % 2);
    make(&c, 20, value, 12);
    ck_assert_uint_eq(c.chart.alarms, 0);
    bc_control_chart_clear(&c.chart);
    value[15] = -2.2; /* beyond the line of values; the ranges are 2.2 */
    make(&c, 20, value, 12);
    ck_assert_uint_eq(c.chart.alarms, 1);
    expect_alarm(&c.chart, 0, (bc_control_alarm){BC_RULE_BEYOND, 15, 15, 15, false});
    ck_assert(!bc_control_sounds(&c.chart, 20) && bc_control_sounds(&c.chart, 16));
    bc_control_chart_clear(&c.chart);
    value[15] = 1.0;
    value[18] = 3.1;
    value[19] = -0.2; /* neither is beyond: the range is */
    make(&c, 20, value, 12);
    ck_assert_uint_eq(c.chart.alarms, 1);
    expect_alarm(&c.chart, 0, (bc_control_alarm){BC_RULE_RANGE, 18, 19, 19, true});
    ck_assert(bc_control_sounds(&c.chart, 20));
    bc_control_chart_clear(&c.chart);
    for (size_t i = 12; i < 20; i++)
        value[i] = i % 2 == 0 ? 0.6 : 0.7;
    value[11] = 0.4;
    make(&c, 20, value, 11);
    ck_assert_uint_eq(c.chart.alarms, 1);
    expect_alarm(&c.chart, 0, (bc_control_alarm){BC_RULE_SIDE, 12, 19, 18, true});
    bc_control_chart_clear(&c.chart);
    for (size_t i = 12; i < 19; i++)
        value[i] = 1.1 - 0.2 * (double)(i - 12); /* from 1.1 down to -0.1: the seventh is at 18 */
    value[11] = 0.9;
    value[19] = 0.9;
    make(&c, 20, value, 11);
    ck_assert_uint_eq(c.chart.alarms, 1);
    expect_alarm(&c.chart, 0, (bc_control_alarm){BC_RULE_TREND, 12, 18, 18, false});
    bc_control_chart_clear(&c.chart);
}
END_TEST

/* Nothing moves: no lines of any width, and no alarm. */
START_TEST(all_the_same)
{
    double value[20];
    charted c;
    for (size_t i = 0; i < 20; i++)
        value[i] = 0.7;
    make(&c, 20, value, 0);
    ck_assert(c.chart.known && c.chart.alarms == 0 && c.chart.high == c.chart.low);
    bc_control_chart_clear(&c.chart);
}
END_TEST

/* A lot on its way from 0.70 to 0.94 of its limit over 25 runs, which scatters by 0.02: looked at after each run, the
 * chart raises an alarm before any run fails. */
START_TEST(a_drift_is_seen_before_it_fails)
{
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    size_t seen = 0, lots = 200;
    for (size_t lot = 0; lot < lots; lot++) {
        double value[25];
        bool alarm = false;
        for (size_t i = 0; i < 25 && !alarm; i++) {
            charted c;
            value[i] = 0.70 + 0.24 * (double)i / 24.0 + gsl_ran_gaussian(random, 0.02);
            if (value[i] > 1.0)
                break;
            make(&c, i + 1, value, 0);
            alarm = c.chart.alarms > 0;
            bc_control_chart_clear(&c.chart);
        }
        seen += alarm;
    }
    gsl_rng_free(random);
    ck_assert_uint_ge(seen, lots - 2);
}
END_TEST

TCase *control_case(void)
{
    TCase *tests = tcase_create("control");
    tcase_add_test(tests, lines_by_hand);
    tcase_add_test(tests, each_rule);
    tcase_add_test(tests, all_the_same);
    tcase_add_test(tests, a_drift_is_seen_before_it_fails);
    return tests;
}
