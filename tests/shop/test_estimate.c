/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Yields by a response surface against runs that the engine judges,.
 */
#include "estimate.h"
#include "inquiry.h"
#include <math.h>

#define RUNS MANY_OR_FEW(40000, 8000)

/* The design that a quote of these callouts recommends, to be looked at from outside. */
static bc_stack recommended(const inquiry *q)
{
    bc_quote_result result = ask(q);
    bc_stack stack;
    ck_assert_int_eq(bc_stack_copy(&result.option[result.recommended].stack, &stack, NULL), BC_OK);
    bc_quote_result_clear(&result);
    return stack;
}

/* Other runs, judged one by one: the estimate's interval and theirs overlap as two 95 % intervals must (4 standard
 * errors), and the estimate's is the narrower although it judged fewer. */
START_TEST(an_estimate_agrees_with_many_runs)
{
    const double limit[] = {0.0101, 0.0105, 0.012};
    bc_yield_options options = {.runs = RUNS, .seed = 4711, .threads = 2};
    bc_estimate estimate;
    bc_yield_result plain;
    bc_forecast forecast;
    bc_stack stack;
    double fails = -1.0;
    inquiry q;
    open_runs(&q, limit[_i]);
    stack = recommended(&q);
    ck_assert_int_eq(bc_estimate_yield(&q.w.problem, &stack, &q.w.process, 2.0, 2, NULL, &estimate, &fails, NULL),
                     BC_OK);
    ck_assert_int_eq(bc_yield(&q.w.problem, &stack, &q.w.process, &options, &plain, NULL), BC_OK);
    const double sigma = sqrt(plain.yield * (1.0 - plain.yield) / RUNS), own = (estimate.high - estimate.low) / 4.0;
    ck_assert_double_eq_tol(estimate.yield, plain.yield, 4.0 * hypot(sigma, own));
    ck_assert(plain.yield > 0.1 && plain.yield < 0.99);
    ck_assert_double_lt(estimate.high - estimate.low,
                        4.0 * sqrt(plain.yield * (1.0 - plain.yield) / (double)estimate.runs));
    ck_assert_double_eq_tol(fails, 1.0 - plain.yield, 0.06);
    ck_assert_int_eq(bc_forecast_limit(&q.w.problem, &stack, &q.w.process, 0.9, &forecast, NULL, NULL), BC_OK);
    ck_assert_double_eq_tol(forecast.yield, plain.yield, 0.03);
    bc_yield_result_clear(&plain);
    bc_stack_clear(&stack);
    workshop_close(&q.w);
}
END_TEST

/* With the limit times its factor the share asked for is good, and with 3 % less it is not: by other runs. */
START_TEST(a_factor_gives_the_share_asked_for)
{
    bc_yield_options options = {.runs = RUNS, .seed = 4711, .threads = 2};
    bc_yield_result runs;
    bc_stack stack;
    double factor, own;
    inquiry q;
    open_runs(&q, 0.003);
    stack = recommended(&q);
    if (_i == 0) {
        bc_forecast forecast;
        ck_assert_int_eq(bc_forecast_limit(&q.w.problem, &stack, &q.w.process, 0.9, &forecast, &own, NULL), BC_OK);
        factor = forecast.factor;
    } else {
        ck_assert_int_eq(bc_judge_factor(&q.w.problem, &stack, &q.w.process, 0.9, BC_NO_CALLOUT, NULL, &factor, NULL),
                         BC_OK);
        ck_assert_int_eq(bc_judge_factor(&q.w.problem, &stack, &q.w.process, 0.9, 0, NULL, &own, NULL), BC_OK);
    }
    ck_assert_double_eq(factor, own); /* there is but one callout */
    q.w.callout[0].limit = 0.003 * factor * 1.03;
    ck_assert_int_eq(bc_yield(&q.w.problem, &stack, &q.w.process, &options, &runs, NULL), BC_OK);
    ck_assert_double_gt(runs.yield, 0.9);
    bc_yield_result_clear(&runs);
    q.w.callout[0].limit = 0.003 * factor * 0.97;
    ck_assert_int_eq(bc_yield(&q.w.problem, &stack, &q.w.process, &options, &runs, NULL), BC_OK);
    ck_assert_double_lt(runs.yield, 0.9);
    bc_yield_result_clear(&runs);
    bc_stack_clear(&stack);
    workshop_close(&q.w);
}
END_TEST

START_TEST(without_errors_there_is_no_yield)
{
    bc_estimate estimate;
    bc_stack stack;
    bc_forecast forecast;
    inquiry q;
    open_runs(&q, 0.01);
    stack = recommended(&q);
    ck_assert_int_eq(bc_estimate_yield(&q.w.problem, &stack, NULL, 0.9, 1, NULL, &estimate, NULL, NULL), BC_OK);
    ck_assert(isnan(estimate.yield) && isnan(estimate.low));
    ck_assert_int_eq(bc_forecast_limit(&q.w.problem, &stack, NULL, 0.9, &forecast, NULL, NULL), BC_OK);
    ck_assert(isnan(forecast.yield));
    ck_assert_double_eq(forecast.factor, forecast.limit_used);
    bc_stack_clear(&stack);
    workshop_close(&q.w);
}
END_TEST

/* The same question with 20 seeds, asked for a yield so near to what the design has that runs of any one seed would be
 * a toss-up: one verdict. */
START_TEST(no_seed_changes_the_verdict)
{
    bc_quote_result result;
    bc_feasibility first = BC_FEASIBLE;
    double highest = 0.0;
    inquiry q;
    open_runs(&q, 0.0105);
    q.request.effort = 0.1;
    q.request.prefer = BC_PREFER_YIELD;
    result = ask(&q);
    for (size_t o = 0; o < result.options; o++)
        highest = fmax(highest, result.option[o].yield);
    q.request.yield = highest + (_i == 0 ? -0.008 : 0.03);
    bc_quote_result_clear(&result);
    for (unsigned long seed = 1; seed <= (_i == 0 ? MANY_OR_FEW(20, 2) : MANY_OR_FEW(5, 1)); seed++) {
        q.request.seed = seed;
        const bc_feasibility verdict = verdict_of(&q);
        if (seed == 1)
            first = verdict;
        ck_assert_int_eq(verdict, first);
    }
    ck_assert_msg(first == (_i == 0 ? BC_FEASIBLE : BC_MARGINAL), "%g asked: %d", q.request.yield, (int)first);
    workshop_close(&q.w);
}
END_TEST

/* More layers never make the answer worse: verdict, then expected hours. */
START_TEST(more_layers_are_never_worse)
{
    const bc_chamber chamber = {.has_load_diameter = true,
                                .load_diameter_mm = 300.0,
                                .has_pump_down = true,
                                .pump_down_min = 120.0,
                                .has_between_layers = true,
                                .between_layers_s = 60.0};
    int verdict = BC_NOT_FEASIBLE;
    double hours = INFINITY;
    inquiry q;
    open_runs(&q, _i == 0 ? 0.012 : 0.02);
    q.w.row[0].has_rate = q.w.process.has_rate = true;
    q.w.row[0].rate_nm_per_s = 0.5;
    q.request.chamber = &chamber;
    q.request.quantity = 300;
    q.request.part_diameter_mm = 50.0;
    for (size_t layers = 1; layers <= MANY_OR_FEW(6, 3); layers++) {
        bc_quote_result result;
        q.w.problem.max_layers = layers;
        result = ask(&q);
        const bc_quote_option *option = &result.option[result.recommended];
        ck_assert_int_le(result.verdict, verdict);
        if (result.verdict == BC_FEASIBLE && verdict == BC_FEASIBLE)
            ck_assert_double_le(option->expected_hours, hours * 1.005);
        for (size_t o = 0; o < result.options && result.verdict == BC_FEASIBLE; o++)
            if (result.option[o].limit_used <= 1.0 && result.option[o].yield >= q.request.yield)
                ck_assert_double_le(option->expected_hours, result.option[o].expected_hours + 0.05);
        verdict = result.verdict;
        hours = option->expected_hours;
        bc_quote_result_clear(&result);
    }
    ck_assert_int_eq(verdict, BC_FEASIBLE);
    workshop_close(&q.w);
}
END_TEST

TCase *estimate_case(void)
{
    TCase *tests = tcase_create("estimate");
    tcase_add_loop_test(tests, an_estimate_agrees_with_many_runs, 0, 3);
    tcase_add_loop_test(tests, a_factor_gives_the_share_asked_for, 0, 2);
    tcase_add_test(tests, without_errors_there_is_no_yield);
    tcase_add_loop_test(tests, no_seed_changes_the_verdict, 0, MANY_OR_FEW(2, 1));
    tcase_add_loop_test(tests, more_layers_are_never_worse, 0, 2);
    return tests;
}
