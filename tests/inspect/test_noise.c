/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "noise.h"
#include "readings.h"
#include "witness.h"
#include <gsl/gsl_randist.h>
#include <math.h>

#define POINTS 401
#define DRAWS  600
#define NOISE  2e-4

/* Even steps, or steps that change. */
static void set_grid(double *nm, bool even)
{
    for (int i = 0; i < POINTS; i++)
        nm[i] = even ? 400.0 + i : 400.0 + i + 0.4 * sin(1.7 * i);
}

/* On the average the estimate is the noise, whatever cubic lies under it; and it scatters as its degrees of freedom
 * say: the relative variance of a standard deviation is 1 / (2 freedom). */
START_TEST(of_a_scan)
{
    double nm[POINTS], value[POINTS], scratch[POINTS], sum = 0.0, square = 0.0, freedom = 0.0;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    set_grid(nm, _i == 0);
    for (int d = 0; d < DRAWS; d++) {
        bc_noise noise;
        for (int i = 0; i < POINTS; i++)
            value[i] = 0.01 + 1e-8 * pow(nm[i] - 600.0, 3.0) + gsl_ran_gaussian(random, NOISE);
        noise = bc_noise_of_scan(POINTS, nm, value, scratch);
        ck_assert_int_eq(noise.source, BC_NOISE_SCAN);
        sum += noise.rms / NOISE / DRAWS;
        square += pow(noise.rms / NOISE - 1.0, 2.0) / DRAWS;
        freedom = noise.freedom;
    }
    gsl_rng_free(random);
    ck_assert_double_eq_tol(sum, 1.0, 0.02);
    ck_assert_double_eq_tol(square * 2.0 * freedom, 1.0, 0.3);
}
END_TEST

START_TEST(of_a_cubic_there_is_none)
{
    double nm[POINTS], value[POINTS], scratch[POINTS];
    set_grid(nm, _i == 0);
    for (int i = 0; i < POINTS; i++)
        value[i] = 0.01 + 1e-4 * nm[i] - 1e-8 * pow(nm[i] - 600.0, 3.0);
    ck_assert_double_le(bc_noise_of_scan(POINTS, nm, value, scratch).rms, 1e-14);
    ck_assert_int_eq(bc_noise_of_scan(11, nm, value, scratch).source, BC_NOISE_UNKNOWN);
}
END_TEST

START_TEST(rounding)
{
    double value[POINTS], scratch[POINTS];
    for (int i = 0; i < POINTS; i++)
        value[i] = 0.01 * round(1.0 + 40.0 * sin(0.02 * i)) / 100.0;
    ck_assert_double_eq_tol(bc_rounding_step(POINTS, value, scratch), 1e-4, 1e-9);
    for (int i = 0; i < POINTS; i++)
        value[i] = sin(0.02 * i);
    ck_assert_double_eq(bc_rounding_step(POINTS, value, scratch), 0.0);
}
END_TEST

/* Whatever else is known of a scan, its noise is no less than that of values rounded to a step: the step over the root
 * of 12 (GUM, JCGM 100:2008, F.2.2.1). */
START_TEST(no_less_than_rounding)
{
    const double step = 1e-3;
    bench b;
    truth t;
    bc_measurement scan;
    bc_readings readings;
    double rest[POINTS];
    bench_open_six(&b, 0.02, 450.0, 650.0);
    t = bench_truth(&b);
    scan = bench_scan(&t, BC_MEASURED_R, 400.0, 1.0, POINTS);
    scan_disturb(&b, &scan, 3e-3, 0.0);
    for (size_t i = 0; i < POINTS; i++) {
        scan.R.value[i] = step * round(scan.R.value[i] / step);
        rest[i] = 1e-6 * (double)((7 * i) % 11);
    }
    ck_assert_int_eq(bc_readings_open(&scan, &b.setup, &readings, NULL), BC_OK);
    ck_assert_double_eq_tol(readings.R.summary.rms / 3e-3, 1.0, 0.2);
    ck_assert(bc_readings_noise_of(&readings, &readings.R, rest));
    ck_assert_double_eq_tol(readings.R.summary.rms, step / sqrt(12.0), 1e-9);
    ck_assert_double_eq_tol(readings.R.noise[100], step / sqrt(12.0), 1e-9);
    bc_readings_close(&readings);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* Repeats pool: the root mean square over the neighbours, unknown ones left out. */
START_TEST(of_repeats)
{
    double deviation[POINTS], noise[POINTS];
    bc_noise summary;
    for (int i = 0; i < POINTS; i++)
        deviation[i] = i % 3 == 0 ? NAN : i % 3 == 1 ? 3e-4 : 4e-4;
    summary = bc_noise_of_repeats(POINTS, deviation, 5, noise);
    ck_assert_int_eq(summary.source, BC_NOISE_REPEATS);
    ck_assert_double_eq_tol(noise[200], sqrt(12.5) * 1e-4, 5e-6);
    ck_assert_double_eq_tol(summary.freedom, 31.0 * 4.0, 1e-9);
    for (int i = 0; i < POINTS; i++)
        deviation[i] = NAN;
    ck_assert_int_eq(bc_noise_of_repeats(POINTS, deviation, 5, noise).source, BC_NOISE_UNKNOWN);
}
END_TEST

TCase *noise_case(void)
{
    TCase *tests = tcase_create("noise");
    tcase_add_loop_test(tests, of_a_scan, 0, 2);
    tcase_add_loop_test(tests, of_a_cubic_there_is_none, 0, 2);
    tcase_add_test(tests, rounding);
    tcase_add_test(tests, no_less_than_rounding);
    tcase_add_test(tests, of_repeats);
    return tests;
}
