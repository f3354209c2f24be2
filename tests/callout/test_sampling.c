/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Where a callout is looked at, and the weights of a mean.
 */
#include "bench.h"
#include "near.h"
#include "suites.h"
#include <bloomcoat/sampling.h>
#include <string.h>

/* Bands from the ultraviolet to the thermal infrared, and layers from none to a millimetre of optical path. */
static const double bands_nm[][2] = {{420.0, 680.0},     {400.0, 1100.0},   {350.0, 351.0},   {1064.0, 1064.001},
                                     {3000.0, 12000.0},  {8000.0, 12000.0}, {200.0, 20000.0}, {400.0, 600.0},
                                     {400.0, 600.00001}, {632.8, 1550.0}};
static const double optical_nm[] = {0.0, 1.0, 350.0, 2760.0, 27600.0, 1e6};
#define BANDS       (sizeof bands_nm / sizeof *bands_nm)
#define THICKNESSES (sizeof optical_nm / sizeof *optical_nm)

START_TEST(counts_keep_the_rules)
{
    for (size_t c = 0; c < BANDS * THICKNESSES; c++) {
        const double from_nm = bands_nm[c / THICKNESSES][0], to_nm = bands_nm[c / THICKNESSES][1];
        const double fringe_nm = from_nm * from_nm / (2.0 * optical_nm[c % THICKNESSES]);
        const bc_callout callout = callout_of(from_nm, to_nm);
        const size_t count = bc_sampling_wavelengths(&callout, optical_nm[c % THICKNESSES]);
        const double step_nm = (to_nm - from_nm) / (double)(count - 1);
        expect_true(count >= 201);
        expect_true(count % 2 == 1);
        expect_true(step_nm <= from_nm / 400.0 * (1.0 + 1e-12));
        expect_true(step_nm <= fringe_nm / 16.0 * (1.0 + 1e-12));
    }
}
END_TEST

/* A rule that binds alone does so by no more than the two samples that make the count odd: else the rules above could
 * be met by any large number. */
START_TEST(counts_follow_the_binding_rule)
{
    const bc_callout narrow = callout_of(500.0, 510.0), wide = callout_of(400.0, 1100.0);
    ck_assert_uint_eq(bc_sampling_wavelengths(&narrow, 0.0), 201);
    ck_assert_uint_eq(bc_sampling_wavelengths(&wide, 0.0), 701); /* 700 nm in steps of 1 nm */
    /* fringes of 400^2 / 32000 = 5 nm, a sixteenth is 0.3125 nm, 2240 steps */
    ck_assert_uint_eq(bc_sampling_wavelengths(&wide, 16000.0), 2241);
}
END_TEST

START_TEST(one_wavelength)
{
    const bc_callout callout = callout_of(632.8, 632.8);
    double weight = 0.0;
    ck_assert_uint_eq(bc_sampling_wavelengths(&callout, 0.0), 1);
    ck_assert_uint_eq(bc_sampling_wavelengths(&callout, 1e6), 1);
    ck_assert(bc_sampling_at(632.8, 632.8, 1, 0) == 632.8);
    bc_sampling_set(&callout, 1, NULL, &weight);
    ck_assert(weight == 1.0);
}
END_TEST

START_TEST(samples_are_even_and_end_exactly)
{
    for (size_t c = 0; c < BANDS; c++) {
        const double from = bands_nm[c][0], to = bands_nm[c][1];
        static const size_t counts[] = {2, 3, 201, 777, 2001};
        for (size_t k = 0; k < 5; k++) {
            const size_t count = counts[k];
            const double step = (to - from) / (double)(count - 1);
            expect_true(bc_sampling_at(from, to, count, 0) == from);
            expect_true(bc_sampling_at(from, to, count, count - 1) == to);
            for (size_t i = 1; i < count; i++)
                expect_near(bc_sampling_at(from, to, count, i) - bc_sampling_at(from, to, count, i - 1), step,
                            1e-15 * to * 4.0);
        }
    }
}
END_TEST

START_TEST(weights_add_to_one)
{
    static double weight[3000];
    const bc_callout callout = callout_of(400.0, 700.0);
    for (size_t count = 3; count < 3000; count += 2) {
        double sum = 0.0;
        bc_sampling_set(&callout, count, NULL, weight);
        for (size_t i = 0; i < count; i++) {
            expect_true(weight[i] > 0.0);
            expect_true(weight[i] == weight[count - 1 - i]);
            sum += weight[i];
        }
        expect_near(sum, 1.0, 1e-13);
    }
}
END_TEST

/* Simpson's rule is exact for cubics and not for the fourth power. (any text on numerical analysis) */
START_TEST(weights_integrate_a_cubic)
{
    static const size_t counts[] = {3, 5, 201, 333};
    const bc_callout callout = callout_of(0.4, 1.1);
    double weight[333];
    for (size_t c = 0; c < 4; c++) {
        const double a = 0.4, b = 1.1;
        double powers[5] = {0.0, 0.0, 0.0, 0.0, 0.0};
        bc_sampling_set(&callout, counts[c], NULL, weight);
        for (size_t i = 0; i < counts[c]; i++) {
            const double x = bc_sampling_at(a, b, counts[c], i);
            for (int k = 0; k < 5; k++)
                powers[k] += weight[i] * pow(x, k);
        }
        for (int k = 0; k < 4; k++)
            expect_near(powers[k], (pow(b, k + 1) - pow(a, k + 1)) / (k + 1) / (b - a), 1e-13);
        if (counts[c] < 10)
            ck_assert_double_gt(fabs(powers[4] - (pow(b, 5) - pow(a, 5)) / 5.0 / (b - a)), 1e-6);
    }
}
END_TEST

START_TEST(angles)
{
    static const double ranges_deg[][2] = {{0.0, 30.0},  {0.0, 31.0},  {0.0, 4.0},  {0.0, 5.0},
                                           {12.5, 17.5}, {40.0, 89.0}, {0.0, 89.9}, {29.999, 30.0}};
    for (size_t c = 0; c < sizeof ranges_deg / sizeof *ranges_deg; c++) {
        bc_callout callout = callout_of(500.0, 600.0);
        size_t count;
        callout.aoi_from_rad = ranges_deg[c][0] * DEGREES;
        callout.aoi_to_rad = ranges_deg[c][1] * DEGREES;
        count = bc_sampling_angles(&callout, 5.0 * DEGREES);
        ck_assert_uint_ge(count, 2);
        ck_assert_uint_eq(count, (size_t)ceil((ranges_deg[c][1] - ranges_deg[c][0]) / 5.0) + 1);
        ck_assert(bc_sampling_at(callout.aoi_from_rad, callout.aoi_to_rad, count, 0) == callout.aoi_from_rad);
        ck_assert(bc_sampling_at(callout.aoi_from_rad, callout.aoi_to_rad, count, count - 1) == callout.aoi_to_rad);
        ck_assert_double_le((callout.aoi_to_rad - callout.aoi_from_rad) / (double)(count - 1),
                            5.0 * DEGREES * (1.0 + 1e-8));
    }
}
END_TEST

START_TEST(one_angle)
{
    bc_callout callout = callout_of(500.0, 600.0);
    callout.aoi_from_rad = callout.aoi_to_rad = 0.3;
    ck_assert_uint_eq(bc_sampling_angles(&callout, 5.0 * DEGREES), 1);
}
END_TEST

START_TEST(optical_thickness)
{
    static const double table_nm[] = {400.0, 600.0}, n[] = {2.2, 2.0};
    bc_layer layer[3] = {{constant("low", 1.38), 100.0, false},
                         {table("high", 2, table_nm, n), 50.0, false},
                         {constant("metal", CMPLX(0.9, -6.0)), 10.0, false}};
    const bc_stack stack = {.layers = 3, .layer = layer}, bare = {.layers = 0};
    double optical;
    bc_error error;
    ck_assert_int_eq(bc_optical_thickness(&stack, 500.0, &optical, &error), BC_OK);
    expect_near(optical, 138.0 + 2.1 * 50.0 + 9.0, 1e-12);
    ck_assert_int_eq(bc_optical_thickness(&bare, 500.0, &optical, &error), BC_OK);
    ck_assert(optical == 0.0);
    ck_assert_int_eq(bc_optical_thickness(&stack, 700.0, &optical, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "high"));
    stack.layer[0].thickness_nm = 1e9;
    ck_assert_int_eq(bc_optical_thickness(&stack, 500.0, &optical, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "waves of 500 nm"));
}
END_TEST

/* The path through a layer, 2 d sqrt(n^2 - n0^2 sin^2 aoi), may change by no more per radian than 2 tilt_nm sin(aoi):
 * from differences of the path itself, for layers in air and behind glass. */
START_TEST(path_in_tilted_layers)
{
    static const double incident[] = {1.0, 1.38, 1.52}, n[] = {1.0, 1.38, 1.62, 2.35, 4.0};
    for (size_t i = 0; i < 3; i++)
        for (size_t f = 0; f < 5; f++) {
            bc_layer layer = {constant("layer", n[f]), 100.0, false};
            const bc_stack stack = {.incident = constant("incident", incident[i]), .layers = 1, .layer = &layer};
            const double h = 1e-6;
            double steepest = 0.0;
            bc_fringes fringes;
            bc_error error;
            ck_assert_int_eq(bc_fringes_of(&stack, NULL, 500.0, &fringes, &error), BC_OK);
            expect_near(fringes.optical_nm, 100.0 * n[f], 1e-12);
            for (double aoi = 0.001; aoi < 85.0 * DEGREES && n[f] >= incident[i]; aoi += 0.01) {
                const double before = n[f] * n[f] - pow(incident[i] * sin(aoi - h), 2.0);
                const double after = n[f] * n[f] - pow(incident[i] * sin(aoi + h), 2.0);
                const double rate = 200.0 * (sqrt(before) - sqrt(after)) / (2.0 * h);
                const double bound = 2.0 * fringes.tilt_nm * sin(aoi);
                ck_assert_double_le(rate, bound * (1.0 + 1e-6) + 1e-9);
                steepest = fmax(steepest, rate / bound);
            }
            if (n[f] >= incident[i])
                ck_assert_double_ge(steepest, 0.99); /* at small angles it is that rate */
            else
                expect_near(fringes.tilt_nm, 100.0 * n[f], 1e-12);
        }
}
END_TEST

/* Of a part with a coating of its own at the back the surface with the narrower fringes counts, each way on its own. */
START_TEST(fringes_of_both_surfaces)
{
    bc_layer thick[1] = {{constant("layer", 2.0), 900.0, false}}, thin[1] = {{constant("layer", 1.38), 100.0, false}};
    const bc_stack stack[2] = {{.incident = constant("air", 1.0), .layers = 1, .layer = thick},
                               {.incident = constant("air", 1.0), .layers = 1, .layer = thin}};
    const bc_back_kind kinds[] = {BC_BACK_NONE, BC_BACK_UNCOATED, BC_BACK_SAME, BC_BACK_OWN};
    for (int front = 0; front < 2; front++)
        for (int k = 0; k < 4; k++) {
            const bc_back back = {.kind = kinds[k], .substrate_mm = 1.0, .stack = &stack[1 - front]};
            const bool narrow = front == 0 || kinds[k] == BC_BACK_OWN;
            bc_fringes fringes;
            ck_assert_int_eq(bc_fringes_of(&stack[front], &back, 500.0, &fringes, NULL), BC_OK);
            expect_near(fringes.optical_nm, narrow ? 1800.0 : 138.0, 1e-9);
            expect_near(fringes.tilt_nm, narrow ? 450.0 : 100.0 / 1.38, 1e-9);
        }
}
END_TEST

START_TEST(angles_of_a_verdict)
{
    bc_callout callout = callout_of(500.0, 600.0);
    callout.aoi_to_rad = 30.0 * DEGREES;
    ck_assert_uint_eq(bc_sampling_verdict_angles(&callout, 0.0), 7);
    ck_assert_uint_eq(bc_sampling_verdict_angles(&callout, 350.0), 7);
    /* 500 / (2 * 5000 * 0.5) / 8 = 0.0125 rad, in 0.5236 */
    ck_assert_uint_eq(bc_sampling_verdict_angles(&callout, 5000.0), 43);
    callout.aoi_to_rad = 0.0;
    ck_assert_uint_eq(bc_sampling_verdict_angles(&callout, 5000.0), 1);
}
END_TEST

TCase *sampling_case(void)
{
    TCase *tests = tcase_create("sampling");
    tcase_add_checked_fixture(tests, open_bench, close_bench);
    tcase_add_test(tests, counts_keep_the_rules);
    tcase_add_test(tests, counts_follow_the_binding_rule);
    tcase_add_test(tests, one_wavelength);
    tcase_add_test(tests, samples_are_even_and_end_exactly);
    tcase_add_test(tests, weights_add_to_one);
    tcase_add_test(tests, weights_integrate_a_cubic);
    tcase_add_test(tests, angles);
    tcase_add_test(tests, one_angle);
    tcase_add_test(tests, optical_thickness);
    tcase_add_test(tests, path_in_tilted_layers);
    tcase_add_test(tests, fringes_of_both_surfaces);
    tcase_add_test(tests, angles_of_a_verdict);
    return tests;
}
