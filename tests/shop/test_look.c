/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Looks and estimates of one layer with one error, whose yield and quantiles are elementary: R grows with the distance
 * from the quarter wave, and the distance is a normal number.
 */
#include "doubtful.h"
#include "estimate.h"
#include "response.h"
#include "workshop.h"
#include <gsl/gsl_cdf.h>
#include <math.h>

#define INDEX   1.38
#define GLASS   1.52
#define NM      550.0
#define QUARTER (NM / (4.0 * INDEX))
#define SIGMA   0.06

static double R_off(double off)
{
    return one_layer(INDEX, GLASS, QUARTER * (1.0 + off), NM);
}

/* Off by so much from the quarter wave R is at the limit; a second row that `second` times as much R would break. */
static void open(workshop *w, double reach, double sigma, double second)
{
    workshop_open(w, "air", "1.38", "1.52");
    w->stack.layer[0].thickness_nm = QUARTER;
    workshop_ask(w, R_off(reach), NM, NM, 0.0);
    if (second > 0.0)
        workshop_ask(w, second * R_off(reach), NM, NM, 0.0);
    workshop_errors(w, "*", sigma, 0.0, 0.0);
}

static double share_within(double off, double sigma)
{
    return 1.0 - 2.0 * normal_below(-off / sigma);
}

static double quantile_of_R(double share, double sigma)
{
    return R_off(sigma * gsl_cdf_ugaussian_Pinv((1.0 + share) / 2.0));
}

/* The share of 1500 runs, and the quantiles between those that two standard errors more and less would have. The row
 * that hardly ever fails has a factor of its own, unless the other fails too often. */
START_TEST(a_look_at_one_layer)
{
    static const double asked[] = {0.5, 0.8, 0.95};
    const double reach = 0.1, share = share_within(reach, SIGMA), limit = R_off(reach);
    for (size_t i = 0; i < 3; i++) {
        const double off = 2.0 * sqrt(asked[i] * (1.0 - asked[i]) / 1500.0);
        double own[2];
        bc_forecast look;
        workshop w;
        open(&w, reach, SIGMA, 1.5);
        ck_assert_int_eq(bc_forecast_limit(&w.problem, &w.stack, &w.process, asked[i], &look, own, NULL), BC_OK);
        ck_assert_double_eq_tol(look.limit_used, R_off(0.0) / limit, 1e-9);
        ck_assert_double_eq_tol(look.yield, share, 3.0 * sqrt(share * (1.0 - share) / 1500.0));
        ck_assert_double_ge(look.factor, quantile_of_R(asked[i] - off, SIGMA) / limit - 0.002);
        ck_assert_double_le(look.factor, quantile_of_R(asked[i] + off, SIGMA) / limit + 0.002);
        ck_assert_double_ge(look.usual_factor, quantile_of_R(0.88, SIGMA) / limit);
        ck_assert_double_le(look.usual_factor, quantile_of_R(0.92, SIGMA) / limit);
        ck_assert_double_eq(own[0], look.factor);
        if (asked[i] < share)
            ck_assert_double_eq_tol(own[1], look.factor / 1.5, 1e-12);
        else
            ck_assert(isinf(own[1]));
        workshop_close(&w);
    }
}
END_TEST

/* No limit is met by less than the design itself takes, however few runs are to be good. */
START_TEST(no_factor_is_below_that_of_the_design)
{
    bc_forecast look;
    double factor, own;
    workshop w;
    open(&w, 0.1, SIGMA, 0.0);
    w.stack.layer[0].thickness_nm = 1.2 * QUARTER; /* half of the runs are better */
    ck_assert_int_eq(bc_forecast_limit(&w.problem, &w.stack, &w.process, 0.3, &look, NULL, NULL), BC_OK);
    ck_assert_double_eq_tol(look.limit_used, R_off(0.2) / R_off(0.1), 1e-9);
    ck_assert_double_eq(look.factor, look.limit_used);
    ck_assert_double_gt(look.usual_factor, 1.05 * look.limit_used);
    w.stack.layer[0].thickness_nm = 2.0 * QUARTER; /* all of them are */
    ck_assert_int_eq(bc_forecast_limit(&w.problem, &w.stack, &w.process, 0.3, &look, NULL, NULL), BC_OK);
    ck_assert_double_eq(look.usual_factor, look.limit_used);
    w.stack.layer[0].thickness_nm = 1.2 * QUARTER;
    ck_assert_int_eq(bc_judge_factor(&w.problem, &w.stack, &w.process, 0.3, BC_NO_CALLOUT, NULL, &factor, NULL), BC_OK);
    ck_assert_double_eq_tol(factor, R_off(0.2) / R_off(0.1), 1e-9);
    ck_assert_int_eq(bc_judge_factor(&w.problem, &w.stack, &w.process, 0.3, 0, NULL, &own, NULL), BC_OK);
    ck_assert_double_lt(own, 0.95 * factor);
    workshop_close(&w);
}
END_TEST

/* Of 4000 runs that the engine judges. */
START_TEST(the_factor_that_many_runs_give)
{
    static const double asked[] = {0.5, 0.8, 0.95};
    const double limit = R_off(0.1);
    for (size_t i = 0; i < 3; i++) {
        const double off = 3.0 * sqrt(asked[i] * (1.0 - asked[i]) / 4000.0);
        double factor;
        workshop w;
        open(&w, 0.1, SIGMA, 0.0);
        ck_assert_int_eq(
            bc_judge_factor(&w.problem, &w.stack, &w.process, asked[i], BC_NO_CALLOUT, NULL, &factor, NULL), BC_OK);
        ck_assert_double_ge(factor, quantile_of_R(asked[i] - off, SIGMA) / limit);
        ck_assert_double_le(factor, quantile_of_R(asked[i] + off, SIGMA) / limit);
        workshop_close(&w);
    }
}
END_TEST

/* What is asked for ends it: after 256 judged runs where it is out of reach, after 1024 where the interval leaves it
 * out, else after 8192. However many threads. */
START_TEST(an_estimate_of_one_layer)
{
    static const struct {
        double reach, asked;
        size_t runs, predicted;
    } stage[] = {{0.02, 0.9, 256, 4096},      {0.04, 0.9, 1024, 20480},     {0.1, 0.5, 1024, 20480},
                 {0.1, 0.9044, 8192, 160768}, {0.02, 0.2611, 8192, 160768}, {0.035, 2.0, 256, 4096},
                 {0.06, 2.0, 1024, 20480},    {0.3, 0.5, 1024, 20480}};
    const double share = share_within(stage[_i].reach, SIGMA);
    bc_estimate estimate[3];
    double fails[2];
    workshop w;
    open(&w, stage[_i].reach, SIGMA, 1.5);
    for (size_t t = 0; t < 3; t++)
        ck_assert_int_eq(bc_estimate_yield(&w.problem, &w.stack, &w.process, stage[_i].asked, t + 1, NULL, &estimate[t],
                                           fails, NULL),
                         BC_OK);
    ck_assert_double_eq_tol(estimate[0].yield, share, estimate[0].high - estimate[0].low);
    ck_assert_uint_eq(estimate[0].runs, stage[_i].runs);
    ck_assert_uint_eq(estimate[0].predicted, stage[_i].predicted);
    ck_assert_double_eq_tol(fails[0], 1.0 - share, 4.0 * sqrt(share * (1.0 - share) / (double)estimate[0].runs));
    ck_assert(fails[1] < fails[0] || fails[0] == 0.0);
    ck_assert(estimate[0].low >= 0.0 && estimate[0].high <= 1.0);
    for (size_t t = 1; t < 3; t++) {
        ck_assert_double_eq(estimate[t].yield, estimate[0].yield);
        ck_assert_double_eq(estimate[t].low, estimate[0].low);
        ck_assert_double_eq(estimate[t].high, estimate[0].high);
    }
    workshop_close(&w);
}
END_TEST

/* Errors that a quadratic does not follow: the share it predicts of many runs, and by how much fewer that are judged
 * say that it is wrong, each counted here with an interval of its own; the three are independent, so that they add as
 * squares. */
START_TEST(the_interval_is_that_of_three_counts)
{
    const bc_yield_options options = {.runs = 1, .seed = BC_LOOK_STREAM, .threads = 1};
    size_t good = 0, too_bad = 0, too_good = 0;
    double low[3], high[3];
    bc_estimate estimate;
    bc_response response;
    bc_response_scratch scratch;
    bc_runs *runs;
    workshop w;
    open(&w, 0.33, 0.5, 0.0);
    w.row[0].thickness_sigma = _i == 0 ? 0.5 : 0.9;
    ck_assert_int_eq(bc_runs_alloc(&w.problem, &w.stack, &w.process, &options, &runs, NULL), BC_OK);
    ck_assert_int_eq(bc_response_fit(runs, &response, NULL), BC_OK);
    ck_assert_int_eq(bc_response_scratch_alloc(&response, &scratch, NULL), BC_OK);
    ck_assert_int_eq(bc_estimate_yield(&w.problem, &w.stack, &w.process, 2.0, 2, NULL, &estimate, NULL, NULL), BC_OK);
    const size_t predicted_runs = estimate.predicted, judged_runs = estimate.runs;
    for (size_t run = 0; run < predicted_runs; run++) {
        bc_run_draw(&runs->worker[0], BC_FOR_YIELD, run, scratch.draw);
        const bool predicted = bc_response_predict(&response, &scratch) <= 1.0;
        const bool holds = bc_run_judge(&runs->worker[0], scratch.draw, 1.0) <= 1.0;
        good += predicted;
        too_bad += run < judged_runs && holds && !predicted;
        too_good += run < judged_runs && predicted && !holds;
    }
    ck_assert_uint_gt(too_bad + too_good, 5);
    bc_proportion_interval(good, predicted_runs, 0.95, &low[0], &high[0]);
    bc_proportion_interval(too_bad, judged_runs, 0.95, &low[1], &high[1]);
    bc_proportion_interval(too_good, judged_runs, 0.95, &low[2], &high[2]);
    const double share[3] = {(double)good / (double)predicted_runs, (double)too_bad / (double)judged_runs,
                             (double)too_good / (double)judged_runs};
    const double yield = fmax(share[0] + share[1] - share[2], 0.0);
    const double below = pow(share[0] - low[0], 2.0) + pow(share[1] - low[1], 2.0) + pow(high[2] - share[2], 2.0);
    const double above = pow(high[0] - share[0], 2.0) + pow(high[1] - share[1], 2.0) + pow(share[2] - low[2], 2.0);
    ck_assert_double_eq_tol(estimate.yield, yield, 1e-12);
    ck_assert_double_eq_tol(estimate.low, fmax(yield - sqrt(below), 0.0), 1e-12);
    ck_assert_double_eq_tol(estimate.high, fmin(yield + sqrt(above), 1.0), 1e-12);
    bc_response_scratch_free(&scratch);
    bc_response_clear(&response);
    bc_runs_free(runs);
    workshop_close(&w);
}
END_TEST

static bool never(void *context, double fraction, double limit_used)
{
    (void)context;
    (void)fraction;
    (void)limit_used;
    return false;
}

/* Once it is to stop, nothing was seen. */
START_TEST(a_stop_leaves_nothing_known)
{
    bc_watch watch = {.progress = never};
    bc_thread_watch mine = {&watch, true};
    bc_estimate estimate;
    double factor, fails = -1.0;
    workshop w;
    open(&w, 0.1, SIGMA, 0.0);
    ck_assert_int_eq(bc_estimate_yield(&w.problem, &w.stack, &w.process, 0.9, 2, &mine, &estimate, &fails, NULL),
                     BC_OK);
    ck_assert(isnan(estimate.yield) && isnan(estimate.low) && isnan(estimate.high));
    ck_assert(estimate.runs == 0 && estimate.predicted == 0 && fails == -1.0);
    ck_assert_int_eq(bc_judge_factor(&w.problem, &w.stack, &w.process, 0.9, BC_NO_CALLOUT, &mine, &factor, NULL),
                     BC_OK);
    ck_assert(isinf(factor));
    workshop_close(&w);
}
END_TEST

/* Without errors the design is the one run. */
START_TEST(without_errors_the_design_is_all)
{
    bc_estimate estimate;
    bc_forecast look;
    double factor, own[2];
    workshop w;
    open(&w, 0.1, 0.0, 0.5);
    w.stack.layer[0].thickness_nm = 1.05 * QUARTER;
    ck_assert_int_eq(bc_forecast_limit(&w.problem, &w.stack, &w.process, 0.9, &look, own, NULL), BC_OK);
    ck_assert_double_eq_tol(look.limit_used, R_off(0.05) / (0.5 * R_off(0.1)), 1e-9);
    ck_assert(look.factor == look.limit_used && look.usual_factor == look.limit_used && isnan(look.yield));
    ck_assert_double_eq_tol(own[1], look.limit_used, 1e-12);
    ck_assert_int_eq(bc_estimate_yield(&w.problem, &w.stack, &w.process, 0.9, 1, NULL, &estimate, NULL, NULL), BC_OK);
    ck_assert(isnan(estimate.yield) && isnan(estimate.low) && isnan(estimate.high) && estimate.runs == 0);
    ck_assert_int_eq(bc_judge_factor(&w.problem, &w.stack, &w.process, 0.9, BC_NO_CALLOUT, NULL, &factor, NULL), BC_OK);
    ck_assert_double_eq_tol(factor, look.limit_used, 1e-9);
    workshop_close(&w);
}
END_TEST

TCase *look_case(void)
{
    TCase *tests = tcase_create("look");
    tcase_add_test(tests, a_look_at_one_layer);
    tcase_add_test(tests, no_factor_is_below_that_of_the_design);
    tcase_add_test(tests, the_factor_that_many_runs_give);
    tcase_add_loop_test(tests, an_estimate_of_one_layer, 0, 8);
    tcase_add_loop_test(tests, the_interval_is_that_of_three_counts, 0, 2);
    tcase_add_test(tests, a_stop_leaves_nothing_known);
    tcase_add_test(tests, without_errors_the_design_is_all);
    return tests;
}
