/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * limit_used, which rows speak of a glass, and the verdict over all rows.
 */
#include "bench.h"
#include "near.h"
#include "suites.h"
#include <string.h>

/* By hand: value / limit, and (100 - value) / (100 - limit). */
START_TEST(both_senses)
{
    static const struct {
        bc_sense sense;
        double limit, value, used;
    } cases[] = {
        {BC_AT_MOST, 0.005, 0.005, 1.0}, {BC_AT_MOST, 0.005, 0.0025, 0.5}, {BC_AT_MOST, 0.005, 0.02, 4.0},
        {BC_AT_MOST, 0.5, 0.0, 0.0},     {BC_AT_LEAST, 0.99, 0.99, 1.0},   {BC_AT_LEAST, 0.99, 0.995, 0.5},
        {BC_AT_LEAST, 0.99, 0.98, 2.0},  {BC_AT_LEAST, 0.995, 1.0, 0.0},   {BC_AT_LEAST, 0.0, 0.25, 0.75},
        {BC_AT_LEAST, 0.9, 0.0, 10.0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const bc_callout callout = {.sense = cases[i].sense, .limit = cases[i].limit};
        ck_assert_double_eq_tol(bc_limit_used(&callout, cases[i].value), cases[i].used, 1e-12);
    }
}
END_TEST

START_TEST(speaks_of_a_glass)
{
    bc_callout callout = callout_of(500.0, 600.0);
    ck_assert(bc_callout_applies(&callout, "517642"));
    ck_assert(bc_callout_applies(&callout, ""));
    strcpy(callout.substrate, "517642");
    ck_assert(bc_callout_applies(&callout, "517642"));
    ck_assert(!bc_callout_applies(&callout, "51764"));
    ck_assert(!bc_callout_applies(&callout, "5176420"));
    ck_assert(!bc_callout_applies(&callout, "620364"));
}
END_TEST

/* Bare glass, n = 3: R is exactly 1/4. A limit of 1/4 is met, whichever way it points; a breath beside it is not. */
START_TEST(exactly_at_the_limit)
{
    static const single_layer bare = {1.0, 1.0, 3.0, 0.0};
    bench_stack bench;
    bc_callout callout = callout_of(400.0, 700.0);
    bc_finding finding;
    lay_layer(&bench, &bare);
    for (int sense = BC_AT_MOST; sense <= BC_AT_LEAST; sense++) {
        const double breath = sense == BC_AT_MOST ? -1e-9 : 1e-9;
        callout.sense = (bc_sense)sense;
        callout.limit = 0.25;
        finding = find(&bench.stack, &callout, NULL);
        ck_assert(finding.value == 0.25 && finding.limit_used == 1.0 && finding.pass);
        callout.limit = 0.25 + breath;
        finding = find(&bench.stack, &callout, NULL);
        ck_assert(finding.limit_used > 1.0 && !finding.pass);
        callout.limit = 0.25 - breath;
        finding = find(&bench.stack, &callout, NULL);
        ck_assert(finding.limit_used < 1.0 && finding.pass);
    }
}
END_TEST

/* The row with the largest limit_used decides, not the one with the largest value; all must pass. */
START_TEST(the_decisive_row)
{
    static const single_layer bare = {1.0, 1.0, 3.0, 0.0};
    bench_stack bench;
    bc_callout rows[4];
    const bc_callouts all = {.count = 4, .callout = rows};
    bc_check_result result;
    lay_layer(&bench, &bare);
    for (int i = 0; i < 4; i++)
        rows[i] = callout_of(400.0, 700.0);
    rows[0].limit = 0.5;     /* R 25 %: 0.5 used */
    rows[1].quantity = BC_T; /* T 75 % of at least 60 %: 25/40 = 0.625 */
    rows[1].sense = BC_AT_LEAST;
    rows[1].limit = 0.6;
    rows[2].limit = 0.3125; /* 0.8 used */
    rows[2].statistic = BC_AVERAGE;
    rows[3].quantity = BC_A; /* 0 of 10 %: none used */
    rows[3].limit = 0.1;
    ck_assert_int_eq(bc_check(&bench.stack, &all, 0, NULL, NULL, &result, NULL), BC_OK);
    ck_assert(result.pass);
    ck_assert_uint_eq(result.count, 4);
    ck_assert_uint_eq(result.decisive, 2);
    expect_near(result.finding[0].limit_used, 0.5, 1e-15);
    expect_near(result.finding[1].limit_used, 0.625, 1e-15);
    expect_near(result.finding[2].limit_used, 0.8, 1e-14);
    expect_near(result.finding[3].limit_used, 0.0, 1e-15);
    ck_assert(result.limit_used == result.finding[2].limit_used);
    bc_check_result_clear(&result);
    rows[0].limit = 0.2; /* 1.25 used */
    ck_assert_int_eq(bc_check(&bench.stack, &all, 0, NULL, NULL, &result, NULL), BC_OK);
    ck_assert(!result.pass);
    ck_assert_uint_eq(result.decisive, 0);
    expect_near(result.limit_used, 1.25, 1e-14);
    ck_assert(!result.finding[0].pass && result.finding[1].pass && result.finding[2].pass && result.finding[3].pass);
    for (size_t f = 0; f < 4; f++) /* what decided before does not count */
        result.finding[f].limit_used = 0.0, result.finding[f].pass = true;
    result.decisive = 3;
    bc_check_result_conclude(&result);
    ck_assert(result.pass && result.decisive == 0 && result.limit_used == 0.0);
    bc_check_result_clear(&result);
}
END_TEST

TCase *limits_case(void)
{
    TCase *tests = tcase_create("limits");
    tcase_add_checked_fixture(tests, open_bench, close_bench);
    tcase_add_test(tests, both_senses);
    tcase_add_test(tests, speaks_of_a_glass);
    tcase_add_test(tests, exactly_at_the_limit);
    tcase_add_test(tests, the_decisive_row);
    return tests;
}
