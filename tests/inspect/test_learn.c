/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a history of runs says of the chamber. How often the intervals hold the truth: tests/histories.
 */
#include "history.h"
#include "learn.h"
#include "out_of_memory.h"
#include <bloomcoat/control.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <string.h>

#define RUNS   24
#define LONGER 30

static bench b;
static bc_inspect_result pattern;
static bc_process_row row = {.material = "*",
                             .has_thickness_sigma = true,
                             .thickness_sigma = 0.01,
                             .has_run_thickness_sigma = true,
                             .run_thickness_sigma = 0.01,
                             .has_tooling = true,
                             .tooling = 1.1};
static const bc_process process = {
    .rows = 1, .row = &row, .has_tooling = true, .has_thickness_sigma = true, .has_run_thickness_sigma = true};

static void open(void)
{
    bench_open(&b, "1.52", 6, six_index, six_nm);
    pattern = history_pattern(&b, 2e-4);
}

static void close(void)
{
    bc_inspect_result_clear(&pattern);
    bench_close(&b);
}

static bc_learn_result learn(bc_learn_run *run, size_t runs)
{
    bc_learn_result result;
    bc_error error = {0};
    ck_assert_msg(bc_learn(runs, run, &process, &result, &error) == BC_OK, "%s", error.message);
    return result;
}

static void within(bc_interval interval, double was)
{
    ck_assert_msg(interval.low <= was && was <= interval.high && interval.low < interval.high, "%g to %g, not %g",
                  interval.low, interval.high, was);
}

START_TEST(a_history_is_learned)
{
    const history_truth was = {
        .off = {0.04, 0.0}, .within = {0.006, 0.01}, .between_runs = 0.012, .between_layers = 0.003, .index = 0.006};
    bc_learn_result result;
    open();
    bc_learn_run *run = history_make(&b, &pattern, &was, RUNS);
    result = learn(run, RUNS);
    ck_assert_uint_eq(result.materials, 2);
    ck_assert_uint_eq(result.designs, 1);
    ck_assert_str_eq(result.material[0].name, b.design.layer[0].material.name);
    within(result.material[0].factor, 1.04);
    within(result.material[1].factor, 1.0);
    within(result.material[0].within.sigma, 0.006);
    within(result.material[1].within.sigma, 0.01);
    within(result.between_runs.sigma, 0.012);
    within(result.material[0].index_sigma, 0.006);
    ck_assert(!result.material[0].drift.drifts && !result.material[1].drift.drifts);
    ck_assert(result.material[0].tooling_known);
    ck_assert_double_eq_tol(result.material[0].next_tooling, 1.1 * result.material[0].correction, 1e-12);
    ck_assert(result.material[0].correction > 1.02 && result.material[1].correction == 1.0);
    const bc_process_row learned = bc_process_for(&result.process, result.material[0].name);
    ck_assert_double_eq(learned.run_thickness_sigma, result.between_runs.sigma.value);
    ck_assert_double_eq(learned.index_sigma, result.material[0].index_sigma.value);
    ck_assert_double_ge(learned.thickness_sigma, result.material[0].within.sigma.value);
    /* What each figure is worth: three layers of a run say more of a layer's scatter than of the run's. The tooling is
     * known as by the average of so many runs, less for what layers are always off by. */
    ck_assert_double_eq(learned.runs.counted, RUNS);
    ck_assert(learned.runs.run_thickness_sigma > 0.6 * RUNS && learned.runs.run_thickness_sigma < 1.6 * RUNS);
    ck_assert_double_gt(bc_process_for(&result.process, result.material[1].name).runs.thickness_sigma,
                        learned.runs.run_thickness_sigma);
    ck_assert(learned.runs.tooling > 5.0 && learned.runs.tooling < 1.6 * RUNS);
    ck_assert_double_ge(learned.runs.index_sigma, 10.0);
    /* 24 runs know the run's scatter to +-30 %, and a layer's, of which each has three, better */
    ck_assert_uint_gt(result.between_runs.runs_needed, 40);
    ck_assert_uint_lt(result.between_runs.runs_needed, 120);
    ck_assert_uint_lt(result.material[1].within.runs_needed, result.between_runs.runs_needed);
    bc_learn_result_clear(&result);
    history_clear(RUNS, run);
    close();
}
END_TEST

START_TEST(a_drift_is_found)
{
    const history_truth was = {
        .line = {0.03, 0.0}, .within = {0.005, 0.005}, .between_runs = 0.004, .between_layers = 0.001};
    bc_learn_result result;
    open();
    gsl_rng_set(b.random, 7); /* of 20 histories one is not held by its interval, and the first was such a one */
    bc_learn_run *run = history_make(&b, &pattern, &was, LONGER);
    result = learn(run, LONGER);
    ck_assert(result.material[0].drift.drifts && !result.material[1].drift.drifts);
    within(result.material[0].drift.change, 0.03);
    bc_learn_result_clear(&result);
    history_clear(LONGER, run);
    close();
}
END_TEST

/* Runs that were made with another tooling count for what they would have been with the reference's. */
START_TEST(another_tooling_is_known)
{
    const history_truth was = {.within = {0.004, 0.004}, .between_runs = 0.004};
    bc_learn_result result;
    open();
    bc_learn_run *run = history_make(&b, &pattern, &was, RUNS);
    for (size_t r = 0; r < RUNS; r++)
        for (size_t j = 0; j < run[r].layers; j++)
            run[r].layer[j].tooling = r % 2 == 0 ? 1.1 : 1.1 * 1.05;
    /* the thicknesses do not know of it: the true tooling is 2.5 % above on average, and half the runs are off */
    result = learn(run, RUNS);
    within(result.material[0].factor, 1.025);
    ck_assert_double_gt(result.between_runs.sigma.value, 0.02);
    bc_learn_result_clear(&result);
    history_clear(RUNS, run);
    close();
}
END_TEST

/* Minus the log likelihood with two of the logarithms moved by so many `step`. */
static double moved(bc_learn_fit *fit, const gsl_vector *best, size_t i, double by_i, size_t k, double by_k)
{
    const double step = 0.02;
    double value;
    gsl_vector *at = gsl_vector_alloc(best->size);
    gsl_vector_memcpy(at, best);
    *gsl_vector_ptr(at, i) += step * by_i;
    *gsl_vector_ptr(at, k) += step * by_k;
    value = bc_learn_objective(at, fit) / (step * step);
    gsl_vector_free(at);
    return value;
}

/* Of few runs, whose scatters are hard to tell apart: the variances are the diagonal of the inverse of the second
 * derivatives (of any likelihood: Pawitan, In All Likelihood, ch. 9; from memory); here by
 * other differences, and LU. */
START_TEST(variances_are_those_of_the_curvature)
{
    const history_truth was = {.within = {0.01, 0.01}, .between_runs = 0.005, .between_layers = 0.005};
    bc_learn_result result = {0};
    bc_learn_fit fit = {0};
    bc_error error = {0};
    double variance[4], most = 0.0;
    int sign;
    open();
    bc_learn_run *run = history_make(&b, &pattern, &was, 6);
    result.runs = 6;
    ck_assert_int_eq(bc_learn_set_up(6, run, &process, &fit, &result, &error), BC_OK);
    ck_assert_int_eq(bc_learn_fit_room(&fit, &error), BC_OK);
    const size_t size = bc_learn_sigmas(&fit);
    ck_assert_uint_eq(size, 4);
    gsl_vector *best = gsl_vector_alloc(size);
    gsl_matrix *H = gsl_matrix_alloc(size, size), *inverse = gsl_matrix_alloc(size, size);
    gsl_permutation *order = gsl_permutation_alloc(size);
    ck_assert_int_eq(bc_learn_search(&fit, best, &error), BC_OK);
    for (size_t i = 0; i < size; i++)
        for (size_t k = 0; k < size; k++)
            gsl_matrix_set(H, i, k,
                           i == k ? moved(&fit, best, i, 1.0, i, 0.0) + moved(&fit, best, i, -1.0, i, 0.0) -
                                        2.0 * moved(&fit, best, i, 0.0, i, 0.0)
                                  : 0.5 * (moved(&fit, best, i, 1.0, k, 1.0) + moved(&fit, best, i, -1.0, k, -1.0) +
                                           2.0 * moved(&fit, best, i, 0.0, k, 0.0) - moved(&fit, best, i, 1.0, k, 0.0) -
                                           moved(&fit, best, i, -1.0, k, 0.0) - moved(&fit, best, i, 0.0, k, 1.0) -
                                           moved(&fit, best, i, 0.0, k, -1.0)));
    for (size_t i = 0; i < size; i++)
        for (size_t k = 0; k < i; k++)
            most = fmax(most, fabs(gsl_matrix_get(H, i, k)) / sqrt(gsl_matrix_get(H, i, i) * gsl_matrix_get(H, k, k)));
    ck_assert_double_gt(most, 0.1);
    gsl_linalg_LU_decomp(H, order, &sign);
    gsl_linalg_LU_invert(H, order, inverse);
    ck_assert_int_eq(bc_learn_variances(&fit, best, variance, &error), BC_OK);
    for (size_t i = 0; i < size; i++)
        ck_assert_double_eq_tol(variance[i] / gsl_matrix_get(inverse, i, i), 1.0, 0.005);
    gsl_permutation_free(order);
    gsl_matrix_free(inverse);
    gsl_matrix_free(H);
    gsl_vector_free(best);
    bc_learn_fit_clear(&fit);
    bc_learn_clear_parts(&fit, 6);
    bc_learn_result_clear(&result);
    history_clear(6, run);
    close();
}
END_TEST

/* Which layers a run makes thinner where it makes the others thicker, and with which tooling. */
START_TEST(a_run_knows_the_process_it_was_made_with)
{
    bc_process_row rows[2] = {row, row};
    const bc_process with = {.rows = 2, .row = rows, .has_tooling = true, .has_run_thickness_sigma = true};
    bc_learn_run one;
    bc_error error = {0};
    bool does_count = false;
    open();
    strcpy(rows[1].material, b.design.layer[1].material.name);
    rows[1].run_thickness_sigma = -0.01;
    rows[1].tooling = 0.9;
    b.setup.process = &with;
    ck_assert_int_eq(bc_learn_run_from(&pattern, &b.setup, &one, &does_count, &error), BC_OK);
    ck_assert(does_count);
    for (size_t j = 0; j < one.layers; j++) {
        ck_assert_int_eq(one.layer[j].against, j % 2 == 1);
        ck_assert_double_eq(one.layer[j].tooling, j % 2 == 1 ? 0.9 : 1.1);
    }
    bc_learn_run_clear(&one);
    close();
}
END_TEST

/* Three runs of one layer of each of two materials, each known by itself: what is not known of a factor is Student's t
 * of two degrees of freedom, 4.303 standard errors for 95 %. */
START_TEST(a_factor_of_three_runs)
{
    const history_truth was = {.within = {0.004, 0.004}, .between_runs = 0.004};
    bc_learn_result result;
    open();
    bc_learn_run *run = history_make(&b, &pattern, &was, 3);
    for (size_t r = 0; r < 3; r++) {
        run[r].layers = 2;
        for (size_t j = 0; j < 2; j++) {
            run[r].information[2 * j] = run[r].information[2 * j + 1] = 0.0;
            run[r].information[3 * j] = 400.0;
            run[r].pull[j] = 400.0 * run[r].layer[j].design_nm * (1.0 + 0.01 * (double)r + 0.004 * (double)j);
        }
    }
    result = learn(run, 3);
    ck_assert_uint_eq(result.designs, 1);
    ck_assert(!result.layers_known && !result.drift_known);
    for (size_t m = 0; m < 2; m++) {
        const bc_interval factor = result.material[m].factor;
        const double error = sqrt(result.material[m].factor_variance);
        ck_assert(factor.value > 1.005 && factor.value < 1.02);
        ck_assert_double_eq_tol((factor.high - factor.value) / error, 4.30265, 1e-4);
        ck_assert_double_eq_tol((factor.value - factor.low) / error, 4.30265, 1e-4);
    }
    bc_learn_result_clear(&result);
    history_clear(3, run);
    close();
}
END_TEST

/* The same layers but for one, which is missing, thicker or of the other material, are another design. */
START_TEST(designs_differ_by_their_layers)
{
    const history_truth was = {.within = {0.004, 0.004}, .between_runs = 0.004};
    bc_learn_result result = {0};
    bc_learn_fit fit = {0};
    open();
    bc_learn_run *run = history_make(&b, &pattern, &was, 5);
    run[1].layers--;
    run[2].layer[3].design_nm += 0.5;
    strcpy(run[3].layer[2].material, run[3].layer[1].material);
    ck_assert_int_eq(bc_learn_set_up(5, run, &process, &fit, &result, NULL), BC_OK);
    ck_assert_uint_eq(result.designs, 4);
    ck_assert_uint_eq(fit.columns, 6 + 5 + 6 + 6);
    for (size_t j = 0; j < 6; j++)
        ck_assert_uint_eq(fit.part[4].column[j], fit.part[0].column[j]);
    bc_learn_clear_parts(&fit, 5);
    bc_learn_result_clear(&result);
    history_clear(5, run);
    close();
}
END_TEST

START_TEST(too_few_runs)
{
    const history_truth was = {.within = {0.004, 0.004}, .between_runs = 0.004};
    bc_learn_result result;
    bc_error error = {0};
    open();
    bc_learn_run *run = history_make(&b, &pattern, &was, BC_LEARN_LEAST);
    ck_assert_int_eq(bc_learn(BC_LEARN_LEAST - 1, run, &process, &result, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "found 2 runs that fit"));
    result = learn(run, BC_LEARN_LEAST);
    ck_assert(!result.drift_known);
    bc_learn_result_clear(&result);
    history_clear(BC_LEARN_LEAST, run);
    close();
}
END_TEST

typedef struct scarce {
    size_t runs;
    bc_learn_run *run;
} scarce;

/* A run out of its inspection, what a history says, and a chart. */
static bc_status learn_in_scarce_memory(void *context, bc_error *error)
{
    static double value[] = {1.0, 1.1, 1.0, 1.2, 1.0};
    static size_t number[] = {0, 1, 2, 3, 4};
    const bc_control_series series = {.limit = NAN, .count = 5, .value = value, .run = number};
    const scarce *s = context;
    bc_learn_run one;
    bc_learn_result result = {0};
    bc_control_chart chart = {0};
    bool does_count = false;
    bc_status status = bc_learn_run_from(&pattern, &b.setup, &one, &does_count, error);
    expect_memory_error(status == BC_OK ? does_count : one.layer == NULL);
    bc_learn_run_clear(&one);
    if (status == BC_OK)
        status = bc_learn(s->runs, s->run, &process, &result, error);
    expect_memory_error(status == BC_OK || (result.material == NULL && result.process.row == NULL));
    if (status == BC_OK)
        status = bc_control_chart_make(&series, 0, &chart, error);
    expect_memory_error(status == BC_OK || (chart.alarm == NULL && chart.moving == NULL));
    bc_control_chart_clear(&chart);
    bc_learn_result_clear(&result);
    return status;
}

START_TEST(scarce_memory)
{
    const history_truth was = {
        .within = {0.005, 0.005}, .between_runs = 0.004, .between_layers = 0.001, .index = 0.005};
    scarce s = {.runs = 5};
    open();
    s.run = history_make(&b, &pattern, &was, s.runs);
    ck_assert_uint_gt(fail_each_allocation(learn_in_scarce_memory, &s), 20);
    history_clear(s.runs, s.run);
    close();
}
END_TEST

TCase *learn_case(void)
{
    TCase *tests = tcase_create("learn");
    tcase_add_test(tests, a_history_is_learned);
    tcase_add_test(tests, a_drift_is_found);
    tcase_add_test(tests, another_tooling_is_known);
    tcase_add_test(tests, variances_are_those_of_the_curvature);
    tcase_add_test(tests, a_run_knows_the_process_it_was_made_with);
    tcase_add_test(tests, a_factor_of_three_runs);
    tcase_add_test(tests, designs_differ_by_their_layers);
    tcase_add_test(tests, too_few_runs);
    tcase_add_test(tests, scarce_memory);
    return tests;
}
