/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Weighted and luminous averages against sums made here.
 */
#include "bench.h"
#include "brute.h"
#include "near.h"
#include "suites.h"
#include <bloomcoat/colour.h>
#include <bloomcoat/sampling.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static const single_layer quarter = {1.0, 1.38, 1.52, 99.6};

static bc_callout weighted(const bc_weight *weight, double from_nm, double to_nm)
{
    bc_callout callout = callout_of(from_nm, to_nm);
    callout.statistic = BC_AVERAGE;
    callout.weight = weight;
    return callout;
}

/* Bare n = 1.5 reflects 4.00 % at every wavelength (Fresnel), so under every weight. */
START_TEST(without_dispersion_no_weight_matters)
{
    static const char *const names[] = {"photopic", "scotopic", "D65", "A", "D50", "D50*scotopic"};
    const single_layer bare = {1.0, 1.0, 1.5, 0.0};
    bench_stack bench;
    lay_layer(&bench, &bare);
    bc_callout callout = weighted(bc_weight_luminous(), 380.0, 780.0);
    expect_near(find(&bench.stack, &callout, NULL).value, 0.04, 1e-14);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        callout = weighted(bc_weight_shipped(names[i]), 400.0, 700.0);
        expect_near(find(&bench.stack, &callout, NULL).value, 0.04, 1e-14);
    }
}
END_TEST

/* The sum of ISO 8980-4 (from memory), written out; and what `colour` says of the same. */
START_TEST(luminous_is_its_sum)
{
    const double angle = 0.5;
    double sum = 0.0, weights = 0.0;
    bc_colour colour;
    bench_stack bench;
    lay_layer(&bench, &quarter);
    for (int i = 0; i < BC_CIE_ROWS; i++) {
        const double weight = bc_cie_table[i].illuminant[BC_ILLUMINANT_D65] * bc_cie_table[i].observer[0][1];
        sum += weight * airy_mean(&quarter, 380.0 + 5.0 * i, angle).R;
        weights += weight;
    }
    bc_callout callout = weighted(bc_weight_luminous(), 380.0, 780.0);
    callout.aoi_from_rad = callout.aoi_to_rad = angle;
    expect_near(find(&bench.stack, &callout, NULL).value, sum / weights, 1e-14);
    ck_assert_int_eq(bc_colour_compute(&bench.stack, NULL, angle, BC_POL_UNPOLARIZED, BC_ILLUMINANT_D65, BC_OBSERVER_2,
                                       &colour, NULL),
                     BC_OK);
    expect_near(colour.luminous, sum / weights, 1e-14);
    ck_assert_uint_eq(bc_sampling_wavelengths(&callout, 1e6), 81);
}
END_TEST

typedef struct product {
    const bc_weight *weight;
    bool times_R;
} product;

static double of_product(double wavelength_nm, const void *context)
{
    const product *p = context;
    return bc_weight_at(p->weight, wavelength_nm) * (p->times_R ? airy_mean(&quarter, wavelength_nm, 0.0).R : 1.0);
}

/* The quotient of two integrals by brute force. The kinks of the weight at its rows cost Simpson's rule some accuracy.
 */
START_TEST(against_brute_force)
{
    static const char *const names[] = {"photopic", "D65*photopic", "A"};
    bench_stack bench;
    lay_layer(&bench, &quarter);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const product times_R = {bc_weight_shipped(names[i]), true}, alone = {times_R.weight, false};
        const bc_callout callout = weighted(times_R.weight, 401.3, 713.9);
        expect_near(find(&bench.stack, &callout, NULL).value,
                    brute_mean(of_product, &times_R, 401.3, 713.9, 30000) /
                        brute_mean(of_product, &alone, 401.3, 713.9, 30000),
                    1e-7);
    }
}
END_TEST

START_TEST(a_weight_of_one_is_the_average)
{
    bc_materials *materials;
    bench_stack bench;
    ck_assert_int_eq(bc_materials_alloc(&materials, NULL), BC_OK);
    lay_layer(&bench, &quarter);
    const bc_callout one =
        weighted(weight_from_file(materials, "wavelength_nm,weight\n300,3\n1200,3\n"), 421.3, 1007.9);
    const bc_callout plain = weighted(NULL, 421.3, 1007.9);
    expect_near(find(&bench.stack, &one, NULL).value, find(&bench.stack, &plain, NULL).value, 1e-15);
    bc_materials_free(materials);
}
END_TEST

/* A line 0.2 nm wide in a band of 400 nm is not missed: the average is R there. */
START_TEST(a_narrow_line)
{
    bc_materials *materials;
    bench_stack bench;
    ck_assert_int_eq(bc_materials_alloc(&materials, NULL), BC_OK);
    lay_layer(&bench, &quarter);
    const bc_callout line = weighted(
        weight_from_file(materials, "wavelength_nm,weight\n300,0\n632.7,0\n632.8,1\n632.9,0\n1200,0\n"), 400.0, 800.0);
    expect_near(find(&bench.stack, &line, NULL).value, airy_mean(&quarter, 632.8, 0.0).R, 1e-6);
    bc_materials_free(materials);
}
END_TEST

TCase *weighted_case(void)
{
    TCase *tests = tcase_create("weighted");
    tcase_add_checked_fixture(tests, open_bench, close_bench);
    tcase_add_test(tests, without_dispersion_no_weight_matters);
    tcase_add_test(tests, luminous_is_its_sum);
    tcase_add_test(tests, against_brute_force);
    tcase_add_test(tests, a_weight_of_one_is_the_average);
    tcase_add_test(tests, a_narrow_line);
    return tests;
}
