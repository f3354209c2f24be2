/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What lies just on a bound: runs that use all of a limit are good, by every way of counting them. A layer of 1e-300 nm
 * has errors and changes nothing, so that every run is the bare surface to the last digit.
 */
#include "doubtful.h"
#include "estimate.h"
#include "runs.h"
#include "scale.h"
#include "workshop.h"
#include <math.h>

/* R of the surface is the limit; a second row asks for less than it has, or for twice as much. */
static void open_bound(workshop *w, double second)
{
    bc_check_result check;
    workshop_open(w, "air", "1.38", "1.52");
    w->stack.layer[0].thickness_nm = 1e-300;
    workshop_ask(w, 0.5, 550.0, 550.0, 0.0);
    workshop_errors(w, "*", 0.01, 0.0, 0.0);
    ck_assert_int_eq(bc_problem_check(&w->problem, &w->stack, &check, NULL), BC_OK);
    w->callout[0].limit = check.finding[0].value;
    ck_assert_double_eq_tol(w->callout[0].limit, pow(0.52 / 2.52, 2.0), 1e-12);
    bc_check_result_clear(&check);
    ck_assert_int_eq(bc_problem_check(&w->problem, &w->stack, &check, NULL), BC_OK);
    ck_assert_double_eq(check.limit_used, 1.0);
    bc_check_result_clear(&check);
    if (second > 0.0)
        workshop_ask(w, second * w->callout[0].limit, 550.0, 550.0, 0.0);
    w->options.runs = 300;
}

START_TEST(runs_that_use_all_of_the_limit_are_good)
{
    workshop w;
    open_bound(&w, 0.0);
    w.options.sigma_for_yield = true;
    bc_yield_result result = workshop_run(&w);
    ck_assert(!result.no_errors && result.limit_used == 1.0);
    ck_assert(result.good == 300 && result.yield == 1.0 && result.fails[0] == 0.0);
    ck_assert(isinf(result.scale_for_95));
    bc_yield_result_clear(&result);
    w.process.row[0].thickness_sigma = 0.0; /* the one run that stands for all */
    result = workshop_run(&w);
    ck_assert(result.no_errors && result.yield == 1.0 && result.good == 300 && isinf(result.scale_for_95));
    bc_yield_result_clear(&result);
    w.callout[0].limit *= 0.75; /* the one run is bad */
    result = workshop_run(&w);
    ck_assert(result.yield == 0.0 && result.good == 0 && result.fails[0] == 1.0 && result.scale_for_95 == 0.0);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

START_TEST(looks_and_estimates_count_them_as_good)
{
    bc_forecast look;
    bc_estimate estimate;
    double own[2], fails[2], factor;
    workshop w;
    open_bound(&w, 2.0);
    ck_assert_int_eq(bc_forecast_limit(&w.problem, &w.stack, &w.process, 0.9, &look, own, NULL), BC_OK);
    ck_assert(look.limit_used == 1.0 && look.yield == 1.0 && look.factor == 1.0 && look.usual_factor == 1.0);
    ck_assert(own[0] == 1.0 && own[1] == 0.5);
    ck_assert_int_eq(bc_estimate_yield(&w.problem, &w.stack, &w.process, 0.5, 2, NULL, &estimate, fails, NULL), BC_OK);
    ck_assert(estimate.yield == 1.0 && estimate.high == 1.0 && fails[0] == 0.0 && fails[1] == 0.0);
    for (size_t c = 0; c < 3; c++) {
        const size_t callout = c == 2 ? BC_NO_CALLOUT : c;
        ck_assert_int_eq(bc_judge_factor(&w.problem, &w.stack, &w.process, 0.9, callout, NULL, &factor, NULL), BC_OK);
        ck_assert_double_eq(factor, c == 1 ? 0.5 : 1.0);
    }
    workshop_close(&w);
}
END_TEST

/* A limit of its own is of use to a row only where all others hold; what is just kept is. */
START_TEST(a_run_in_which_the_others_hold)
{
    const double held[] = {1.0, 3.0, 1.0}, broken[] = {1.0, 3.0, 1.0 + 1e-15};
    ck_assert_double_eq(bc_used_alone(3, held, 1), 3.0);
    ck_assert(isinf(bc_used_alone(3, held, 0)) && isinf(bc_used_alone(3, held, 2)));
    ck_assert(isinf(bc_used_alone(3, broken, 1)));
    ck_assert_double_eq(bc_used_alone(1, held, 0), 1.0);
}
END_TEST

/* Where half of what is asked for is out of reach, and where the bounds leave it out. */
START_TEST(a_factor_where_another_row_fails_in_every_run)
{
    double factor;
    workshop w;
    open_bound(&w, 0.9);
    ck_assert_int_eq(bc_judge_factor(&w.problem, &w.stack, &w.process, 0.9, 0, NULL, &factor, NULL), BC_OK);
    ck_assert(isinf(factor));
    ck_assert_int_eq(bc_judge_factor(&w.problem, &w.stack, &w.process, 0.9, 1, NULL, &factor, NULL), BC_OK);
    ck_assert_double_eq_tol(factor, 1.0 / 0.9, 1e-12);
    workshop_close(&w);
}
END_TEST

TCase *bounds_case(void)
{
    TCase *tests = tcase_create("bounds");
    tcase_add_test(tests, runs_that_use_all_of_the_limit_are_good);
    tcase_add_test(tests, looks_and_estimates_count_them_as_good);
    tcase_add_test(tests, a_run_in_which_the_others_hold);
    tcase_add_test(tests, a_factor_where_another_row_fails_in_every_run);
    return tests;
}
