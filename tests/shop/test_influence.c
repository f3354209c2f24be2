/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "influence.h"
#include "workshop.h"
#include <math.h>
#include <string.h>

/* The standard error of an influence near 1 is about 2 % with 4096 samples, 3 % of one of failures. */
#define TOLERANCE 0.1

static double limit_used_of(const workshop *w)
{
    bc_check_result check;
    double limit_used;
    ck_assert_int_eq(bc_check(&w->stack, &w->callouts, 1, w->glass, NULL, &check, NULL), BC_OK);
    limit_used = check.limit_used;
    bc_check_result_clear(&check);
    return limit_used;
}

/* A design that uses so much of its limit. */
static void open_three_layers(workshop *w, double used)
{
    workshop_open(w, "air", "1.38,2.1,1.62", "1.52");
    w->stack.layer[0].thickness_nm = 98.0;
    w->stack.layer[1].thickness_nm = 128.0;
    w->stack.layer[2].thickness_nm = 84.0;
    workshop_ask(w, 1.0, 450.0, 650.0, 0.0);
    w->callout[0].limit = limit_used_of(w) / used;
    w->options.influence = true;
    w->options.runs = 5000;
}

/* Where one error is all there is, it has all the influence and the others have none: the layers in turn, an index, the
 * run. In the failures as well as in limit_used. */
START_TEST(one_error_alone_has_all_the_influence)
{
    static const char *const names[] = {"1.38", "2.1", "1.62"};
    static const size_t index_place[] = {3, 5, 4}; /* after the layers, by name: 1.38, 1.62, 2.1 */
    const int which = _i % 7;
    const bool of_failure = _i < 7;
    size_t place;
    bc_yield_result result;
    workshop w;
    open_three_layers(&w, of_failure ? 0.98 : 0.01);
    if (which < 3)
        workshop_errors(&w, names[which], 0.04, 0.0, 0.0);
    else if (which < 6)
        workshop_errors(&w, names[which - 3], 0.0, 0.0, 0.06);
    else
        workshop_errors(&w, "*", 0.0, 0.02, 0.0);
    place = which < 3 ? (size_t)which : which < 6 ? index_place[which - 3] : 6;
    result = workshop_run(&w);
    ck_assert_uint_eq(result.influences, 7);
    ck_assert_msg(result.influence_of_failure == of_failure, "yield %g", result.yield);
    for (size_t i = 0; i < 7; i++) {
        if (i == place)
            ck_assert_double_eq_tol(result.influence[i].influence, 1.0, TOLERANCE);
        else
            ck_assert(result.influence[i].influence == 0.0);
    }
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

START_TEST(influences_are_told_by_name)
{
    bc_yield_result result;
    workshop w;
    open_three_layers(&w, 0.98);
    workshop_errors(&w, "*", 0.01, 0.0, 0.0);
    result = workshop_run(&w);
    for (size_t j = 0; j < 3; j++) {
        ck_assert_str_eq(result.influence[j].material, w.stack.layer[j].material.name);
        ck_assert_uint_eq(result.influence[j].layer, j);
    }
    ck_assert_str_eq(result.influence[3].material, "1.38");
    ck_assert_str_eq(result.influence[4].material, "1.62");
    ck_assert_str_eq(result.influence[5].material, "2.1");
    ck_assert_str_eq(result.influence[6].material, "");
    for (size_t i = 3; i < 7; i++)
        ck_assert_uint_eq(result.influence[i].layer, (size_t)-1);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

/* The slope of limit_used with the relative thickness of some layers at once, by differences of the verdict. */
static double slope(workshop *w, size_t first, size_t last)
{
    const double step = 1e-6;
    double used[2];
    for (int side = 0; side < 2; side++) {
        const double factor = side == 0 ? 1.0 - step : 1.0 + step;
        for (size_t j = first; j <= last; j++)
            w->stack.layer[j].thickness_nm *= factor;
        used[side] = limit_used_of(w);
        for (size_t j = first; j <= last; j++)
            w->stack.layer[j].thickness_nm /= factor;
    }
    return (used[1] - used[0]) / (2.0 * step);
}

/* Where limit_used is linear in small errors, each has the share (sigma slope)^2 of the variance: the law of
 * propagation of uncertainty (JCGM 100:2008, 5.1.2), and Sobol' indices of a linear model. */
START_TEST(of_a_linear_model_each_has_its_share)
{
    static const double sigma[] = {2e-4, 1e-4, 3e-4};
    static const char *const names[] = {"1.38", "2.1", "1.62"};
    const double bias = 5e-5;
    double part[4], sum = 0.0, shares = 0.0;
    bc_yield_result result;
    workshop w;
    open_three_layers(&w, 0.01);
    w.callout[0].from_nm = w.callout[0].to_nm = 480.0; /* one wavelength: no other one becomes the worst */
    for (size_t j = 0; j < 3; j++) {
        workshop_errors(&w, names[j], sigma[j], bias, 0.0);
        part[j] = pow(sigma[j] * slope(&w, j, j), 2.0);
    }
    part[3] = pow(bias * slope(&w, 0, 2), 2.0);
    for (int i = 0; i < 4; i++)
        sum += part[i];
    result = workshop_run(&w);
    ck_assert(!result.influence_of_failure);
    for (size_t i = 0; i < 4; i++) {
        const double influence = result.influence[i < 3 ? i : 6].influence;
        ck_assert_double_gt(part[i] / sum, 0.01);
        ck_assert_double_eq_tol(influence, part[i] / sum, TOLERANCE * part[i] / sum + 0.005);
        shares += influence;
    }
    ck_assert_double_eq_tol(shares, 1.0, 0.06);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

/* Rarely failing, rarely good: then the failures are too few to tell. */
START_TEST(rare_failures_are_not_asked)
{
    static const double used[] = {0.01, 0.98, 1000.0};
    bc_yield_result result;
    workshop w;
    open_three_layers(&w, used[_i]);
    workshop_errors(&w, "*", 0.01, 0.01, 0.01);
    result = workshop_run(&w);
    ck_assert(result.influence_of_failure == (result.yield >= 0.01 && result.yield <= 0.99));
    ck_assert(result.influence_of_failure == (_i == 1));
    for (size_t i = 0; i < 7; i++)
        ck_assert_double_gt(result.influence[i].influence, 0.0);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

/* 4096 runs for each number that changes anything, and once more: here the run and three layers, no index. */
START_TEST(the_work_is_that_of_every_error)
{
    bc_runs *runs;
    workshop w;
    open_three_layers(&w, 0.5);
    workshop_errors(&w, "*", 0.01, 0.01, 0.0);
    ck_assert_int_eq(bc_runs_alloc(&w.problem, &w.stack, &w.process, &w.options, &runs, NULL), BC_OK);
    ck_assert_double_eq(bc_influence_work(runs), 4096.0 * 5.0);
    bc_runs_free(runs);
    workshop_close(&w);
}
END_TEST

TCase *influence_case(void)
{
    TCase *tests = tcase_create("influence");
    tcase_add_loop_test(tests, one_error_alone_has_all_the_influence, 0, 14);
    tcase_add_test(tests, influences_are_told_by_name);
    tcase_add_test(tests, of_a_linear_model_each_has_its_share);
    tcase_add_loop_test(tests, rare_failures_are_not_asked, 0, 3);
    tcase_add_test(tests, the_work_is_that_of_every_error);
    return tests;
}
