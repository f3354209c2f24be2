/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Rows with scope `part`.
 */
#include "bench.h"
#include "brute.h"
#include "near.h"
#include "suites.h"
#include <string.h>

static const single_layer quarter = {1.0, 1.38, 1.52, 550.0 / 4.0 / 1.38}, bare = {1.0, 1.0, 1.52, 0.0};

static bc_callout part_row(double from_nm, double to_nm)
{
    bc_callout callout = callout_of(from_nm, to_nm);
    callout.scope = BC_SCOPE_PART;
    return callout;
}

/* Two faces of clear glass: R1 + T1^2 R2/(1 - R1 R2). (Knittl, Optics of Thin Films, 1976) */
static double two_faces(double front, double back)
{
    return front + (1.0 - front) * (1.0 - front) * back / (1.0 - front * back);
}

/* Bare plate 2r/(1+r); behind a quarter wave a bare face, the same layer, and a layer of its own, at the end of the
 * band that is worst for both. */
START_TEST(every_back)
{
    const single_layer own = {1.0, 1.7, 1.52, 40.0};
    bench_stack front, behind;
    const double worst_nm = 450.0, r = airy_mean(&bare, worst_nm, 0.0).R, f = airy_mean(&quarter, worst_nm, 0.0).R;
    const bc_callout callout = part_row(450.0, 560.0);
    bc_back back = {BC_BACK_UNCOATED, NULL, 2.0};
    bc_finding finding;
    lay_layer(&front, &bare);
    expect_near(find(&front.stack, &callout, &back).value, 2.0 * r / (1.0 + r), 1e-14);
    lay_layer(&front, &quarter);
    lay_layer(&behind, &own);
    finding = find(&front.stack, &callout, &back);
    ck_assert(finding.at_nm == worst_nm);
    expect_near(finding.value, two_faces(f, r), 1e-14);
    back.kind = BC_BACK_SAME;
    expect_near(find(&front.stack, &callout, &back).value, 2.0 * f / (1.0 + f), 1e-14);
    back = (bc_back){BC_BACK_OWN, &behind.stack, 2.0};
    expect_near(find(&front.stack, &callout, &back).value, two_faces(f, airy_mean(&own, worst_nm, 0.0).R), 1e-14);
}
END_TEST

/* T of a part at an angle: per plane first, then the mean of the two. */
START_TEST(oblique_transmission)
{
    bench_stack front;
    bc_callout callout = part_row(550.0, 550.0);
    const bc_back back = {BC_BACK_UNCOATED, NULL, 2.0};
    double T = 0.0;
    lay_layer(&front, &quarter);
    callout.quantity = BC_T;
    callout.sense = BC_AT_LEAST;
    callout.aoi_from_rad = callout.aoi_to_rad = 1.0;
    for (int p = BC_S; p <= BC_P; p++)
        T += 0.5 * (1.0 - two_faces(airy(&quarter, (bc_plane)p, 550.0, 1.0).R, airy(&bare, (bc_plane)p, 550.0, 1.0).R));
    expect_near(find(&front.stack, &callout, &back).value, T, 1e-14);
}
END_TEST

/* A row for the surface alone does not look at the back. */
START_TEST(surface_rows_ignore_the_back)
{
    bench_stack front;
    const bc_callout callout = callout_of(450.0, 560.0);
    const bc_back back = {BC_BACK_UNCOATED, NULL, 2.0};
    bc_finding with, without;
    lay_layer(&front, &quarter);
    with = find(&front.stack, &callout, &back);
    without = find(&front.stack, &callout, NULL);
    ck_assert(with.value == without.value && with.at_nm == without.at_nm);
}
END_TEST

/* A of bare glass that absorbs: one crossing at each angle, the worst at the short end. */
START_TEST(absorbing_glass)
{
    const double k = 1e-7, r = pow(0.52 / 2.52, 2.0), x = exp(-4.0 * PI * k * 10e6 / 420.0);
    const double T = x * (1.0 - r) * (1.0 - r) / (1.0 - r * r * x * x), R = r + r * x * T;
    const single_layer smoky = {1.0, 1.0, CMPLX(1.52, -k), 0.0};
    const bc_back back = {BC_BACK_UNCOATED, NULL, 10.0};
    bench_stack front;
    bc_callout callout = part_row(420.0, 680.0);
    bc_finding finding;
    lay_layer(&front, &smoky);
    callout.quantity = BC_A;
    finding = find(&front.stack, &callout, &back);
    ck_assert(finding.at_nm == 420.0);
    expect_near(finding.value, 1.0 - R - T, 1e-12);
}
END_TEST

static double plate_with_thick_back(double wavelength_nm, const void *context)
{
    return two_faces(airy_mean(&bare, wavelength_nm, 0.0).R, airy_mean(context, wavelength_nm, 0.0).R);
}

/* Fringes of the back's own layers are sampled as the front's are. */
START_TEST(thick_layer_behind)
{
    const single_layer thick = {1.0, 1.38, 1.52, 20000.0};
    bench_stack front, behind;
    bc_callout callout = part_row(400.0, 700.0);
    const bc_back back = {BC_BACK_OWN, &behind.stack, 2.0};
    lay_layer(&front, &bare);
    lay_layer(&behind, &thick);
    callout.statistic = BC_AVERAGE;
    expect_near(find(&front.stack, &callout, &back).value,
                brute_mean(plate_with_thick_back, &thick, 400.0, 700.0, 60000), 1e-7);
}
END_TEST

/* A metal plate reflects as its front does, in either plane, and does not pass an AR callout. */
START_TEST(metal_plate)
{
    const single_layer metal = {1.0, 1.38, CMPLX(0.15, -3.5), 100.0};
    bench_stack front;
    const bc_back back = {BC_BACK_UNCOATED, NULL, 2.0};
    lay_layer(&front, &metal);
    for (int plane = BC_POL_S; plane <= BC_POL_P; plane++) {
        bc_callout callout = part_row(550.0, 550.0);
        bc_finding finding;
        callout.limit = 0.01;
        callout.polarization = (bc_polarization)plane;
        callout.aoi_from_rad = callout.aoi_to_rad = 45.0 * DEGREES;
        finding = find(&front.stack, &callout, &back);
        expect_near(finding.value, airy(&metal, plane == BC_POL_S ? BC_S : BC_P, 550.0, 45.0 * DEGREES).R, 1e-12);
        ck_assert(!finding.pass);
    }
}
END_TEST

static void expect_refused(const bc_stack *stack, const bc_callouts *all, const bc_back *back, const char *one,
                           const char *other)
{
    bc_check_result result;
    bc_error error = {0};
    ck_assert_int_eq(bc_check(stack, all, 0, NULL, back, &result, &error), BC_ERROR_INPUT);
    ck_assert_msg(strstr(error.message, one) && strstr(error.message, other), "'%s'", error.message);
    ck_assert_ptr_null(result.finding);
}

START_TEST(without_a_back)
{
    bench_stack front;
    bc_callout row = part_row(500.0, 600.0);
    const bc_callouts all = {.count = 1, .callout = &row};
    const bc_back none = {.kind = BC_BACK_NONE};
    strcpy(row.name, "whole window");
    lay_layer(&front, &quarter);
    expect_refused(&front.stack, &all, NULL, "'whole window'", "uncoated, same, or a stack file");
    expect_refused(&front.stack, &all, &none, "'whole window'", "scope part");
}
END_TEST

/* The back's own glass must be the part's, on every glass that is checked. */
START_TEST(back_on_another_glass)
{
    bench_stack front, behind;
    bc_callout row = part_row(500.0, 600.0);
    const bc_callouts all = {.count = 1, .callout = &row};
    const bc_back back = {BC_BACK_OWN, &behind.stack, 1.0}, negative = {BC_BACK_SAME, NULL, -1.0};
    lay_layer(&front, &quarter);
    lay_layer(&behind, &quarter);
    strcpy(behind.stack.substrate.name, "another");
    expect_refused(&front.stack, &all, &back, "'another'", "'glass'");
    expect_refused(&front.stack, &all, &negative, "callout 'band'", "glass thickness -1 mm");
}
END_TEST

TCase *parts_case(void)
{
    TCase *tests = tcase_create("parts");
    tcase_add_checked_fixture(tests, open_bench, close_bench);
    tcase_add_test(tests, every_back);
    tcase_add_test(tests, oblique_transmission);
    tcase_add_test(tests, surface_rows_ignore_the_back);
    tcase_add_test(tests, absorbing_glass);
    tcase_add_test(tests, thick_layer_behind);
    tcase_add_test(tests, metal_plate);
    tcase_add_test(tests, without_a_back);
    tcase_add_test(tests, back_on_another_glass);
    return tests;
}
