/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The worst angle of a range: at its ends, or between the samples of 5 degrees.
 */
#include "bench.h"
#include "brute.h"
#include "near.h"
#include "suites.h"

#define PLACE 1e-6 /* rad */
#define VALUE 1e-11

static bc_callout range_of(double from_nm, double to_nm, double from_deg, double to_deg, bc_polarization polarization)
{
    bc_callout callout = callout_of(from_nm, to_nm);
    callout.aoi_from_rad = from_deg * DEGREES;
    callout.aoi_to_rad = to_deg * DEGREES;
    callout.polarization = polarization;
    return callout;
}

/* Fresnel: Rs = sin^2(i-t)/sin^2(i+t), Rp = tan^2(i-t)/tan^2(i+t). (Born and Wolf, Principles of Optics, ch. 1.5) */
static double fresnel(double n, double aoi_rad, bc_polarization polarization)
{
    const double t = asin(sin(aoi_rad) / n), normal = pow((n - 1.0) / (n + 1.0), 2.0);
    const double s = aoi_rad == 0.0 ? normal : pow(sin(aoi_rad - t) / sin(aoi_rad + t), 2.0);
    const double p = aoi_rad == 0.0 ? normal : pow(tan(aoi_rad - t) / tan(aoi_rad + t), 2.0);
    return polarization == BC_POL_S ? s : polarization == BC_POL_P ? p : 0.5 * (s + p);
}

/* Bare glass, 0 to 60 degrees: s rises all the way, p falls to Brewster's angle (56.7 degrees) and is still small at
 * 60, their mean rises. */
START_TEST(bare_glass)
{
    static const single_layer bare = {1.0, 1.0, 1.52, 0.0};
    static const struct {
        bc_polarization polarization;
        bc_sense sense;
        double worst_deg;
    } cases[] = {{BC_POL_S, BC_AT_MOST, 60.0},    {BC_POL_P, BC_AT_MOST, 0.0},  {BC_POL_UNPOLARIZED, BC_AT_MOST, 60.0},
                 {BC_POL_EACH, BC_AT_MOST, 60.0}, {BC_POL_S, BC_AT_LEAST, 0.0}, {BC_POL_UNPOLARIZED, BC_AT_LEAST, 0.0}};
    bench_stack bench;
    lay_layer(&bench, &bare);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const bc_polarization plane = cases[i].polarization == BC_POL_EACH ? BC_POL_S : cases[i].polarization;
        for (int statistic = BC_EXTREME; statistic <= BC_AVERAGE; statistic++) {
            bc_callout callout = range_of(420.0, 680.0, 0.0, 60.0, cases[i].polarization);
            bc_finding finding;
            callout.sense = cases[i].sense;
            callout.statistic = (bc_statistic)statistic;
            finding = find(&bench.stack, &callout, NULL);
            ck_assert_int_eq(finding.at_polarization, plane);
            expect_near(finding.value, fresnel(1.52, cases[i].worst_deg * DEGREES, plane), 1e-13);
            if (cases[i].sense == BC_AT_MOST)
                ck_assert(finding.at_aoi_rad == cases[i].worst_deg * DEGREES);
        }
    }
}
END_TEST

/* At Brewster's angle, tan(aoi) = n, p comes back not at all: the worst of "at least", between any two samples. (Born
 * and Wolf, ch. 1.5.3) */
START_TEST(brewster)
{
    static const double n[] = {1.38, 1.52, 1.8, 2.4, 4.0};
    for (size_t i = 0; i < 2 * sizeof n / sizeof *n; i++) {
        const single_layer bare = {1.0, 1.0, n[i / 2], 0.0};
        bc_callout callout = range_of(500.0, 600.0, 40.0, 85.0, i % 2 ? BC_POL_EACH : BC_POL_P);
        bench_stack bench;
        lay_layer(&bench, &bare);
        callout.sense = BC_AT_LEAST;
        for (int statistic = BC_EXTREME; statistic <= BC_AVERAGE; statistic++) {
            bc_finding finding;
            callout.statistic = (bc_statistic)statistic;
            finding = find(&bench.stack, &callout, NULL);
            ck_assert_int_eq(finding.at_polarization, BC_POL_P);
            expect_near(finding.value, 0.0, 1e-12);
            expect_near(finding.at_aoi_rad, atan(n[i / 2]), PLACE);
        }
    }
}
END_TEST

typedef struct view {
    const single_layer *coating;
    bc_polarization polarization;
    double wavelength_nm;
} view;

static double R_at(const view *v, double wavelength_nm, double aoi_rad)
{
    return v->polarization == BC_POL_UNPOLARIZED
               ? airy_mean(v->coating, wavelength_nm, aoi_rad).R
               : airy(v->coating, v->polarization == BC_POL_S ? BC_S : BC_P, wavelength_nm, aoi_rad).R;
}

static double R_along_angle(double aoi_rad, const void *context)
{
    const view *v = context;
    return R_at(v, v->wavelength_nm, aoi_rad);
}

/* One wavelength, and a layer whose half wave passes it somewhere between two samples: 5.5 half waves thick at normal
 * incidence or more, so that R rises and falls within the range. */
START_TEST(half_wave_at_an_angle)
{
    for (int c = 0; c < 30; c++) {
        const double absent_deg = 16.0 + 0.83 * (c % 10), n = 1.38;
        const double cosine = sqrt(1.0 - pow(sin(absent_deg * DEGREES) / n, 2.0));
        const single_layer layer = {1.0, n, 1.80, 10.0 * 550.0 / (2.0 * n * cosine)};
        const view v = {&layer, (bc_polarization)(c / 10), 550.0};
        const bc_callout callout = range_of(550.0, 550.0, 7.0, 34.0, v.polarization);
        const extreme worst = brute_extreme(R_along_angle, &v, callout.aoi_from_rad, callout.aoi_to_rad, 20000, 1.0);
        bench_stack bench;
        bc_finding finding;
        lay_layer(&bench, &layer);
        finding = find(&bench.stack, &callout, NULL);
        expect_near(worst.at, absent_deg * DEGREES, 2.0 * DEGREES);
        expect_near(finding.at_aoi_rad, worst.at, PLACE);
        expect_near(finding.value, worst.value, VALUE);
        ck_assert(finding.at_nm == 550.0);
    }
}
END_TEST

/* One layer of any thickness up to 4 um at one wavelength: the worst angle may lie beside an end of the range, or on
 * another fringe than the worst sample. */
START_TEST(any_thickness)
{
    for (int c = 0; c < 120; c++) {
        const single_layer layer = {1.0, 1.38, 1.80, 100.0 + 32.5 * c};
        const view v = {&layer, BC_POL_P, 550.0};
        const bc_callout callout = range_of(550.0, 550.0, 10.0, 40.0, BC_POL_P);
        const extreme worst = brute_extreme(R_along_angle, &v, callout.aoi_from_rad, callout.aoi_to_rad, 3000, 1.0);
        bench_stack bench;
        lay_layer(&bench, &layer);
        expect_near(find(&bench.stack, &callout, NULL).value, worst.value, VALUE);
    }
}
END_TEST

/* A fringe of a thick layer that leaves a narrow band at its short end as the angle grows: s reflects more and more
 * along it, so the worst is where it leaves, at the end of the band and between two angles. */
START_TEST(fringe_that_leaves_the_band)
{
    static const double thicknesses_nm[] = {1000.0, 1500.0, 2000.0, 5000.0};
    for (int c = 0; c < 20; c++) {
        const single_layer layer = {1.0, 1.38, 1.80, thicknesses_nm[c / 5]};
        const double half_waves = floor(2.0 * 1.38 * layer.thickness_nm / 550.0);
        const double peak_nm = 2.0 * 1.38 * layer.thickness_nm / half_waves, fringe_nm = peak_nm / half_waves;
        const bc_callout callout =
            range_of(peak_nm - fringe_nm * (0.1 + 0.03 * (c % 5)), peak_nm + 0.1 * fringe_nm, 0.0, 30.0, BC_POL_S);
        const view v = {&layer, BC_POL_S, callout.from_nm};
        const extreme worst = brute_extreme(R_along_angle, &v, 0.0, 30.0 * DEGREES, 20000, 1.0);
        bench_stack bench;
        bc_finding finding;
        lay_layer(&bench, &layer);
        finding = find(&bench.stack, &callout, NULL);
        expect_near(finding.value, worst.value, 1e-9);
        expect_near(finding.at_aoi_rad, worst.at, 1e-4);
    }
}
END_TEST

static double worst_over_band(double aoi_rad, const void *context)
{
    const view *v = context;
    double worst = 0.0;
    for (int i = 0; i <= 400; i++)
        worst = fmax(worst, R_at(v, 430.0 + 0.5 * i, aoi_rad));
    return worst;
}

/* A band and a range: the worst of both is found on a grid of 0.5 nm and 0.05 degrees to the grid's own doubt. */
START_TEST(band_and_range)
{
    static const single_layer layers[] = {{1.0, 1.38, 1.52, 99.6}, {1.0, 2.1, 1.52, 130.0}, {1.0, 1.46, 3.5, 420.0}};
    for (int c = 0; c < 9; c++) {
        const view v = {&layers[c / 3], (bc_polarization)(c % 3), 0.0};
        const bc_callout callout = range_of(430.0, 630.0, 0.0, 45.0, v.polarization);
        const extreme worst = brute_extreme(worst_over_band, &v, 0.0, 45.0 * DEGREES, 900, 1.0);
        bench_stack bench;
        bc_finding finding;
        lay_layer(&bench, &layers[c / 3]);
        finding = find(&bench.stack, &callout, NULL);
        expect_near(finding.value, worst.value, 1e-5);
        expect_near(finding.value, R_at(&v, finding.at_nm, finding.at_aoi_rad), 1e-13);
        expect_true(finding.value >= worst.value - 1e-9);
    }
}
END_TEST

/* A range that is one angle. */
START_TEST(one_angle)
{
    static const single_layer layer = {1.0, 1.38, 1.52, 99.6};
    const bc_callout callout = range_of(550.0, 550.0, 33.0, 33.0, BC_POL_P);
    bench_stack bench;
    bc_finding finding;
    lay_layer(&bench, &layer);
    finding = find(&bench.stack, &callout, NULL);
    ck_assert(finding.at_aoi_rad == 33.0 * DEGREES);
    expect_near(finding.value, airy(&layer, BC_P, 550.0, 33.0 * DEGREES).R, 1e-14);
}
END_TEST

TCase *angles_case(void)
{
    TCase *tests = tcase_create("angles");
    tcase_add_checked_fixture(tests, open_bench, close_bench);
    tcase_add_test(tests, bare_glass);
    tcase_add_test(tests, brewster);
    tcase_add_test(tests, half_wave_at_an_angle);
    tcase_add_test(tests, any_thickness);
    tcase_add_test(tests, fringe_that_leaves_the_band);
    tcase_add_test(tests, band_and_range);
    tcase_add_test(tests, one_angle);
    return tests;
}
