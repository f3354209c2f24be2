/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "witness.h"
#include <math.h>

#define NOISE 2e-4

static bc_process_row row = {.material = "*", .tooling = 1.0, .has_thickness_sigma = true, .thickness_sigma = 0.003};
static const bc_process process = {.rows = 1, .row = &row, .has_thickness_sigma = true};

typedef struct story {
    bc_cause_kind kind;
    double error[6]; /* factor of every layer */
} story;

static const story stories[] = {
    {BC_CAUSE_AS_DESIGNED, {1, 1, 1, 1, 1, 1}},
    {BC_CAUSE_COMMON_FACTOR, {1.03, 1.03, 1.03, 1.03, 1.03, 1.03}},
    {BC_CAUSE_COMMON_FACTOR, {0.98, 0.98, 0.98, 0.98, 0.98, 0.98}},
    {BC_CAUSE_LAYER, {1.05, 1, 1, 1, 1, 1}},
    {BC_CAUSE_LAYER, {1, 1, 1, 0.93, 1, 1}},
    {BC_CAUSE_LAYER, {1, 1, 1, 1, 0.94, 1}},
    {BC_CAUSE_MATERIAL_FACTOR, {1, 1.03, 1, 1.03, 1, 1.03}},
    {BC_CAUSE_RANDOM, {1.02, 0.97, 1.05, 1.03, 0.95, 1.1}},
};
#define STORIES (sizeof stories / sizeof *stories)

static const double offsets[] = {0.0, 1e-3};

/* Each story is told as what it is, over many draws of noise. A true story is dropped in 1 % of the draws, and once in
 * a while a simpler one serves by chance. */
START_TEST(told_apart)
{
    const size_t draws = MANY_OR_FEW(8, 3);
    const story *made = &stories[_i / 2];
    size_t right = 0;
    bench b;
    truth t;
    bc_measurement exact;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    b.setup.process = &process;
    b.setup.uncertainty = 2.0 * offsets[_i % 2];
    t = bench_truth(&b);
    for (size_t j = 0; j < t.layers; j++)
        t.layer[j].thickness_nm *= made->error[j];
    exact = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    for (size_t d = 0; d < draws; d++) {
        bc_measurement scan = scan_copy(&exact);
        bc_inspect_result result;
        scan_disturb(&b, &scan, NOISE, offsets[_i % 2]);
        result = bench_inspect(&b, &scan);
        right += result.cause[0].kind == made->kind;
        ck_assert_uint_eq(result.hypotheses, 1);
        bc_inspect_result_clear(&result);
        bc_measurement_clear(&scan);
    }
    ck_assert_uint_ge(right, draws - 1);
    bc_measurement_clear(&exact);
    bench_close(&b);
}
END_TEST

/* The layer that is off, and how near the others are. */
START_TEST(the_layer_that_is_off)
{
    bench b;
    truth t;
    bc_measurement scan;
    bc_inspect_result result;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    b.setup.process = &process;
    t = bench_truth(&b);
    t.layer[_i].thickness_nm += 4.0;
    scan = bench_scan(&t, BC_MEASURED_R, 400.0, 2.0, 201);
    scan_disturb(&b, &scan, NOISE, 0.0);
    result = bench_inspect(&b, &scan);
    ck_assert_int_eq(result.cause[0].kind, BC_CAUSE_LAYER);
    ck_assert_uint_eq(result.cause[0].layer[0], (size_t)_i);
    ck_assert(result.layer[_i].off);
    ck_assert_double_eq_tol(result.layer[_i].fitted_nm, six_nm[_i] + 4.0, 5.0 * result.layer[_i].sigma_nm);
    ck_assert_double_gt(result.cause_odds, 1.0);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* The common factor within its error, 68 % of the time. */
START_TEST(error_of_the_factor)
{
    const size_t draws = MANY_OR_FEW(60, 12);
    size_t hits = 0;
    bench b;
    truth t;
    bc_measurement exact;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    b.setup.process = &process;
    b.setup.uncertainty = 1e-3;
    t = bench_truth(&b);
    for (size_t j = 0; j < t.layers; j++)
        t.layer[j].thickness_nm *= 1.02;
    exact = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    for (size_t d = 0; d < draws; d++) {
        bc_measurement scan = scan_copy(&exact);
        bc_inspect_result result;
        scan_disturb(&b, &scan, NOISE, 5e-4);
        scan_know_noise(&scan, NOISE);
        result = bench_inspect(&b, &scan);
        hits += fabs(result.scale - 1.02) <= result.scale_sigma;
        bc_inspect_result_clear(&result);
        bc_measurement_clear(&scan);
    }
    expect_share(hits, draws, 0.6827);
    bc_measurement_clear(&exact);
    bench_close(&b);
}
END_TEST

/* An index that is off: a story of its own when it is asked for. */
START_TEST(index_is_off)
{
    bench b;
    truth t;
    bc_measurement scan;
    bc_inspect_result result;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    b.setup.process = &process;
    b.setup.fit_index = true;
    t = bench_truth(&b);
    for (size_t j = 1; j < t.layers; j += 2)
        t.layer[j].n += 0.05;
    scan = bench_scan(&t, BC_MEASURED_R | BC_MEASURED_T, 400.0, 2.0, 201);
    scan_disturb(&b, &scan, 5e-5, 0.0);
    result = bench_inspect(&b, &scan);
    ck_assert_int_eq(result.cause[0].kind, BC_CAUSE_INDEX);
    ck_assert_double_eq_tol(result.material[1].dn, 0.05, 4.0 * result.material[1].dn_sigma);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

TCase *run_case(void)
{
    TCase *tests = tcase_create("run");
    tcase_add_loop_test(tests, told_apart, 0, 2 * (int)STORIES);
    tcase_add_loop_test(tests, the_layer_that_is_off, 0, 6);
    tcase_add_test(tests, error_of_the_factor);
    tcase_add_test(tests, index_is_off);
    return tests;
}
