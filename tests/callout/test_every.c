/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The worst wavelength of a band, where it is known: at an end, between samples, on a fringe far narrower than the
 * band.
 */
#include "bench.h"
#include "brute.h"
#include "near.h"
#include "suites.h"
#include <stdlib.h>

/* Brent's method ends at an interval of 1e-7 of the place; a peak is flat there to rounding. */
#define PLACE 1e-6 /* of the wavelength */
#define VALUE 1e-11

static const single_layer quarter = {1.0, 1.38, 1.52, 550.0 / 4.0 / 1.38};

typedef struct view {
    const single_layer *coating;
    bc_plane plane;
    double aoi_rad;
} view;

static double R_of(double wavelength_nm, const void *context)
{
    const view *v = context;
    return airy(v->coating, v->plane, wavelength_nm, v->aoi_rad).R;
}

static double A_of(double wavelength_nm, const void *context)
{
    const view *v = context;
    const airy_value value = airy(v->coating, v->plane, wavelength_nm, v->aoi_rad);
    return 1.0 - value.R - value.T;
}

/* R = ((n - 1)/(n + 1))^2 at any wavelength. (Fresnel; Born and Wolf, Principles of Optics, ch. 1.5) */
START_TEST(bare_glass)
{
    static const single_layer bare = {1.0, 1.0, 1.52, 0.0};
    const double R = pow(0.52 / 2.52, 2.0);
    bench_stack bench;
    bc_callout callout = callout_of(420.0, 680.0);
    lay_layer(&bench, &bare);
    for (int statistic = BC_EXTREME; statistic <= BC_AVERAGE; statistic++) {
        for (int sense = BC_AT_MOST; sense <= BC_AT_LEAST; sense++) {
            callout.statistic = (bc_statistic)statistic;
            callout.sense = (bc_sense)sense;
            callout.quantity = BC_R;
            expect_near(find(&bench.stack, &callout, NULL).value, R, 1e-14);
            callout.quantity = BC_T;
            expect_near(find(&bench.stack, &callout, NULL).value, 1.0 - R, 1e-14);
            callout.quantity = BC_A;
            expect_near(find(&bench.stack, &callout, NULL).value, 0.0, 1e-14);
        }
    }
}
END_TEST

typedef struct heard {
    int calls;
    double last;
} heard;

static void hear(void *context, double fraction)
{
    heard *h = context;
    ck_assert_double_gt(fraction, h->last);
    h->last = fraction;
    h->calls++;
}

/* How far it is rises to the whole, over two rows and two substrates; and the result is that of a check without, to the
 * last bit, though it computes the wavelengths in blocks. */
START_TEST(a_long_check_says_how_far_it_is)
{
    enum { LAYERS = 2000 };
    bc_layer *layer = calloc(LAYERS, sizeof *layer);
    const bc_medium high = constant("high", 2.1), low = constant("low", 1.38);
    bc_medium substrate[2] = {constant("1.52", 1.52), constant("1.7", 1.7)};
    bc_callout row[2] = {callout_of(450.0, 720.0), callout_of(440.0, 700.0)};
    const bc_callouts callouts = {.count = 2, .callout = row};
    const bc_stack stack = {
        .incident = constant("air", 1.0), .layers = LAYERS, .layer = layer, .substrate = substrate[0]};
    bc_check_result plain, watched;
    heard h = {0, 0.0};
    row[1].statistic = BC_AVERAGE;
    for (int j = 0; j < LAYERS; j++)
        layer[j] = (bc_layer){.material = j % 2 == 0 ? high : low, .thickness_nm = 60.0 + 7 * j % 50};
    ck_assert_int_eq(bc_check(&stack, &callouts, 2, substrate, NULL, &plain, NULL), BC_OK);
    ck_assert_int_eq(bc_check_with_progress(&stack, &callouts, 2, substrate, NULL, hear, &h, &watched, NULL), BC_OK);
    ck_assert_int_gt(h.calls, 4);
    ck_assert_double_eq_tol(h.last, 1.0, 1e-12);
    ck_assert_uint_eq(watched.count, 4);
    for (size_t f = 0; f < plain.count; f++) {
        ck_assert_double_eq(watched.finding[f].value, plain.finding[f].value);
        ck_assert_double_eq(watched.finding[f].at_nm, plain.finding[f].at_nm);
    }
    bc_check_result_clear(&plain);
    bc_check_result_clear(&watched);
    free(layer);
}
END_TEST

/* A quarter wave of 550 nm is least at 550 nm and rises to both sides: the end that is farther off in 1/wavelength is
 * worst, and it is a sample. */
START_TEST(band_edge)
{
    static const struct {
        double from_nm, to_nm, worst_nm;
    } bands[] = {{450.0, 600.0, 450.0}, {540.0, 700.0, 700.0}, {551.0, 552.0, 552.0}, {500.0, 549.0, 500.0}};
    bench_stack bench;
    lay_layer(&bench, &quarter);
    for (size_t i = 0; i < sizeof bands / sizeof *bands; i++) {
        bc_callout callout = callout_of(bands[i].from_nm, bands[i].to_nm);
        bc_finding finding = find(&bench.stack, &callout, NULL);
        ck_assert(finding.at_nm == bands[i].worst_nm);
        expect_near(finding.value, airy_mean(&quarter, bands[i].worst_nm, 0.0).R, 1e-14);
        callout.quantity = BC_T;
        callout.sense = BC_AT_LEAST;
        callout.limit = 0.95;
        finding = find(&bench.stack, &callout, NULL);
        ck_assert(finding.at_nm == bands[i].worst_nm);
        expect_near(finding.value, airy_mean(&quarter, bands[i].worst_nm, 0.0).T, 1e-14);
    }
}
END_TEST

/* Its least R, ((n0 ns - n1^2)/(n0 ns + n1^2))^2 at 550 nm, is the worst of an R that must be large and of a T that
 * must be small. (Born and Wolf, ch. 1.6.4) The bands put 550 nm at every fraction of a step. */
START_TEST(between_samples)
{
    const double least = pow((1.52 - 1.38 * 1.38) / (1.52 + 1.38 * 1.38), 2.0);
    bench_stack bench;
    lay_layer(&bench, &quarter);
    for (int i = 0; i < 20; i++) {
        bc_callout callout = callout_of(420.0 + 0.137 * i, 680.0 + 0.211 * i);
        bc_finding finding;
        callout.sense = BC_AT_LEAST;
        finding = find(&bench.stack, &callout, NULL);
        expect_near(finding.at_nm, 550.0, 550.0 * PLACE);
        expect_near(finding.value, least, VALUE);
        callout.sense = BC_AT_MOST;
        callout.quantity = BC_T;
        finding = find(&bench.stack, &callout, NULL);
        expect_near(finding.at_nm, 550.0, 550.0 * PLACE);
        expect_near(finding.value, 1.0 - least, VALUE);
    }
}
END_TEST

/* 20 um of 1.38 on 1.80: R swings between the bare 8.16 % where the layer is whole half waves (absent: Born and Wolf,
 * ch. 1.6.4) and next to nothing, some 60 times over the band. The peak value and its phase are known to the last
 * digit. */
START_TEST(narrow_fringes)
{
    static const single_layer thick = {1.0, 1.38, 1.80, 20000.0};
    const double bare = pow(0.80 / 2.80, 2.0);
    bench_stack bench;
    lay_layer(&bench, &thick);
    for (int i = 0; i < 10; i++) {
        const bc_callout callout = callout_of(400.0 + 0.71 * i, 700.0 + 1.13 * i);
        const bc_finding finding = find(&bench.stack, &callout, NULL);
        const double half_waves = 2.0 * 1.38 * thick.thickness_nm / finding.at_nm;
        expect_near(finding.value, bare, VALUE);
        expect_near(half_waves, round(half_waves), PLACE * half_waves);
    }
}
END_TEST

/* Fringes on a glass of falling index: each half-wave point has the bare R of its own wavelength, and none may be worse
 * than what was found. The band begins at a quarter wave. */
START_TEST(unequal_fringes)
{
    static const double table_nm[] = {380.0, 1200.0}, n[] = {1.90, 1.80};
    const bc_medium glass = table("falling", 2, table_nm, n);
    for (int i = 0; i < 40; i++) {
        const single_layer thick = {1.0, 1.38, 1.80, 15000.0 + 137.0 * i};
        const double path_nm = 2.0 * 1.38 * thick.thickness_nm, most = floor(path_nm / 400.0);
        const bc_callout callout = callout_of(path_nm / (most + 0.5), 700.0);
        double worst = 0.0;
        bench_stack bench;
        lay_layer(&bench, &thick);
        bench.stack.substrate = glass;
        for (double m = most; path_nm / m <= 700.0; m -= 1.0) {
            const double glass_n = n[0] + (n[1] - n[0]) * (path_nm / m - table_nm[0]) / (table_nm[1] - table_nm[0]);
            worst = fmax(worst, pow((glass_n - 1.0) / (glass_n + 1.0), 2.0));
        }
        expect_true(find(&bench.stack, &callout, NULL).value >= worst - VALUE);
    }
}
END_TEST

/* One half-wave point alone in a band narrower than a fringe. */
START_TEST(one_fringe)
{
    static const single_layer thick = {1.0, 1.38, 1.80, 20000.0};
    bench_stack bench;
    lay_layer(&bench, &thick);
    for (int m = 80; m < 138; m++) {
        const double peak_nm = 2.0 * 1.38 * thick.thickness_nm / m, fringe_nm = peak_nm / m;
        const bc_callout callout = callout_of(peak_nm - fringe_nm * (0.08 + 0.005 * (m - 80)),
                                              peak_nm + fringe_nm * (0.45 - 0.005 * (m - 80)));
        const bc_finding finding = find(&bench.stack, &callout, NULL);
        expect_near(finding.at_nm, peak_nm, peak_nm * PLACE);
        expect_near(finding.value, pow(0.80 / 2.80, 2.0), VALUE);
    }
}
END_TEST

/* The peak between the last two samples, so near the end that the end is higher than its neighbour. */
START_TEST(peak_beside_an_end)
{
    static const single_layer thick = {1.0, 1.38, 1.80, 20000.0};
    const double peak_nm = 460.0; /* 120 half waves */
    bench_stack bench;
    lay_layer(&bench, &thick);
    for (int i = 0; i < 10; i++) {
        const double width_nm = 3.0, beyond_nm = width_nm / 200.0 * (0.02 + 0.05 * i);
        const bc_callout low = callout_of(peak_nm - beyond_nm, peak_nm - beyond_nm + width_nm);
        const bc_callout high = callout_of(peak_nm + beyond_nm - width_nm, peak_nm + beyond_nm);
        bc_finding finding = find(&bench.stack, &low, NULL);
        expect_near(finding.value, pow(0.80 / 2.80, 2.0), VALUE);
        expect_near(finding.at_nm, peak_nm, peak_nm * PLACE);
        finding = find(&bench.stack, &high, NULL);
        expect_near(finding.value, pow(0.80 / 2.80, 2.0), VALUE);
        expect_near(finding.at_nm, peak_nm, peak_nm * PLACE);
    }
}
END_TEST

/* A high index layer and a metal substrate give fringes of other shapes; the worst of a fine grid. */
START_TEST(against_a_fine_grid)
{
    static const single_layer layers[] = {{1.0, 2.35, 1.52, 3000.0},
                                          {1.0, 3.5, 1.45, 1500.0},
                                          {1.33, 1.46, 4.0, 2500.0},
                                          {1.0, 1.8, CMPLX(0.9, -3.0), 700.0},
                                          {1.0, CMPLX(2.0, -0.01), 1.52, 2000.0}};
    for (size_t c = 0; c < 4 * sizeof layers / sizeof *layers; c++) {
        const view v = {&layers[c / 4], c % 2 ? BC_P : BC_S, c / 2 % 2 ? 0.8 : 0.0};
        bench_stack bench;
        bc_callout callout = callout_of(430.0, 701.0);
        lay_layer(&bench, v.coating);
        callout.polarization = v.plane == BC_S ? BC_POL_S : BC_POL_P;
        callout.aoi_from_rad = callout.aoi_to_rad = v.aoi_rad;
        for (int sense = BC_AT_MOST; sense <= BC_AT_LEAST; sense++) {
            const double sign = sense == BC_AT_MOST ? 1.0 : -1.0;
            const extreme worst = brute_extreme(R_of, &v, callout.from_nm, callout.to_nm, 50000, sign);
            callout.sense = (bc_sense)sense;
            expect_near(find(&bench.stack, &callout, NULL).value, worst.value, 1e-9);
        }
    }
}
END_TEST

/* A of an absorbing layer, largest and smallest, in both planes. */
START_TEST(absorbing_layer)
{
    static const single_layer layers[] = {{1.0, CMPLX(2.1, -0.08), 1.52, 260.0}, {1.0, CMPLX(3.1, -3.3), 1.52, 15.0}};
    for (size_t c = 0; c < 8; c++) {
        const view v = {&layers[c / 4], c % 2 ? BC_P : BC_S, c / 2 % 2 ? 0.9 : 0.0};
        const double sign = c / 2 % 2 ? 1.0 : -1.0;
        bench_stack bench;
        bc_callout callout = callout_of(400.0, 800.0);
        bc_finding finding;
        extreme worst;
        lay_layer(&bench, v.coating);
        callout.quantity = BC_A;
        callout.sense = sign > 0.0 ? BC_AT_MOST : BC_AT_LEAST;
        callout.polarization = v.plane == BC_S ? BC_POL_S : BC_POL_P;
        callout.aoi_from_rad = callout.aoi_to_rad = v.aoi_rad;
        finding = find(&bench.stack, &callout, NULL);
        worst = brute_extreme(A_of, &v, 400.0, 800.0, 20000, sign);
        expect_near(finding.value, worst.value, VALUE);
        expect_near(finding.at_nm, worst.at, worst.at * PLACE);
        ck_assert_double_gt(finding.value, 0.01);
    }
}
END_TEST

/* Each of s and p: the worse of the two is named. */
START_TEST(each_takes_the_worse_plane)
{
    static const single_layer metal = {1.0, CMPLX(3.1, -3.3), 1.52, 15.0};
    const double aoi_rad = 50.0 * DEGREES;
    for (int c = 0; c < 12; c++) {
        const single_layer *coating = c < 6 ? &quarter : &metal;
        const bc_quantity quantity = (bc_quantity)(c % 3);
        const bc_sense sense = (bc_sense)(c / 3 % 2);
        bench_stack bench;
        bc_callout callout = callout_of(500.0, 600.0);
        bc_finding of[2], each;
        bool s_is_worse;
        lay_layer(&bench, coating);
        callout.quantity = quantity;
        callout.sense = sense;
        callout.aoi_from_rad = callout.aoi_to_rad = aoi_rad;
        for (int p = BC_S; p <= BC_P; p++) {
            callout.polarization = p == BC_S ? BC_POL_S : BC_POL_P;
            of[p] = find(&bench.stack, &callout, NULL);
            ck_assert_int_eq(of[p].at_polarization, callout.polarization);
        }
        if (coating == &quarter && quantity == BC_A)
            continue;
        s_is_worse = (of[0].value > of[1].value) == (sense == BC_AT_MOST);
        callout.polarization = BC_POL_EACH;
        each = find(&bench.stack, &callout, NULL);
        ck_assert_int_eq(each.at_polarization, s_is_worse ? BC_POL_S : BC_POL_P);
        ck_assert(each.value == of[s_is_worse ? 0 : 1].value);
        ck_assert(each.at_nm == of[s_is_worse ? 0 : 1].at_nm);
        if (coating == &quarter) /* at 50 degrees s reflects more than p at every wavelength here */
            ck_assert(s_is_worse == ((quantity == BC_R) == (sense == BC_AT_MOST)));
    }
}
END_TEST

/* The mean of s and p is the mean at each wavelength, not of their worst points. */
START_TEST(unpolarized)
{
    bench_stack bench;
    bc_callout callout = callout_of(400.0, 700.0);
    bc_finding finding;
    lay_layer(&bench, &quarter);
    callout.aoi_from_rad = callout.aoi_to_rad = 60.0 * DEGREES;
    finding = find(&bench.stack, &callout, NULL);
    ck_assert_int_eq(finding.at_polarization, BC_POL_UNPOLARIZED);
    expect_near(finding.value, airy_mean(&quarter, finding.at_nm, 60.0 * DEGREES).R, 1e-14);
}
END_TEST

START_TEST(band_of_one_wavelength)
{
    bench_stack bench;
    bc_callout callout = callout_of(632.8, 632.8);
    lay_layer(&bench, &quarter);
    for (int statistic = BC_EXTREME; statistic <= BC_AVERAGE; statistic++) {
        bc_finding finding;
        callout.statistic = (bc_statistic)statistic;
        finding = find(&bench.stack, &callout, NULL);
        ck_assert(finding.at_nm == 632.8);
        expect_near(finding.value, airy_mean(&quarter, 632.8, 0.0).R, 1e-14);
    }
}
END_TEST

TCase *every_case(void)
{
    TCase *tests = tcase_create("every");
    tcase_add_checked_fixture(tests, open_bench, close_bench);
    tcase_add_test(tests, bare_glass);
    tcase_add_test(tests, band_edge);
    tcase_add_test(tests, between_samples);
    tcase_add_test(tests, narrow_fringes);
    tcase_add_test(tests, unequal_fringes);
    tcase_add_test(tests, one_fringe);
    tcase_add_test(tests, peak_beside_an_end);
    tcase_add_test(tests, against_a_fine_grid);
    tcase_add_test(tests, absorbing_layer);
    tcase_add_test(tests, each_takes_the_worse_plane);
    tcase_add_test(tests, unpolarized);
    tcase_add_test(tests, band_of_one_wavelength);
    tcase_add_test(tests, a_long_check_says_how_far_it_is);
    return tests;
}
