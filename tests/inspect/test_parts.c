/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "witness.h"
#include <math.h>

#define NOISE 1e-4

static double root_of_squares(const double *part)
{
    double square = 0.0;
    for (size_t p = 0; p < BC_PARTS; p++)
        square += part[p] * part[p];
    return sqrt(square);
}

static bc_inspect_result look(const bench *b, double scale, double offset, double shift_nm)
{
    const truth t = bench_truth(b);
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    bc_inspect_result result;
    for (size_t i = 0; i < scan.count; i++) {
        scan.R.value[i] = scale * scan.R.value[i] + offset;
        scan.wavelength_nm[i] += shift_nm;
    }
    scan_know_noise(&scan, NOISE);
    result = bench_inspect(b, &scan);
    bc_measurement_clear(&scan);
    return result;
}

/* What a source adds to the uncertainty of a layer is ten times how far a tenth of a standard uncertainty of it moves
 * the fit: so little, that the likeliest cause is the same. */
START_TEST(of_a_layer)
{
    bc_process_row row = {.material = "*", .tooling = 1.0, .has_thickness_sigma = true, .thickness_sigma = 0.01};
    const bc_process process = {.rows = 1, .row = &row, .has_thickness_sigma = true};
    bench b;
    bc_inspect_result middle, off, stretched, shifted;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    b.setup.process = &process;
    b.setup.uncertainty = 1e-3;
    b.setup.scale_uncertainty = 0.02;
    b.setup.wavelength_uncertainty_nm = 0.4;
    middle = look(&b, 1.0, 0.0, 0.0);
    off = look(&b, 1.0, 5e-5, 0.0);
    stretched = look(&b, 1.001, 0.0, 0.0);
    shifted = look(&b, 1.0, 0.0, 0.02);
    ck_assert(middle.cause[0].kind == off.cause[0].kind && middle.cause[0].kind == stretched.cause[0].kind &&
              middle.cause[0].kind == shifted.cause[0].kind);
    for (size_t j = 0; j < 6; j++) {
        const bc_layer_estimate *layer = &middle.layer[j];
        ck_assert_double_eq_tol(root_of_squares(layer->part_nm), layer->sigma_nm, 1e-6 * layer->sigma_nm);
        ck_assert_double_eq_tol(layer->part_nm[BC_PART_READING], 10.0 * fabs(off.layer[j].fitted_nm - layer->fitted_nm),
                                0.02 * layer->sigma_nm);
        ck_assert_double_eq_tol(layer->part_nm[BC_PART_SCALE],
                                10.0 * fabs(stretched.layer[j].fitted_nm - layer->fitted_nm), 0.02 * layer->sigma_nm);
        ck_assert_double_eq_tol(layer->part_nm[BC_PART_WAVELENGTH],
                                10.0 * fabs(shifted.layer[j].fitted_nm - layer->fitted_nm), 0.02 * layer->sigma_nm);
        ck_assert(layer->part_nm[BC_PART_NOISE] > 0.0 && layer->part_nm[BC_PART_PROCESS] > 0.0);
        ck_assert(layer->part_nm[BC_PART_ANGLE] == 0.0 && layer->part_nm[BC_PART_INDEX] == 0.0);
    }
    bc_inspect_result_clear(&middle);
    bc_inspect_result_clear(&off);
    bc_inspect_result_clear(&stretched);
    bc_inspect_result_clear(&shifted);
    bench_close(&b);
}
END_TEST

/* Of a callout: at its angle and at another, on the curve and on points, of an average and from the fit. */
START_TEST(of_a_callout)
{
    bench b;
    bc_inspect_result result;
    const bc_inspect_finding *at_angle, *corrected, *average, *fit;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    b.setup.uncertainty = 1e-3;
    b.setup.scale_uncertainty = 0.02;
    b.setup.wavelength_uncertainty_nm = 0.4;
    b.setup.from_fit = true;
    b.setup.judge_points = _i == 1;
    bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.02, 450.0, 650.0);
    bc_callout *other = bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.02, 450.0, 650.0);
    other->aoi_from_rad = other->aoi_to_rad = 10.0 * DEGREE;
    bench_ask(&b, BC_AVERAGE, BC_AT_MOST, 0.02, 450.0, 650.0);
    bc_callout *oblique = bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.02, 450.0, 650.0);
    oblique->aoi_from_rad = oblique->aoi_to_rad = 40.0 * DEGREE;
    result = look(&b, 1.0, 0.0, 0.0);
    at_angle = &result.finding[0];
    corrected = &result.finding[1];
    average = &result.finding[2];
    fit = &result.finding[3];
    ck_assert_int_eq(at_angle->judged, _i == 1 ? BC_JUDGED_POINTS : BC_JUDGED_CURVE);
    ck_assert_int_eq(fit->judged, BC_JUDGED_FIT);
    for (size_t c = 0; c < 4; c++) {
        const bc_inspect_finding *finding = &result.finding[c];
        ck_assert_double_eq_tol(root_of_squares(finding->part), hypot(finding->random, finding->systematic), 1e-9);
        ck_assert(finding->part[BC_PART_NOISE] > 0.0 && finding->part[BC_PART_WAVELENGTH] > 0.0);
    }
    ck_assert_double_eq_tol(at_angle->part[BC_PART_READING], 5e-4,
                            2e-5); /* between two points: the nearest shares out */
    ck_assert_double_eq_tol(at_angle->part[BC_PART_SCALE], 0.01 * at_angle->value, 0.1 * 0.01 * at_angle->value);
    ck_assert(at_angle->part[BC_PART_ANGLE] == 0.0 && at_angle->part[BC_PART_INDEX] == 0.0);
    ck_assert_double_eq_tol(average->part[BC_PART_READING], 5e-4, 2e-5);
    ck_assert(corrected->angle_corrected && corrected->part[BC_PART_ANGLE] > 0.0);
    ck_assert(corrected->part[BC_PART_ANGLE] <= fabs(corrected->largest_correction) / sqrt(3.0) * (1.0 + 1e-9));
    ck_assert(fit->part[BC_PART_INDEX] > 0.0 && fit->part[BC_PART_PROCESS] > 0.0 && fit->part[BC_PART_ANGLE] == 0.0);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

TCase *parts_case(void)
{
    TCase *tests = tcase_create("parts");
    tcase_add_test(tests, of_a_layer);
    tcase_add_loop_test(tests, of_a_callout, 0, 2);
    return tests;
}
