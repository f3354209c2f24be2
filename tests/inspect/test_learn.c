/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a history of runs says of the chamber. How often the intervals hold the truth: tests/histories.
 */
#include "history.h"
#include "out_of_memory.h"
#include <bloomcoat/control.h>
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
    tcase_add_test(tests, too_few_runs);
    tcase_add_test(tests, scarce_memory);
    return tests;
}
