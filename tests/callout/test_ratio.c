/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The ratio s / p of R or T, against Fresnel's and Airy's formulas (Born and Wolf, Principles of Optics, ch. 1.5 and
 * 1.6) on fine grids.
 */
#include "bench.h"
#include "brute.h"
#include "near.h"
#include "suites.h"
#include <bloomcoat/curves.h>

static const single_layer bare = {1.0, 1.0, 1.52, 0.0}, thick = {1.0, 2.1, 1.52, 700.0};

static bc_callout ratio_of(bc_quantity quantity, bc_sense sense, double aoi_deg)
{
    bc_callout callout = callout_of(450.0, 650.0);
    callout.quantity = quantity;
    callout.sense = sense;
    callout.limit = sense == BC_AT_MOST ? 1.02 : 0.98;
    callout.aoi_from_rad = callout.aoi_to_rad = aoi_deg * DEGREES;
    callout.polarization = BC_POL_RATIO;
    return callout;
}

typedef struct view {
    const single_layer *coating;
    bc_quantity quantity;
    double aoi_rad;
} view;

static double s_over_p(double wavelength_nm, const void *context)
{
    const view *v = context;
    const airy_value s = airy(v->coating, BC_S, wavelength_nm, v->aoi_rad);
    const airy_value p = airy(v->coating, BC_P, wavelength_nm, v->aoi_rad);
    return v->quantity == BC_R ? s.R / p.R : s.T / p.T;
}

/* R of s over that of p is (cos(a - b) / cos(a + b))^2, T of s over that of p cos(a - b)^2, where b is the angle behind
 * the surface. (Fresnel; Born and Wolf, ch. 1.5.) */
START_TEST(bare_substrate)
{
    const double aoi_deg = 20.0 + 30.0 * _i, a = aoi_deg * DEGREES, b = asin(sin(a) / 1.52);
    const double R = pow(cos(a - b) / cos(a + b), 2.0), T = pow(cos(a - b), 2.0);
    bench_stack bench;
    lay_layer(&bench, &bare);
    for (int sense = BC_AT_MOST; sense <= BC_AT_LEAST; sense++)
        for (int statistic = BC_EXTREME; statistic <= BC_AVERAGE; statistic++) {
            bc_callout of_R = ratio_of(BC_R, (bc_sense)sense, aoi_deg), of_T = ratio_of(BC_T, (bc_sense)sense, aoi_deg);
            of_R.statistic = of_T.statistic = (bc_statistic)statistic;
            expect_near(find(&bench.stack, &of_R, NULL).value, R, 1e-11 * R);
            expect_near(find(&bench.stack, &of_T, NULL).value, T, 1e-13);
            ck_assert_int_eq(find(&bench.stack, &of_T, NULL).at_polarization, BC_POL_RATIO);
        }
}
END_TEST

/* A layer of some fringes: the worst wavelength lies anywhere, and an average is that of the ratios. */
START_TEST(one_layer)
{
    const bc_quantity quantity = _i < 2 ? BC_T : BC_R;
    const bc_sense sense = _i % 2 == 0 ? BC_AT_MOST : BC_AT_LEAST;
    const view v = {&thick, quantity, 40.0 * DEGREES};
    const extreme worst = brute_extreme(s_over_p, &v, 450.0, 650.0, 100001, sense == BC_AT_MOST ? 1.0 : -1.0);
    bc_callout callout = ratio_of(quantity, sense, 40.0);
    bench_stack bench;
    bc_finding finding;
    lay_layer(&bench, &thick);
    finding = find(&bench.stack, &callout, NULL);
    expect_near(finding.value, worst.value, 1e-9 * worst.value);
    expect_near(s_over_p(finding.at_nm, &v), worst.value, 1e-9 * worst.value); /* all fringes go as far */
    callout.statistic = BC_AVERAGE;
    expect_near(find(&bench.stack, &callout, NULL).value, brute_mean(s_over_p, &v, 450.0, 650.0, 20000), 1e-6);
}
END_TEST

/* Over a range of angles the worst is looked for in both: on a grid of 2001 by 201 nothing is worse. */
START_TEST(over_angles)
{
    const bc_quantity quantity = _i < 2 ? BC_T : BC_R;
    const bool most = _i % 2 == 0;
    bc_callout callout = ratio_of(quantity, most ? BC_AT_MOST : BC_AT_LEAST, 0.0);
    double worst = most ? 0.0 : 1e9;
    bench_stack bench;
    bc_finding finding;
    callout.aoi_to_rad = 50.0 * DEGREES;
    for (int a = 0; a <= 200; a++)
        for (int i = 0; i <= 2000; i++) {
            const view v = {&thick, quantity, 0.25 * a * DEGREES};
            const double value = s_over_p(450.0 + 0.1 * i, &v);
            worst = most ? fmax(worst, value) : fmin(worst, value);
        }
    lay_layer(&bench, &thick);
    finding = find(&bench.stack, &callout, NULL);
    ck_assert(most ? finding.value >= worst * (1.0 - 1e-9) : finding.value <= worst * (1.0 + 1e-9));
    expect_near(finding.value, worst, 1e-3 * worst);
}
END_TEST

/* By hand. Below the ideal nothing is used of a limit above it, and the other way round. */
START_TEST(share_of_the_limit)
{
    static const struct {
        bc_sense sense;
        double limit, value, used;
    } cases[] = {{BC_AT_MOST, 1.02, 1.02, 1.0},  {BC_AT_MOST, 1.02, 1.01, 0.5},  {BC_AT_MOST, 1.02, 1.06, 3.0},
                 {BC_AT_MOST, 1.02, 0.9, 0.0},   {BC_AT_MOST, 0.5, 0.25, 0.5},   {BC_AT_MOST, 1.0, 0.5, 0.5},
                 {BC_AT_LEAST, 0.98, 0.98, 1.0}, {BC_AT_LEAST, 0.98, 0.96, 2.0}, {BC_AT_LEAST, 0.98, 1.3, 0.0}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const bc_callout callout = {
            .sense = cases[i].sense, .limit = cases[i].limit, .polarization = BC_POL_RATIO, .quantity = BC_T};
        expect_near(bc_limit_used(&callout, cases[i].value), cases[i].used, 1e-12);
    }
}
END_TEST

/* Where p vanishes the ratio is cut; where both do, neither is favoured. */
START_TEST(next_to_nothing)
{
    ck_assert(bc_ratio_s_p(0.3, 0.2) == 0.3 / 0.2 && bc_ratio_s_p(0.0, 0.2) == 0.0);
    ck_assert(bc_ratio_s_p(0.3, 0.0) == BC_RATIO_MOST && bc_ratio_s_p(1.0, 1e-9) == BC_RATIO_MOST);
    ck_assert(bc_ratio_s_p(0.0, 0.0) == 1.0);
}
END_TEST

/* The curves that a picture shows are the ratio, 1 at normal incidence. */
START_TEST(curves_of_a_picture)
{
    bc_callout callout = ratio_of(BC_T, BC_AT_LEAST, 0.0);
    const bc_callouts callouts = {.count = 1, .callout = &callout};
    bench_stack bench;
    bc_check_result result;
    bc_check_curves curves;
    callout.aoi_to_rad = 40.0 * DEGREES;
    lay_layer(&bench, &thick);
    ck_assert_int_eq(bc_check(&bench.stack, &callouts, 1, &bench.stack.substrate, NULL, &result, NULL), BC_OK);
    ck_assert_int_eq(bc_check_curves_compute(&bench.stack, NULL, &result, &curves, NULL), BC_OK);
    ck_assert_uint_eq(curves.lights, 1);
    ck_assert_uint_ge(curves.light[0].curves, 2);
    for (size_t c = 0; c < curves.light[0].curves; c++) {
        const bc_light_curve *shown = &curves.light[0].curve[c];
        const view v = {&thick, BC_T, shown->aoi_rad};
        ck_assert_int_eq(shown->plane, BC_POL_RATIO);
        for (size_t i = 0; i < curves.count; i += 37)
            expect_near(shown->value[i], s_over_p(curves.wavelength_nm[i], &v), 1e-11);
    }
    bc_check_curves_clear(&curves);
    bc_check_result_clear(&result);
}
END_TEST

TCase *ratio_case(void)
{
    TCase *tests = tcase_create("ratio");
    tcase_add_checked_fixture(tests, open_bench, close_bench);
    tcase_add_loop_test(tests, bare_substrate, 0, 2);
    tcase_add_loop_test(tests, one_layer, 0, 4);
    tcase_add_loop_test(tests, over_angles, 0, 4);
    tcase_add_test(tests, share_of_the_limit);
    tcase_add_test(tests, next_to_nothing);
    tcase_add_test(tests, curves_of_a_picture);
    return tests;
}
