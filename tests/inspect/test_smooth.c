/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The curve behind the noise by itself: its length of correlation, and what is known of it.
 */
#include "band.h"
#include "row_verdict.h"
#include "smooth.h"
#include "witness.h"
#include <math.h>
#include <stdlib.h>

#define NOISE 3e-4
#define COUNT 101
#define PEAK  40 /* the point where one reading is off */

/* A scan of six layers as designed, 400 nm on, and the curve behind it. */
typedef struct scene {
    bench b;
    bc_measurement exact, scan;
    bc_inspect_result result;
    bc_inspection inspection;
    bc_smooth smooth;
} scene;

/* `said`: the noise is said to be that; the reading at the peak is left out. */
static void open_scene(scene *s, double step_nm, double said)
{
    bc_error error = {0};
    truth t;
    bench_open(&s->b, "1.52", 6, six_index, six_nm);
    t = bench_truth(&s->b);
    s->exact = bench_scan(&t, BC_MEASURED_R, 400.0, step_nm, COUNT);
    s->scan = scan_copy(&s->exact);
    scan_disturb(&s->b, &s->scan, NOISE, 0.0);
    scan_know_noise(&s->scan, said);
    s->scan.R.value[PEAK] += 0.1;
    s->result = (bc_inspect_result){.good_fit = true};
    s->inspection = (bc_inspection){.setup = &s->b.setup, .result = &s->result};
    ck_assert_int_eq(bc_readings_open(&s->scan, &s->b.setup, &s->inspection.readings, &error), BC_OK);
    s->inspection.readings.R.outlier[PEAK] = true;
    const bc_fit_setup setup = bc_fit_setup_of(&s->inspection);
    ck_assert_int_eq(bc_fit_again(&s->inspection, &setup, &error), BC_OK);
    s->inspection.dn = calloc(s->inspection.fit.materials, sizeof(double));
    ck_assert_ptr_nonnull(s->inspection.dn);
    ck_assert_int_eq(bc_smooth_open(&s->inspection, &s->smooth, &error), BC_OK);
}

static void close_scene(scene *s)
{
    bc_smooth_close(&s->smooth);
    free(s->inspection.dn);
    bc_solution_clear(&s->inspection.solution);
    bc_fit_close(&s->inspection.fit);
    bc_readings_close(&s->inspection.readings);
    bc_measurement_clear(&s->scan);
    bc_measurement_clear(&s->exact);
    bench_close(&s->b);
}

/* The curve is correlated over a sixth of the narrowest fringe, 1 / (2 S) in 1 / wavelength. How many sines that takes
 * is Riutort-Mayol and others, Stat. Comput. 33, 17 (2023): 1.75 times how far they reach over the length. */
START_TEST(sines_for_a_sixth_of_a_fringe)
{
    const double step_nm[] = {2.0, 4.0};
    double sines[2], optical_nm = 0.0;
    size_t size[2];
    for (size_t i = 0; i < 2; i++) {
        scene s;
        open_scene(&s, step_nm[i], NOISE);
        for (size_t j = 0; i == 0 && j < 6; j++)
            optical_nm += atof(six_index[j]) * six_nm[j];
        const double length = 1.0 / (2.0 * optical_nm) / 6.0;
        const double half = 0.5 * (1.0 / 400.0 - 1.0 / (400.0 + step_nm[i] * (COUNT - 1)));
        sines[i] = ceil(1.75 * (half + 2.0 * length) / length);
        size[i] = s.smooth.size;
        close_scene(&s);
    }
    /* the unknowns of the fit are there twice as well */
    ck_assert_double_gt(sines[1], sines[0]);
    ck_assert_double_eq((double)size[1] - (double)size[0], sines[1] - sines[0]);
}
END_TEST

/* What is left of a scan says what its noise was, when somebody says it is a fifth more or less. */
START_TEST(known_as_well_as_the_rest_shows)
{
    scene right, wrong;
    open_scene(&right, 4.0, NOISE);
    open_scene(&wrong, 4.0, _i == 0 ? 0.8 * NOISE : 1.2 * NOISE);
    for (size_t i = 10; i < COUNT - 10; i += 10)
        ck_assert_double_eq_tol(bc_smooth_sigma(&wrong.smooth, BC_R, i) / bc_smooth_sigma(&right.smooth, BC_R, i), 1.0,
                                0.1);
    close_scene(&right);
    close_scene(&wrong);
}
END_TEST

/* The reading that is left out decides nothing of the curve where it stood. */
START_TEST(goes_past_what_is_left_out)
{
    scene s;
    open_scene(&s, 4.0, NOISE);
    const double sigma = bc_smooth_sigma(&s.smooth, BC_R, PEAK);
    ck_assert(sigma > 0.0 && sigma < NOISE);
    ck_assert_double_lt(fabs(s.smooth.value[0][PEAK] - s.exact.R.value[PEAK]), 4.0 * sigma);
    close_scene(&s);
}
END_TEST

/* Layers, and what the instrument is uncertain by: nothing else is fitted. */
START_TEST(nothing_is_fitted_without_an_uncertainty)
{
    bc_error error = {0};
    bench b;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    truth t = bench_truth(&b);
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, COUNT);
    scan_know_noise(&scan, NOISE);
    for (size_t uncertain = 0; uncertain <= 3; uncertain++) {
        bc_inspect_result result = {0};
        bc_inspection inspection = {.setup = &b.setup, .result = &result};
        bc_fit fit;
        b.setup.uncertainty = uncertain >= 1 ? 1e-3 : 0.0;
        b.setup.scale_uncertainty = uncertain >= 2 ? 0.01 : 0.0;
        b.setup.wavelength_uncertainty_nm = uncertain >= 3 ? 0.5 : 0.0;
        ck_assert_int_eq(bc_readings_open(&scan, &b.setup, &inspection.readings, &error), BC_OK);
        const bc_fit_setup setup = bc_fit_setup_of(&inspection);
        ck_assert_int_eq(bc_fit_open(&setup, &fit, &error), BC_OK);
        ck_assert_uint_eq(bc_fit_size(&fit), 6 + uncertain);
        bc_fit_close(&fit);
        b.setup.fit_index = true; /* of which nobody says how far it may be off: weakly known, and free */
        const bc_fit_setup free_index = bc_fit_setup_of(&inspection);
        ck_assert_int_eq(bc_fit_open(&free_index, &fit, &error), BC_OK);
        ck_assert_uint_eq(bc_fit_size(&fit), 6 + 2 + uncertain);
        ck_assert(fit.index_sigma[0] >= 0.01 && fit.index_sigma[1] >= 0.01);
        bc_fit_close(&fit);
        b.setup.fit_index = false;
        bc_readings_close(&inspection.readings);
    }
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* Tables that reach from 440 to 448 nm of a scan from 436 to 452: a row within is judged on the curve, one that asks
 * for more of what was measured point by point. */
START_TEST(a_band_as_wide_as_the_tables)
{
    static const struct {
        double from_nm, to_nm;
        bc_points_reason because;
    } row[] = {{440.0, 448.0, BC_POINTS_NOT}, {439.0, 448.0, BC_POINTS_OUTSIDE}, {440.0, 449.0, BC_POINTS_OUTSIDE}};
    double nm[] = {436.0, 440.0, 444.0, 448.0, 452.0};
    const bc_inspect_setup setup = {.confidence = 0.95};
    bc_inspection inspection = {.setup = &setup};
    const bc_smooth smooth = {.why = BC_POINTS_NOT};
    inspection.readings = (bc_readings){.count = 5, .wavelength_nm = nm, .first = 1, .inside = 3};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        const bc_callout callout = {
            .quantity = BC_R, .statistic = BC_EXTREME, .from_nm = row[i].from_nm, .to_nm = row[i].to_nm};
        bc_inspect_finding finding = {0};
        bc_row_verdict d = {.inspection = &inspection, .callout = &callout, .finding = &finding, .smooth = &smooth};
        bc_row_choose_way(&d);
        ck_assert_int_eq(finding.points_because, row[i].because);
        ck_assert_int_eq(finding.judged, i == 0 ? BC_JUDGED_CURVE : BC_JUDGED_POINTS);
    }
}
END_TEST

TCase *smooth_case(void)
{
    TCase *tests = tcase_create("smooth");
    tcase_add_test(tests, sines_for_a_sixth_of_a_fringe);
    tcase_add_loop_test(tests, known_as_well_as_the_rest_shows, 0, 2);
    tcase_add_test(tests, goes_past_what_is_left_out);
    tcase_add_test(tests, nothing_is_fitted_without_an_uncertainty);
    tcase_add_test(tests, a_band_as_wide_as_the_tables);
    return tests;
}
