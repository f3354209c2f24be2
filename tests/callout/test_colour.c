/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Colour of the reflection, held against what the CIE publishes and against closed forms.
 */
#include "bench.h"
#include "suites.h"
#include <bloomcoat/colour.h>
#include <math.h>
#include <string.h>

/* 2 degrees: CIE 015:2018. 10 degrees: the same, from memory. */
START_TEST(white_points)
{
    static const struct {
        bc_illuminant illuminant;
        bc_observer observer;
        double x, y;
    } known[] = {
        {BC_ILLUMINANT_D65, BC_OBSERVER_2, 0.3127, 0.3290}, {BC_ILLUMINANT_A, BC_OBSERVER_2, 0.4476, 0.4074},
        {BC_ILLUMINANT_D50, BC_OBSERVER_2, 0.3457, 0.3585}, {BC_ILLUMINANT_D65, BC_OBSERVER_10, 0.3138, 0.3310},
        {BC_ILLUMINANT_A, BC_OBSERVER_10, 0.4512, 0.4059},  {BC_ILLUMINANT_D50, BC_OBSERVER_10, 0.3477, 0.3595}};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        bc_colour white;
        bc_colour_white(known[i].illuminant, known[i].observer, &white);
        ck_assert_double_eq_tol(white.x, known[i].x, 1.1e-4);
        ck_assert_double_eq_tol(white.y, known[i].y, 1.1e-4);
        ck_assert_double_eq_tol(white.Y, 100.0, 1e-12);
        ck_assert_double_eq_tol(white.L, 100.0, 1e-12);
        ck_assert_double_eq_tol(white.luminous, 1.0, 1e-14);
    }
}
END_TEST

/* The integral of V(lambda) is 106.857 nm (CIE 018:2019, 1 nm steps from 360 to 830 nm). */
START_TEST(the_photopic_eye)
{
    double sum = 0.0;
    for (int i = 0; i < BC_COLOUR_ROWS; i++)
        sum += BC_CIE_STEP_NM * bc_cie_table[i].observer[BC_OBSERVER_2][1];
    ck_assert_double_eq_tol(sum, 106.857, 0.01);
    ck_assert_double_eq(bc_cie_table[36].illuminant[BC_ILLUMINANT_D65], 100.0);
}
END_TEST

/* Without dispersion R is the luminous reflectance and grey; n = 1.5: 4 %, L* = 116 0.04^(1/3) - 16 (CIELAB). */
START_TEST(glass_without_dispersion_is_grey)
{
    bench_stack bench;
    const single_layer bare = {.incident_n = 1.0, .layer = 1.0, .substrate = 1.5};
    lay_layer(&bench, &bare);
    for (int i = 0; i < BC_ILLUMINANTS; i++)
        for (int o = 0; o < BC_OBSERVERS; o++) {
            bc_colour colour, white;
            bc_error error;
            bc_colour_white((bc_illuminant)i, (bc_observer)o, &white);
            ck_assert_int_eq(bc_colour_compute(&bench.stack, NULL, 0.0, BC_POL_UNPOLARIZED, (bc_illuminant)i,
                                               (bc_observer)o, &colour, &error),
                             BC_OK);
            ck_assert_double_eq_tol(colour.luminous, 0.04, 1e-15);
            ck_assert_double_eq_tol(colour.Y, 4.0, 1e-13);
            ck_assert_double_eq_tol(colour.L, 116.0 * cbrt(0.04) - 16.0, 1e-12);
            ck_assert_double_eq_tol(colour.chroma, 0.0, 1e-10);
            ck_assert(isnan(colour.hue));
            ck_assert_double_eq_tol(colour.x, white.x, 1e-14);
            /* Rs at 45 degrees: Born and Wolf, Principles of Optics, ch. 1.5 */
            ck_assert_int_eq(bc_colour_compute(&bench.stack, NULL, 45.0 * DEGREES, BC_POL_S, (bc_illuminant)i,
                                               (bc_observer)o, &colour, &error),
                             BC_OK);
            ck_assert_double_eq_tol(100.0 * colour.luminous, 9.201336305, 1e-8);
        }
}
END_TEST

/* CIELAB below (6/29)^3 is the straight line L* = (29/3)^3 Y/Yn, which meets the cube root in value and slope. */
START_TEST(dark_colours_lie_on_the_straight_piece)
{
    const double edge = pow(6.0 / 29.0, 3.0);
    double R[BC_COLOUR_ROWS], below;
    bc_colour colour;
    for (int i = 0; i < BC_COLOUR_ROWS; i++)
        R[i] = 0.005;
    bc_colour_of(R, BC_ILLUMINANT_D65, BC_OBSERVER_2, &colour);
    ck_assert_double_eq_tol(colour.L, 0.005 * pow(29.0 / 3.0, 3.0), 1e-12);
    for (int i = 0; i < BC_COLOUR_ROWS; i++)
        R[i] = edge * (1.0 - 1e-9);
    bc_colour_of(R, BC_ILLUMINANT_D65, BC_OBSERVER_2, &colour);
    below = colour.L;
    for (int i = 0; i < BC_COLOUR_ROWS; i++)
        R[i] = edge * (1.0 + 1e-9);
    bc_colour_of(R, BC_ILLUMINANT_D65, BC_OBSERVER_2, &colour);
    ck_assert_double_eq_tol(colour.L - below, 2e-9 * edge * pow(29.0 / 3.0, 3.0), 1e-11);
    for (int i = 0; i < BC_COLOUR_ROWS; i++)
        R[i] = 0.0;
    bc_colour_of(R, BC_ILLUMINANT_D65, BC_OBSERVER_2, &colour);
    ck_assert_double_eq(colour.luminous, 0.0);
    ck_assert_double_eq_tol(colour.L, 0.0, 1e-12);
    ck_assert(isnan(colour.x));
}
END_TEST

/* a* runs from green to red, b* from blue to yellow; the photopic share is that of the 2 degree eye for either
 * observer. */
START_TEST(hues_point_where_they_should)
{
    static const struct {
        double from_nm, to_nm;
        int a, b;
    } band[] = {{640.0, 780.0, 1, 1}, {500.0, 550.0, -1, 1}, {430.0, 480.0, 1, -1}, {485.0, 500.0, -1, -1}};
    for (size_t k = 0; k < sizeof band / sizeof *band; k++) {
        double nm[BC_COLOUR_ROWS], R[BC_COLOUR_ROWS];
        bc_colour two, ten;
        bc_colour_wavelengths(nm);
        for (int i = 0; i < BC_COLOUR_ROWS; i++)
            R[i] = nm[i] >= band[k].from_nm && nm[i] <= band[k].to_nm ? 0.3 : 0.1;
        bc_colour_of(R, BC_ILLUMINANT_D65, BC_OBSERVER_2, &two);
        bc_colour_of(R, BC_ILLUMINANT_D65, BC_OBSERVER_10, &ten);
        ck_assert_double_gt(band[k].a * two.a, 1.0);
        ck_assert_double_gt(band[k].b * two.b, 1.0);
        ck_assert_double_eq_tol(two.chroma * cos(two.hue), two.a, 1e-10);
        ck_assert_double_eq_tol(two.chroma * sin(two.hue), two.b, 1e-10);
        ck_assert_double_ge(two.hue, 0.0);
        ck_assert_double_eq(two.luminous, ten.luminous);
        ck_assert_double_ne(two.X, ten.X);
    }
}
END_TEST

START_TEST(a_table_that_ends_too_soon_is_refused)
{
    static const double nm[] = {400.0, 900.0}, n[] = {1.52, 1.51};
    bench_stack bench;
    const single_layer bare = {.incident_n = 1.0, .layer = 1.0, .substrate = 1.5};
    bc_colour colour;
    bc_error error = {0};
    lay_layer(&bench, &bare);
    bench.stack.substrate = table("short", 2, nm, n);
    ck_assert_int_eq(bc_colour_compute(&bench.stack, NULL, 0.0, BC_POL_UNPOLARIZED, BC_ILLUMINANT_D65, BC_OBSERVER_2,
                                       &colour, &error),
                     BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "short"));
}
END_TEST

TCase *colour_case(void)
{
    TCase *tests = tcase_create("colour");
    tcase_add_checked_fixture(tests, open_bench, close_bench);
    tcase_add_test(tests, white_points);
    tcase_add_test(tests, the_photopic_eye);
    tcase_add_test(tests, glass_without_dispersion_is_grey);
    tcase_add_test(tests, dark_colours_lie_on_the_straight_piece);
    tcase_add_test(tests, hues_point_where_they_should);
    tcase_add_test(tests, a_table_that_ends_too_soon_is_refused);
    return tests;
}
