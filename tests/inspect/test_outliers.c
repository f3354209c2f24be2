/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A reading that no noise explains, and one that is missing.
 */
#include "witness.h"
#include <math.h>
#include <string.h>

#define NOISE 1e-4
#define STEP  4.0
#define COUNT 101
#define AT    38 /* 552 nm */

typedef struct scene {
    bench b;
    truth t;
    bc_measurement scan;
    double worst, worst_nm;
} scene;

/* Six layers, one 3 % off; one reading off by `away`. */
static void open_scene(scene *s, double away, size_t at)
{
    bench_open(&s->b, "1.52", 6, six_index, six_nm);
    s->b.setup.uncertainty = 2e-4;
    s->t = bench_truth(&s->b);
    s->t.layer[2].thickness_nm *= 1.03;
    s->scan = bench_scan(&s->t, BC_MEASURED_R, 400.0, STEP, COUNT);
    s->worst = 0.0;
    for (size_t i = 10; i <= 70; i++)
        if (s->scan.R.value[i] > s->worst) {
            s->worst = s->scan.R.value[i];
            s->worst_nm = s->scan.wavelength_nm[i];
        }
    scan_disturb(&s->b, &s->scan, NOISE, 0.0);
    if (away < 0.0 || away > 0.0)
        s->scan.R.value[at] += away;
    bench_ask(&s->b, BC_EXTREME, BC_AT_MOST, s->worst + 2e-3, 440.0, 680.0);
    bench_ask(&s->b, BC_AVERAGE, BC_AT_MOST, 0.05, 440.0, 680.0);
}

static void close_scene(scene *s)
{
    bc_measurement_clear(&s->scan);
    bench_close(&s->b);
}

static size_t find(double nm)
{
    return (size_t)lround((nm - 400.0) / STEP);
}

/* 0.5 % either way at one wavelength: named with its size, and the layers come out as without it. */
START_TEST(named_and_left_out)
{
    const double away = _i == 0 ? 5e-3 : -5e-3;
    scene s;
    bc_inspect_result result;
    open_scene(&s, away, AT);
    result = bench_inspect(&s.b, &s.scan);
    ck_assert(result.good_fit);
    ck_assert_uint_eq(result.outliers, 1);
    ck_assert_double_eq_tol(result.outlier[0].wavelength_nm, 552.0, 1e-9);
    ck_assert_double_eq_tol(result.outlier[0].away, away, 5.0 * NOISE);
    ck_assert_int_eq(result.outlier[0].quantity, BC_R);
    ck_assert_double_lt(result.R.rms_fitted, 1.5 * NOISE);
    for (size_t j = 0; j < result.layers; j++)
        ck_assert_double_lt(fabs(result.layer[j].fitted_nm - s.t.layer[j].thickness_nm),
                            4.0 * result.layer[j].sigma_nm + 0.01);
    bc_inspect_result_clear(&result);
    close_scene(&s);
}
END_TEST

/* Noise alone, and a scan that is wrong all over, have none. */
START_TEST(none_to_name)
{
    scene s;
    bc_inspect_result result;
    open_scene(&s, 0.0, AT);
    for (size_t i = 0; _i == 1 && i < COUNT; i++)
        s.scan.R.value[i] += 0.01 * sin(0.39 * (double)i);
    result = bench_inspect(&s.b, &s.scan);
    ck_assert_uint_eq(result.outliers, 0);
    ck_assert_int_eq(result.good_fit, _i == 0);
    bc_inspect_result_clear(&result);
    close_scene(&s);
}
END_TEST

/* One that would break the limit keeps the row open, wherever it lies; a low one at the peak is said beside the row and
 * hides nothing: the value is that of the curve. */
START_TEST(never_makes_an_accept)
{
    scene s;
    bc_inspect_result result;
    const bc_inspect_finding *row;
    open_scene(&s, 0.0, 0);
    const size_t at = _i == 0 ? AT : find(s.worst_nm);
    s.scan.R.value[at] = _i == 0 ? s.worst + 2.5e-3 : s.worst - 5e-3;
    result = bench_inspect(&s.b, &s.scan);
    row = &result.finding[0];
    ck_assert_uint_eq(result.outliers, 1);
    ck_assert_int_eq(row->judged, BC_JUDGED_CURVE);
    ck_assert_double_eq_tol(row->value, s.worst, 4.0 * NOISE);
    ck_assert_double_eq_tol(row->doubt_nm, s.scan.wavelength_nm[at], 1e-9);
    ck_assert_int_eq(row->verdict, _i == 0 ? BC_UNDECIDED : BC_ACCEPT);
    ck_assert_int_eq(row->reason, _i == 0 ? BC_UNDECIDED_OUTLIER : BC_DECIDED);
    ck_assert((strlen(row->text) > 0) == (_i == 0));
    bc_inspect_result_clear(&result);
    close_scene(&s);
}
END_TEST

/* In a mean a low outlier counts as what the fit expects, a high one as it is. */
START_TEST(in_a_mean)
{
    const double away = _i == 0 ? -5e-3 : 5e-3;
    double mean[2];
    for (int with = 0; with < 2; with++) {
        scene s;
        bc_inspect_result result;
        open_scene(&s, with == 1 ? away : 0.0, AT);
        result = bench_inspect(&s.b, &s.scan);
        mean[with] = result.finding[1].value;
        bc_inspect_result_clear(&result);
        close_scene(&s);
    }
    ck_assert_double_eq_tol(mean[1] - mean[0], _i == 0 ? 0.0 : away / 60.0, 4.0 * NOISE / 60.0);
}
END_TEST

static void remove_point(bc_measurement *scan, size_t at)
{
    const size_t after = scan->count - at - 1;
    memmove(scan->wavelength_nm + at, scan->wavelength_nm + at + 1, after * sizeof(double));
    memmove(scan->R.value + at, scan->R.value + at + 1, after * sizeof(double));
    scan->count--;
}

/* Missing at the worst wavelength: undecided. Elsewhere: no matter. */
START_TEST(missing)
{
    scene s;
    bc_inspect_result result;
    double nm;
    open_scene(&s, 0.0, AT);
    nm = _i == 0 ? s.worst_nm : s.worst_nm < 560.0 ? 640.0 : 480.0;
    remove_point(&s.scan, find(nm));
    s.scan.missing = 1;
    s.scan.missing_nm = &nm;
    result = bench_inspect(&s.b, &s.scan);
    ck_assert_int_eq(result.finding[0].verdict, _i == 0 ? BC_UNDECIDED : BC_ACCEPT);
    ck_assert_int_eq(result.finding[0].reason, _i == 0 ? BC_UNDECIDED_MISSING : BC_DECIDED);
    ck_assert_int_eq(result.finding[1].verdict, BC_ACCEPT);
    bc_inspect_result_clear(&result);
    close_scene(&s);
}
END_TEST

/* At the end of a scan of few points the layers follow one reading half way, so that the first fit leaves less than 5
 * times the noise there, and more of the others than noise. */
START_TEST(one_that_the_fit_follows)
{
    bench b;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    truth t = bench_truth(&b);
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R, 400.0, 6.0, 51);
    scan_disturb(&b, &scan, NOISE, 0.0);
    scan_know_noise(&scan, NOISE);
    scan.R.value[0] += 8.5 * NOISE;
    bc_inspect_result result = bench_inspect(&b, &scan);
    ck_assert_uint_eq(result.outliers, 1);
    ck_assert_double_eq(result.outlier[0].wavelength_nm, 400.0);
    ck_assert_double_gt(result.outlier[0].away, 6.0 * NOISE);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

TCase *outlier_case(void)
{
    TCase *tcase = tcase_create("outliers");
    tcase_add_loop_test(tcase, named_and_left_out, 0, 2);
    tcase_add_test(tcase, one_that_the_fit_follows);
    tcase_add_loop_test(tcase, none_to_name, 0, 2);
    tcase_add_loop_test(tcase, never_makes_an_accept, 0, 2);
    tcase_add_loop_test(tcase, in_a_mean, 0, 2);
    tcase_add_loop_test(tcase, missing, 0, 2);
    return tcase;
}
