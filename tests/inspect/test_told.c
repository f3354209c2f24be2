/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What is told beside a verdict: how far the scan is from the design, where a mean's band is worst, why a row was not
 * judged, and what another measurement would show.
 */
#include "cause.h"
#include "witness.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FROM_NM 400.0
#define STEP_NM 4.0
#define COUNT   101

/* Root of the mean square of measured less designed, over all values of the scan. Loop: R, T, both. */
START_TEST(rms_is_over_every_value)
{
    static const unsigned what[] = {BC_MEASURED_R, BC_MEASURED_T, BC_MEASURED_R | BC_MEASURED_T};
    double square = 0.0, values = 0.0;
    bench b;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    truth t = bench_truth(&b);
    bc_measurement designed = bench_scan(&t, what[_i], FROM_NM, STEP_NM, COUNT);
    for (size_t j = 0; j < t.layers; j++)
        t.layer[j].thickness_nm *= 1.03;
    bc_measurement scan = bench_scan(&t, what[_i], FROM_NM, STEP_NM, COUNT);
    bc_inspect_result result = bench_inspect(&b, &scan);
    for (size_t i = 0; i < COUNT; i++) {
        if (scan.R.value != NULL)
            square += pow(scan.R.value[i] - designed.R.value[i], 2.0);
        if (scan.T.value != NULL)
            square += pow(scan.T.value[i] - designed.T.value[i], 2.0);
        values += (scan.R.value != NULL) + (scan.T.value != NULL);
    }
    ck_assert_double_eq_tol(result.rms, sqrt(square / values), 1e-12);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&designed);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* The wavelength of the band where the measured curve is highest, or lowest where the mean is to be at least. */
START_TEST(a_mean_names_its_worst_wavelength)
{
    const double from_nm = 450.0, to_nm = 650.0;
    double highest = -INFINITY, lowest = INFINITY, highest_nm = NAN, lowest_nm = NAN;
    bench b;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    truth t = bench_truth(&b);
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R, FROM_NM, STEP_NM, COUNT);
    for (size_t i = 0; i < COUNT; i++) {
        const double nm = scan.wavelength_nm[i], value = scan.R.value[i];
        if (nm < from_nm || nm > to_nm)
            continue;
        highest_nm = value > highest ? nm : highest_nm;
        highest = fmax(highest, value);
        lowest_nm = value < lowest ? nm : lowest_nm;
        lowest = fmin(lowest, value);
    }
    bench_ask(&b, BC_AVERAGE, BC_AT_MOST, 0.5, from_nm, to_nm);
    bench_ask(&b, BC_AVERAGE, BC_AT_LEAST, 1e-6, from_nm, to_nm);
    bc_inspect_result result = bench_inspect(&b, &scan);
    ck_assert_double_eq(result.finding[0].at_nm, highest_nm);
    ck_assert_double_eq(result.finding[1].at_nm, lowest_nm);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* A row of the part, measured on a piece with a ground back, is not judged, and says why. */
START_TEST(a_row_of_another_scope_says_what_was_measured)
{
    bench b;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    truth t = bench_truth(&b);
    bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.02, 450.0, 650.0)->scope = BC_SCOPE_PART;
    bc_inspect_result result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R);
    ck_assert_ptr_nonnull(strstr(result.finding[0].text, "asked of a part, measured with a ground back"));
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

/* A layer of three that is the only one of its material: what R at 45 degrees, and what a wider scan would show of the
 * two likeliest causes, is known where indices are constants and so have no end. */
START_TEST(what_else_would_tell_causes_apart)
{
    static const char *const index[] = {"1.38", "2.10", "1.70"};
    static const double nm[] = {95.0, 130.0, 70.0};
    bench b;
    bench_open(&b, "1.52", 3, index, nm);
    truth t = bench_truth(&b);
    t.layer[1].thickness_nm *= 1.04;
    bc_inspect_result result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R);
    ck_assert_double_lt(result.wider_from_nm, FROM_NM);
    ck_assert_double_gt(result.wider_to_nm, FROM_NM + STEP_NM * (COUNT - 1));
    ck_assert(isfinite(result.differ_at_45) && result.differ_at_45 >= 0.0);
    ck_assert(isfinite(result.differ_in_range) && result.differ_in_range >= 0.0);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

/* Reflectances written as fractions and read as percent: held, and by how much they are off is told. */
START_TEST(fractions_are_not_percent)
{
    bench b;
    bench_open_six(&b, 0.02, 450.0, 650.0);
    truth t = bench_truth(&b);
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R, FROM_NM, STEP_NM, COUNT);
    scan_disturb(&b, &scan, 1e-4, 0.0);
    for (size_t i = 0; i < COUNT; i++)
        scan.R.value[i] = 0.01 * scan.R.value[i];
    bc_inspect_result result = bench_inspect(&b, &scan);
    ck_assert_int_eq(result.evidence.held, BC_HELD_UNIT);
    ck_assert_double_eq_tol(result.evidence.found, 100.0, 2.0);
    ck_assert_int_eq(result.verdict, BC_UNDECIDED);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* What a scan says of its layers is a symmetric matrix, the instrument's own unknowns integrated over or not. */
START_TEST(information_is_symmetric)
{
    bench b;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    b.setup.uncertainty = 2e-3;
    b.setup.scale_uncertainty = 0.01;
    b.setup.wavelength_uncertainty_nm = 0.5;
    truth t = bench_truth(&b);
    bc_inspect_result result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R | BC_MEASURED_T);
    for (size_t j = 0; j < 6; j++)
        for (size_t k = 0; k < j; k++)
            ck_assert_double_eq_tol(result.information[6 * j + k], result.information[6 * k + j],
                                    1e-9 * sqrt(result.information[7 * j] * result.information[7 * k]));
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

/* Nothing is absorbed at any angle: a row of A at 0 degrees, measured at 10, stays as it was measured. */
START_TEST(clear_layers_absorb_at_no_angle)
{
    bench b;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    b.setup.aoi_rad = 10.0 * DEGREE;
    bench_ask(&b, BC_AVERAGE, BC_AT_MOST, 0.01, 450.0, 650.0)->quantity = BC_A;
    truth t = bench_truth(&b);
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R | BC_MEASURED_T, FROM_NM, STEP_NM, COUNT);
    scan_disturb(&b, &scan, 1e-5, 0.0);
    bc_inspect_result result = bench_inspect(&b, &scan);
    ck_assert(result.finding[0].angle_corrected);
    ck_assert_double_lt(fabs(result.finding[0].largest_correction), 1e-9);
    ck_assert_double_lt(fabs(result.finding[0].value), 1e-5);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* One layer half as thick again, which is no valley of a common factor: found, and the others with it. */
START_TEST(one_layer_far_off_is_found)
{
    bench b;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    truth t = bench_truth(&b);
    t.layer[0].thickness_nm *= 1.5;
    bc_inspect_result result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R);
    ck_assert(result.good_fit);
    for (size_t j = 0; j < 6; j++)
        ck_assert_double_eq_tol(result.layer[j].fitted_nm, t.layer[j].thickness_nm, 0.1);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

/* A thick layer has a valley for every order of interference: the right one is found, and the others do no harm. */
START_TEST(a_layer_of_many_orders_is_found)
{
    static const char *const index[] = {"2.10"};
    static const double nm[] = {2600.0};
    bench b;
    bench_open(&b, "1.52", 1, index, nm);
    truth t = bench_truth(&b);
    t.layer[0].thickness_nm *= _i == 0 ? 1.13 : 0.9;
    bc_inspect_result result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R);
    ck_assert(result.good_fit);
    ck_assert_double_eq_tol(result.layer[0].fitted_nm, t.layer[0].thickness_nm, 0.1);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

typedef struct heard {
    size_t count;
    double fraction[200];
} heard;

static void hear(void *context, double fraction)
{
    heard *h = context;
    ck_assert_uint_lt(h->count, 200);
    h->fraction[h->count++] = fraction;
}

static void expect_next(const heard *h, size_t *at, double fraction)
{
    ck_assert_uint_lt(*at, h->count);
    ck_assert_double_eq_tol(h->fraction[*at], fraction, 1e-12);
    ++*at;
}

/* Of a run as designed: each cause takes 6 steps, the ten likeliest then 40; all of it once more where noise that was
 * stated too small leaves more than 1.2 times that; and each row is as long as another. Loop: noise as stated, more. */
START_TEST(how_much_is_over)
{
    heard h = {0};
    bc_candidates all;
    size_t at = 0;
    bench b;
    bench_open(&b, "1.52", 3, six_index, six_nm);
    for (int row = 0; row < 3; row++)
        bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.5, 450.0, 650.0);
    b.setup.progress = hear;
    b.setup.progress_context = &h;
    const truth t = bench_truth(&b);
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R, FROM_NM, STEP_NM, COUNT);
    scan_disturb(&b, &scan, 5e-5, 0.0);
    scan_know_noise(&scan, _i == 0 ? 5e-5 : 2e-5);
    bc_inspect_result ours = {0};
    bc_inspection inspection = {.setup = &b.setup, .result = &ours};
    ck_assert_int_eq(bc_readings_open(&scan, &b.setup, &inspection.readings, NULL), BC_OK);
    const bc_fit_setup setup = bc_fit_setup_of(&inspection);
    ck_assert_int_eq(bc_fit_open(&setup, &inspection.fit, NULL), BC_OK);
    ck_assert_int_eq(bc_list_candidates(&inspection, &all, NULL), BC_OK);
    const size_t count = all.count;
    ck_assert_uint_gt(count, 10);
    bc_inspect_result result = bench_inspect(&b, &scan);
    ck_assert_int_eq(result.cause[0].kind, BC_CAUSE_AS_DESIGNED);
    ck_assert_uint_ge(result.fits, count + 10 + 20); /* each cause, and an angle at many */
    const double rest = 6.0 * ((double)count - 10.0),
                 steps = 6.0 * (double)count + 400.0 + (_i == 0 ? 0.0 : 400.0 + rest);
    double done = 0.0;
    expect_next(&h, &at, 0.04);
    for (size_t i = 0; i < (_i == 0 ? 1 : 2) * count + 10; i++) { /* all, ten, and ten of all again */
        done += i < count || i >= count + 20 ? 6.0 : 40.0;
        expect_next(&h, &at, 0.04 + 0.46 * done / steps);
    }
    ck_assert_double_eq(done, steps);
    expect_next(&h, &at, 0.5);
    expect_next(&h, &at, 0.8);
    for (int row = 1; row <= 3; row++)
        expect_next(&h, &at, 0.8 + 0.2 * row / 3.0);
    expect_next(&h, &at, 1.0);
    ck_assert_uint_eq(at, h.count);
    bc_inspect_result_clear(&result);
    free(all.candidate);
    bc_fit_close(&inspection.fit);
    bc_readings_close(&inspection.readings);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* What was measured, how well, and how it fits. Loop: R, T, both. */
START_TEST(what_a_result_carries)
{
    static const unsigned what[] = {BC_MEASURED_R, BC_MEASURED_T, BC_MEASURED_R | BC_MEASURED_T};
    bench b;
    bench_open_six(&b, 0.5, 450.0, 650.0);
    b.setup.uncertainty = 4e-3;
    b.setup.coverage_factor = 2.5;
    const truth t = bench_truth(&b);
    bc_measurement scan = bench_scan(&t, what[_i], FROM_NM, STEP_NM, COUNT);
    scan_disturb(&b, &scan, 2e-4, 0.0);
    scan_know_noise(&scan, 2e-4);
    strcpy(scan.label, "run 7");
    bc_inspect_result result = bench_inspect(&b, &scan);
    ck_assert_str_eq(result.label, "run 7");
    ck_assert(result.count == 1 && result.layers == 6 && result.materials == 2 && result.outside == 0);
    ck_assert_double_eq_tol(result.standard_uncertainty, 1.6e-3, 1e-15);
    ck_assert(result.R.count == (_i == 1 ? 0 : COUNT) && result.T.count == (_i == 0 ? 0 : COUNT));
    const bc_noise *const noise[] = {&result.noise_R, &result.noise_T};
    for (int q = 0; q < 2; q++) {
        const bool measured = _i == 2 || _i == q;
        ck_assert_int_eq(noise[q]->source, measured ? BC_NOISE_REPEATS : BC_NOISE_UNKNOWN);
        ck_assert_double_eq_tol(noise[q]->rms, measured ? 2e-4 : 0.0, 1e-9);
    }
    ck_assert(result.hypotheses == 1 && result.explained_by == 0 && result.good_fit);
    ck_assert(result.hypothesis[0].kind == BC_AS_SAID && result.hypothesis[0].fits);
    ck_assert_double_eq_tol(result.hypothesis[0].rms, 2e-4, 3e-5);
    ck_assert_double_eq_tol(result.hypothesis[0].residual, 1.0, 0.15);
    ck_assert_double_eq_tol(result.residual, 1.0, 0.15);
    ck_assert_int_eq(result.absorption.judged, _i > 0);
    for (size_t j = 0; j < 6; j++) {
        ck_assert_double_eq_tol(result.fitted.layer[j].thickness_nm, result.layer[j].fitted_nm, 1e-12);
        ck_assert_double_eq(result.layer[j].design_nm, six_nm[j]);
        ck_assert_double_eq_tol(sqrt(result.covariance[7 * j]), result.layer[j].sigma_nm, 1e-12);
        const double weak = 0.25 * six_nm[j] + 2.0; /* the data pull as hard as what is known beforehand */
        double pull = -result.pull[j];
        for (size_t k = 0; k < 6; k++)
            pull += result.information[6 * j + k] * result.layer[k].fitted_nm;
        ck_assert_double_eq_tol(pull * weak * weak, six_nm[j] - result.layer[j].fitted_nm, 1e-6);
    }
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* The factor that explains most, its standard error by the slopes of the model and by what is left, and that as a
 * fraction. Layers that are off by themselves leave more than noise. */
START_TEST(the_factor_of_all_layers)
{
    static const double own[] = {1.03, 1.034, 1.027};
    const double noise = 1e-4, step = 1e-4;
    double nm[3], chi_squared[3], model[3][COUNT], square = 0.0, slopes = 0.0;
    bench b;
    bench_open(&b, "1.52", 3, six_index, six_nm);
    truth t = bench_truth(&b);
    for (size_t j = 0; j < 3; j++)
        t.layer[j].thickness_nm *= own[j];
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R, FROM_NM, STEP_NM, COUNT);
    scan_know_noise(&scan, noise);
    bc_inspect_result result = {0};
    bc_inspection inspection = {.setup = &b.setup, .result = &result};
    ck_assert_int_eq(bc_readings_open(&scan, &b.setup, &inspection.readings, NULL), BC_OK);
    const bc_fit_setup setup = bc_fit_setup_of(&inspection);
    ck_assert_int_eq(bc_fit_again(&inspection, &setup, NULL), BC_OK);
    inspection.fit.inflation = 1.0;
    ck_assert_int_eq(bc_find_scale(&inspection, NULL), BC_OK);
    for (int side = 0; side < 3; side++) {
        for (size_t j = 0; j < 3; j++)
            nm[j] = six_nm[j] * (result.scale + step * (side - 1));
        bc_fit_look(&inspection.fit, nm, NULL, 0.0, false);
        chi_squared[side] = 0.0;
        for (size_t i = 0; i < COUNT; i++) {
            const double left = inspection.fit.model[0][i] - scan.R.value[i];
            chi_squared[side] += left * left / (noise * noise);
            model[side][i] = inspection.fit.model[0][i];
            square += side == 1 ? left * left / COUNT : 0.0;
        }
    }
    const double bend = (chi_squared[0] + chi_squared[2] - 2.0 * chi_squared[1]) / (step * step);
    ck_assert_double_eq_tol(result.scale, 1.03, 3e-3);
    ck_assert_double_lt(fabs(chi_squared[2] - chi_squared[0]) / (2.0 * step) / bend, 1e-6); /* at its lowest */
    ck_assert_double_gt(chi_squared[1], 1.5 * (COUNT - 1));
    for (size_t i = 0; i < COUNT; i++)
        slopes += pow((model[2][i] - model[0][i]) / (2.0 * step * noise), 2.0);
    ck_assert_double_eq_tol(result.scale_sigma * sqrt(slopes) / sqrt(chi_squared[1] / (COUNT - 1.0)), 1.0, 1e-4);
    ck_assert_double_eq_tol(result.scale_rms / sqrt(square), 1.0, 1e-6);
    bc_solution_clear(&inspection.solution);
    bc_fit_close(&inspection.fit);
    bc_readings_close(&inspection.readings);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

TCase *told_case(void)
{
    TCase *tests = tcase_create("told");
    tcase_add_loop_test(tests, rms_is_over_every_value, 0, 3);
    tcase_add_test(tests, a_mean_names_its_worst_wavelength);
    tcase_add_test(tests, a_row_of_another_scope_says_what_was_measured);
    tcase_add_test(tests, what_else_would_tell_causes_apart);
    tcase_add_test(tests, fractions_are_not_percent);
    tcase_add_test(tests, information_is_symmetric);
    tcase_add_test(tests, clear_layers_absorb_at_no_angle);
    tcase_add_test(tests, one_layer_far_off_is_found);
    tcase_add_loop_test(tests, what_a_result_carries, 0, 3);
    tcase_add_test(tests, the_factor_of_all_layers);
    tcase_add_loop_test(tests, how_much_is_over, 0, 2);
    tcase_add_loop_test(tests, a_layer_of_many_orders_is_found, 0, 2);
    return tests;
}
