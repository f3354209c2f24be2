/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "witness.h"
#include <math.h>
#include <string.h>

#define NOISE 1e-4

/* A run of layers times `error`, and what the inspection would have the next run do. */
static bc_inspect_result made_with(bench *b, const double *error)
{
    truth t = bench_truth(b);
    bc_measurement scan;
    bc_inspect_result result;
    for (size_t j = 0; j < t.layers; j++)
        t.layer[j].thickness_nm *= error[j];
    scan = bench_scan(&t, BC_MEASURED_R, 400.0, 2.0, 201);
    scan_disturb(b, &scan, NOISE, 0.0);
    result = bench_inspect(b, &scan);
    bc_measurement_clear(&scan);
    return result;
}

/* What the chamber would make of the corrected stack, with the same errors: the design again. */
START_TEST(corrected_stack)
{
    static const double errors[][6] = {{1.03, 1.03, 1.03, 1.03, 1.03, 1.03},
                                       {1.0, 0.95, 1.0, 1.0, 1.0, 1.0},
                                       {0.98, 1.03, 0.98, 1.03, 0.98, 1.03},
                                       {1.02, 0.97, 1.05, 1.04, 0.95, 1.1},
                                       {1.02, 0.97, 1.05, 1.04, 0.95, 1.0}};
    bench b;
    bc_inspect_result result;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    result = made_with(&b, errors[_i]);
    for (size_t j = 0; j < 6; j++)
        ck_assert_double_eq_tol(result.next_stack.layer[j].thickness_nm * errors[_i][j], six_nm[j], 0.4);
    ck_assert_double_eq_tol(result.fitted.layer[1].thickness_nm, six_nm[1] * errors[_i][1], 0.4);
    if (_i < 2) /* one layer against the common factor of the others */
        ck_assert_double_eq_tol(result.layer[1].beyond, _i == 0 ? 0.0 : -0.05, 0.01);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

/* Tooling is thickness on the part over thickness at the monitor: a run 3 % thick had a tooling 3 % higher than
 * thought. What the process said besides stays, a row for all others gives way to one of the material's own. */
START_TEST(tooling)
{
    static const double error[] = {0.98, 1.03, 0.98, 1.03, 0.98, 1.03};
    bc_process_row rows[] = {
        {.material = "1.38", .tooling = 0.9, .has_tooling = true, .has_rate = true, .rate_nm_per_s = 0.5},
        {.material = "*", .tooling = 1.2, .has_tooling = true}};
    const bc_process process = {.rows = 2, .row = rows, .has_tooling = true, .has_rate = true};
    bench b;
    bc_inspect_result result;
    bc_process_row low, high, other;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    b.setup.process = &process;
    result = made_with(&b, error);
    low = bc_process_for(&result.next_process, "1.38");
    high = bc_process_for(&result.next_process, "2.10");
    other = bc_process_for(&result.next_process, "1.46");
    ck_assert_double_eq_tol(low.tooling, 0.9 * 0.98, 1e-3);
    ck_assert_double_eq(low.rate_nm_per_s, 0.5);
    ck_assert_double_eq_tol(high.tooling, 1.2 * 1.03, 1.5e-3);
    ck_assert_double_eq(other.tooling, 1.2);
    ck_assert_double_eq(rows[0].tooling, 0.9);
    ck_assert(result.material[0].off && result.material[1].off && result.material[1].tooling_known);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

/* One layer off is no reason for another tooling; neither is a run as designed, nor one that fits nothing. */
START_TEST(tooling_stays)
{
    static const double errors[][6] = {
        {1, 1, 1, 1, 1, 1}, {1.0, 0.95, 1.0, 1.0, 1.0, 1.0}, {1.0, 1.0, 1.0, 1.0, 1.07, 1.0}};
    bench b;
    bc_inspect_result result;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    result = made_with(&b, errors[_i]);
    for (size_t m = 0; m < result.materials; m++)
        ck_assert_double_eq_tol(result.material[m].next_tooling, 1.0, 0.002);
    for (size_t j = 0; j < 6 && _i == 0; j++)
        ck_assert_double_eq(result.next_stack.layer[j].thickness_nm, six_nm[j]);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

/* Of a material with one layer, an error its process explains is no tooling; the same error without a process is. */
START_TEST(single_layer_of_a_material)
{
    static const char *const index[] = {"1.38", "2.10"};
    static const double nm[] = {95.0, 130.0}, error[] = {1.0, 1.06}, more[] = {1.0, 1.12};
    bc_process_row row = {.material = "*", .tooling = 1.0, .has_thickness_sigma = true, .thickness_sigma = 0.03};
    const bc_process process = {.rows = 1, .row = &row, .has_thickness_sigma = true};
    bench b;
    bc_inspect_result result;
    bench_open(&b, "1.52", 2, index, nm);
    result = made_with(&b, error);
    ck_assert(result.material[1].off);
    ck_assert_double_eq_tol(result.material[1].next_tooling, 1.06, 5e-3);
    bc_inspect_result_clear(&result);
    result = made_with(&b, more); /* then the layer is named, and is the material's factor too */
    ck_assert_int_eq(result.cause[0].kind, BC_CAUSE_LAYER);
    ck_assert_double_eq_tol(result.material[1].next_tooling, 1.12, 8e-3);
    bc_inspect_result_clear(&result);
    b.setup.process = &process;
    result = made_with(&b, error);
    ck_assert(!result.material[1].off);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

/* All layers 3 % thick. Of a limit that the run uses less of than the design would (its band lies where the error
 * helps), nothing is corrected; of one that it uses more of, all is. */
START_TEST(only_what_gains)
{
    static const double error[] = {1.03, 1.03, 1.03, 1.03, 1.03, 1.03};
    bc_callout row = {.name = "row",
                      .quantity = BC_R,
                      .statistic = BC_EXTREME,
                      .sense = BC_AT_MOST,
                      .limit = 0.05,
                      .from_nm = _i == 0 ? 740.0 : 400.0,
                      .to_nm = _i == 0 ? 800.0 : 440.0,
                      .polarization = BC_POL_UNPOLARIZED};
    const bc_callouts callouts = {.count = 1, .callout = &row};
    bench b;
    bc_inspect_result result;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    b.setup.callouts = &callouts;
    result = made_with(&b, error);
    ck_assert_int_eq(result.cause[0].kind, BC_CAUSE_COMMON_FACTOR);
    ck_assert(result.next_gain.weighed && result.tooling_gain.weighed);
    ck_assert_int_eq(result.corrected, _i == 1);
    ck_assert_int_eq(result.next_because, _i == 0 ? BC_NEXT_NO_GAIN : BC_NEXT_CORRECTED);
    ck_assert_int_eq(result.next_gain.used_corrected < result.next_gain.used_as_it_was, _i == 1);
    ck_assert_double_eq_tol(result.next_stack.layer[2].thickness_nm, six_nm[2] / (_i == 0 ? 1.0 : 1.03), 0.2);
    ck_assert_double_eq_tol(result.material[0].next_tooling, _i == 0 ? 1.0 : 1.03, 1e-3);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

/* One layer of six 20 % thick where layers scatter by 1 %: what it will again come out as is Henderson's best linear
 * prediction, the share of 20 % that its variance has in the sum of both. A layer named is taken to be off by 10 % and
 * 2 nm (our choice). */
START_TEST(a_named_layer_is_shrunk_by_its_scatter)
{
    static const double error[] = {1.0, 1.0, 1.2, 1.0, 1.0, 1.0};
    const double nm = six_nm[2], usual = pow(0.10 + 2.0 / nm, 2.0), share = usual / (usual + 0.01 * 0.01);
    bc_process_row row = {.material = "*", .tooling = 1.0, .has_thickness_sigma = true, .thickness_sigma = 0.01};
    const bc_process process = {.rows = 1, .row = &row, .has_thickness_sigma = true};
    bench b;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    b.setup.process = &process;
    bc_inspect_result result = made_with(&b, error);
    ck_assert_int_eq(result.cause[0].kind, BC_CAUSE_LAYER);
    ck_assert_uint_eq(result.cause[0].layer[0], 2);
    ck_assert_double_eq_tol(result.next_stack.layer[2].thickness_nm, nm / (1.0 + share * result.cause[0].size), 0.1);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

TCase *next_case(void)
{
    TCase *tests = tcase_create("next");
    tcase_add_loop_test(tests, corrected_stack, 0, 5);
    tcase_add_test(tests, tooling);
    tcase_add_loop_test(tests, tooling_stays, 0, 3);
    tcase_add_test(tests, single_layer_of_a_material);
    tcase_add_test(tests, a_named_layer_is_shrunk_by_its_scatter);
    tcase_add_loop_test(tests, only_what_gains, 0, 2);
    return tests;
}
