/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Thickness over a surface, light that roughness scatters, and what a common thickness factor does to a spectrum.
 */
#include "support.h"
#include <bloomcoat/curved.h>
#include <bloomcoat/scatter.h>
#include <math.h>
#include <string.h>

/* Over a flat, x from the axis of a source at height h: small-area source 1/(1+(x/h)^2)^2, point source
 * 1/(1+(x/h)^2)^(3/2). (Holland and Steckelmacher, Vacuum 2, 346 (1952)) The flat is a sphere of so large a radius that
 * its sag and slope are below rounding. */
START_TEST(thickness_over_a_flat)
{
    static const double height_mm[] = {50.0, 300.0, 900.0};
    for (size_t i = 0; i < sizeof height_mm / sizeof *height_mm; i++) {
        for (int concave = 0; concave < 2; concave++) {
            bc_curved flat = {.radius_mm = 1e20,
                              .concave = concave == 1,
                              .clear_aperture_mm = 1000.0,
                              .distribution = BC_DISTRIBUTION_SOURCE,
                              .source_distance_mm = height_mm[i]};
            for (double x = 0.0; x <= 500.0; x += 12.5) {
                const double spread = 1.0 + pow(x / height_mm[i], 2.0);
                bc_zone zone;
                flat.point_source = false;
                ck_assert_int_eq(bc_curved_zone(&flat, x, &zone, NULL), BC_OK);
                ck_assert_double_eq_tol(zone.thickness_factor, pow(spread, -2.0), 1e-14);
                flat.point_source = true;
                ck_assert_int_eq(bc_curved_zone(&flat, x, &zone, NULL), BC_OK);
                ck_assert_double_eq_tol(zone.thickness_factor, pow(spread, -1.5), 1e-14);
            }
        }
    }
}
END_TEST

/* 1 - exp(-(4 pi s/wavelength)^2) of the specular light. (Bennett and Porteus, J. Opt. Soc. Am. 51, 123 (1961))
 * Polished lenses, 4 to 10 angstrom rms (common practice, no source): at 550 nm 0.0084 % to 0.0522 %. */
START_TEST(scatter_of_polished_lenses)
{
    ck_assert_double_eq_tol(100.0 * bc_scatter_reflected(0.4, 550.0, 1.0, 0.0), 0.0084, 0.00005);
    ck_assert_double_eq_tol(100.0 * bc_scatter_reflected(1.0, 550.0, 1.0, 0.0), 0.0522, 0.00005);
    for (double s = 0.0; s < 100.0; s += 7.0)
        ck_assert_double_eq_tol(bc_scatter_reflected(s, 633.0, 1.0, 0.0), 1.0 - exp(-pow(4.0 * PI * s / 633.0, 2.0)),
                                1e-15);
}
END_TEST

static bc_medium named(bc_dispersion *dispersion)
{
    bc_medium medium = {.dispersion = dispersion};
    strcpy(medium.name, bc_dispersion_name(dispersion));
    return medium;
}

static bc_dispersion *constant(const char *name, double n)
{
    bc_dispersion *made;
    ck_assert_int_eq(bc_dispersion_constant(name, n, 0.0, &made, NULL), BC_OK);
    return made;
}

/* All thicknesses scaled by 1+e, indices constant: the spectrum moves by 1+e in wavelength, exactly. (the layers' phase
 * n d / wavelength does not change; elementary) A zone's verdict on a band is the plane surface's on the band moved. */
START_TEST(a_thickness_factor_moves_the_spectrum)
{
    static const double e[] = {-0.31, -0.08, 0.0, 0.05, 0.4};
    bc_dispersion *const made[3] = {constant("1", 1.0), constant("1.38", 1.38), constant("2.1", 2.1)};
    bc_dispersion *const glass = constant("1.52", 1.52);
    bc_layer layer[4] = {{named(made[1]), 97.787, false},
                         {named(made[2]), 133.11, false},
                         {named(made[1]), 35.081, false},
                         {named(made[2]), 15.658, false}};
    const bc_stack stack = {.incident = named(made[0]), .substrate = named(glass), .layers = 4, .layer = layer};
    for (size_t i = 0; i < sizeof e / sizeof *e; i++) {
        for (int statistic = BC_EXTREME; statistic <= BC_AVERAGE; statistic++) {
            const bc_zone zone = {.thickness_factor = 1.0 + e[i]}, vertex = {.thickness_factor = 1.0};
            bc_callout row[2] = {{.name = "band",
                                  .statistic = (bc_statistic)statistic,
                                  .limit = 0.01,
                                  .from_nm = 420.0,
                                  .to_nm = 680.0,
                                  .aoi_from_rad = 0.5,
                                  .aoi_to_rad = 0.5}};
            const bc_callouts asked = {.count = 1, .callout = &row[0]}, moved = {.count = 1, .callout = &row[1]};
            bc_check_result scaled, plain;
            row[1] = row[0];
            row[1].from_nm /= 1.0 + e[i];
            row[1].to_nm /= 1.0 + e[i];
            ck_assert_int_eq(bc_check_zone(&stack, &asked, 0, NULL, &zone, &scaled, NULL), BC_OK);
            ck_assert_int_eq(bc_check_zone(&stack, &moved, 0, NULL, &vertex, &plain, NULL), BC_OK);
            ck_assert_double_eq_tol(scaled.limit_used, plain.limit_used, 1e-10 * plain.limit_used);
            ck_assert_double_eq_tol(scaled.finding[0].at_nm, (1.0 + e[i]) * plain.finding[0].at_nm, 1e-4);
            bc_check_result_clear(&scaled);
            bc_check_result_clear(&plain);
        }
    }
    for (size_t m = 0; m < 3; m++)
        bc_dispersion_free(made[m]);
    bc_dispersion_free(glass);
}
END_TEST

TCase *curved_case(void)
{
    TCase *tests = tcase_create("curved surfaces");
    tcase_add_test(tests, thickness_over_a_flat);
    tcase_add_test(tests, scatter_of_polished_lenses);
    tcase_add_test(tests, a_thickness_factor_moves_the_spectrum);
    return tests;
}
