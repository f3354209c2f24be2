/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Band means against sums of very many points.
 */
#include "bench.h"
#include "brute.h"
#include "near.h"
#include "suites.h"

typedef struct view {
    const single_layer *coating;
    bc_quantity quantity;
    bc_polarization polarization;
    double aoi_rad;
} view;

static double of_airy(double wavelength_nm, const void *context)
{
    const view *v = context;
    const airy_value value =
        v->polarization == BC_POL_UNPOLARIZED
            ? airy_mean(v->coating, wavelength_nm, v->aoi_rad)
            : airy(v->coating, v->polarization == BC_POL_S ? BC_S : BC_P, wavelength_nm, v->aoi_rad);
    return v->quantity == BC_R ? value.R : v->quantity == BC_T ? value.T : 1.0 - value.R - value.T;
}

static bc_callout mean_of(const view *v, double from_nm, double to_nm)
{
    bc_callout callout = callout_of(from_nm, to_nm);
    callout.statistic = BC_AVERAGE;
    callout.quantity = v->quantity;
    callout.polarization = v->polarization;
    callout.aoi_from_rad = callout.aoi_to_rad = v->aoi_rad;
    return callout;
}

/* From a broad minimum to sixty fringes: Simpson's rule on the documented samples errs by less than 1e-7 of R. */
START_TEST(against_brute_force)
{
    static const single_layer layers[] = {{1.0, 1.38, 1.52, 99.6},
                                          {1.0, CMPLX(2.1, -0.08), 1.52, 260.0},
                                          {1.0, 2.35, 1.52, 3000.0},
                                          {1.0, 1.38, 1.80, 20000.0}};
    for (int c = 0; c < 4 * 3 * 3; c++) {
        const view v = {&layers[c / 9], (bc_quantity)(c / 3 % 3), (bc_polarization)(c % 3), c % 2 ? 0.6 : 0.0};
        const bc_callout callout = mean_of(&v, 421.3, 678.9);
        bench_stack bench;
        lay_layer(&bench, v.coating);
        expect_near(find(&bench.stack, &callout, NULL).value,
                    brute_mean(of_airy, &v, callout.from_nm, callout.to_nm, 30000), 1e-7);
    }
}
END_TEST

/* Equal weight per nm, not per wave number or per sample: over a wide band of a thin layer the three differ. */
START_TEST(equal_weight_per_nm)
{
    static const single_layer layer = {1.0, 1.38, 1.52, 99.6};
    const view v = {&layer, BC_R, BC_POL_UNPOLARIZED, 0.0};
    const bc_callout callout = mean_of(&v, 400.0, 1600.0);
    const double expected = brute_mean(of_airy, &v, 400.0, 1600.0, 30000);
    double per_wave_number = 0.0;
    bench_stack bench;
    for (int i = 0; i < 30000; i++)
        per_wave_number += of_airy(1.0 / (1.0 / 1600.0 + (1.0 / 400.0 - 1.0 / 1600.0) * (i + 0.5) / 30000.0), &v) / 3e4;
    ck_assert_double_gt(fabs(per_wave_number - expected), 1e-4);
    lay_layer(&bench, &layer);
    expect_near(find(&bench.stack, &callout, NULL).value, expected, 1e-10);
}
END_TEST

/* A mean says where its band is worst, to the sample. */
START_TEST(where_the_band_is_worst)
{
    static const single_layer layer = {1.0, 1.38, 1.52, 550.0 / 4.0 / 1.38};
    view v = {&layer, BC_R, BC_POL_UNPOLARIZED, 0.0};
    bench_stack bench;
    bc_callout callout = mean_of(&v, 450.0, 600.0);
    lay_layer(&bench, &layer);
    ck_assert(find(&bench.stack, &callout, NULL).at_nm == 450.0);
    callout.sense = BC_AT_LEAST;
    expect_near(find(&bench.stack, &callout, NULL).at_nm, 550.0, 150.0 / 200.0);
}
END_TEST

/* Of each of s and p the worse mean. */
START_TEST(each_takes_the_worse_mean)
{
    static const single_layer layer = {1.0, 1.38, 1.52, 99.6};
    bench_stack bench;
    lay_layer(&bench, &layer);
    for (int sense = BC_AT_MOST; sense <= BC_AT_LEAST; sense++) {
        const bc_polarization worse = sense == BC_AT_MOST ? BC_POL_S : BC_POL_P;
        const view v = {&layer, BC_R, worse, 0.9};
        bc_callout callout = mean_of(&v, 420.0, 680.0);
        bc_finding finding;
        callout.polarization = BC_POL_EACH;
        callout.sense = (bc_sense)sense;
        finding = find(&bench.stack, &callout, NULL);
        ck_assert_int_eq(finding.at_polarization, worse);
        expect_near(finding.value, brute_mean(of_airy, &v, 420.0, 680.0, 30000), 1e-9);
    }
}
END_TEST

TCase *mean_case(void)
{
    TCase *tests = tcase_create("mean");
    tcase_add_checked_fixture(tests, open_bench, close_bench);
    tcase_add_test(tests, against_brute_force);
    tcase_add_test(tests, equal_weight_per_nm);
    tcase_add_test(tests, where_the_band_is_worst);
    tcase_add_test(tests, each_takes_the_worse_mean);
    return tests;
}
