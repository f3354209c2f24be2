/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The part of a curve that a band takes up: means against integrals of the straight lines between its points, points in
 * between against the parabola and the cubic they lie on. Uneven steps, and a gap that nothing crosses.
 */
#include "band.h"
#include "witness.h"
#include <bloomcoat/cie.h>
#include <math.h>
#include <string.h>

#define POINTS   14
#define LIMIT_NM 10.0 /* a wider step is a gap: from 430 to 450 nm; one of just half of it is not wide */
#define ROOM     (2 * POINTS + 4)

/* The last lies behind the curve, and has no say. */
static const double nm[POINTS + 1] = {400.0, 405.0, 411.0, 415.0, 422.0, 430.0, 450.0, 455.0,
                                      462.0, 470.0, 478.0, 482.0, 485.0, 490.0, 495.0};

typedef struct scene {
    double value[POINTS], random[POINTS], systematic[POINTS], angle[POINTS];
    bc_curve curve;
    double at_nm[ROOM], of_band[ROOM], noise[ROOM], shared[ROOM];
    bc_band band;
} scene;

static void make(scene *s)
{
    memset(s, 0, sizeof *s);
    for (size_t k = 0; k < POINTS; k++) {
        s->value[k] = 0.01 + 0.004 * sin(1.3 * (double)(k * k));
        s->random[k] = 1e-4 * (1.0 + 0.5 * sin((double)k));
        s->systematic[k] = 2e-4 * (1.0 + 0.3 * cos(2.0 * (double)k));
    }
    s->curve = (bc_curve){POINTS, nm, s->value, s->random, s->systematic, s->angle, INFINITY};
    s->band = (bc_band){.wavelength_nm = s->at_nm, .value = s->of_band, .random = s->noise, .systematic = s->shared};
}

/* The step that a wavelength lies in; POINTS: none, or the gap. */
static size_t step_of(double at)
{
    for (size_t k = 0; k + 1 < POINTS; k++)
        if (at >= nm[k] && at < nm[k + 1])
            return nm[k + 1] - nm[k] > LIMIT_NM ? POINTS : k;
    return POINTS;
}

/* What each point counts: of the straight lines between them, in steps of a thousandth nm. */
static double weigh(const bc_weight *weight, double from, double to, double share[POINTS])
{
    const size_t pieces = (size_t)lround((to - from) * 1000.0);
    double all = 0.0;
    memset(share, 0, POINTS * sizeof *share);
    for (size_t i = 0; i < pieces; i++) {
        const double at = from + (to - from) * ((double)i + 0.5) / (double)pieces;
        const double w = weight == NULL ? 1.0 : bc_weight_at(weight, at);
        const size_t k = step_of(at);
        all += w;
        if (k == POINTS)
            continue;
        share[k] += w * (nm[k + 1] - at) / (nm[k + 1] - nm[k]);
        share[k + 1] += w * (at - nm[k]) / (nm[k + 1] - nm[k]);
    }
    return all;
}

/* A luminous value is a sum over the wavelengths of the CIE; one that was measured belongs to its reading alone. */
static double weigh_sum(const bc_weight *weight, double share[POINTS])
{
    double all = 0.0;
    memset(share, 0, POINTS * sizeof *share);
    for (int row = 0; row < BC_CIE_ROWS; row++) {
        const double at = 380.0 + 5.0 * row, w = bc_weight_at(weight, at);
        const size_t k = step_of(at);
        bool measured = false;
        all += w;
        for (size_t i = 0; i < POINTS; i++)
            if (nm[i] == at) {
                share[i] += w;
                measured = true;
            }
        if (measured || k == POINTS)
            continue;
        share[k] += w * (nm[k + 1] - at) / (nm[k + 1] - nm[k]);
        share[k + 1] += w * (at - nm[k]) / (nm[k + 1] - nm[k]);
    }
    return all;
}

typedef struct band_case {
    double from, to;
    size_t samples;
    double widest;
    bool gap, ends;
} band_case;

static const band_case cases[] = {
    {402.0, 488.0, 12, 20.0, true, true}, {400.0, 490.0, 14, 20.0, true, true}, {405.0, 430.0, 5, 8.0, false, true},
    {398.0, 426.0, 5, 8.0, false, false}, {460.0, 495.0, 6, 8.0, false, false}, {433.0, 447.0, 0, 20.0, true, true},
    {406.0, 410.0, 0, 6.0, false, true},  {425.0, 452.0, 2, 20.0, true, true},  {450.0, 470.0, 4, 8.0, false, true},
};
#define CASES ((int)(sizeof cases / sizeof *cases))

static void expect_survey(const band_case *c, const bc_band *band)
{
    ck_assert_uint_eq(band->samples, c->samples);
    ck_assert_double_eq_tol(band->widest_nm, c->widest, 1e-12);
    ck_assert_int_eq(band->has_gap, c->gap);
    ck_assert_int_eq(band->reaches_ends, c->ends);
    ck_assert_double_eq_tol(band->covered_from_nm, fmax(c->from, 400.0), 1e-6);
    ck_assert_double_eq_tol(band->covered_to_nm, fmin(c->to, 490.0), 1e-6);
}

/* Loop: each band plain and with a weight. */
START_TEST(a_mean_is_the_integral_of_straight_lines)
{
    const band_case *c = &cases[_i / 2];
    const double close = _i % 2 == 0 ? 1e-9 : 5e-4; /* the program's own pieces of a weight are coarser */
    bc_callout callout = {.statistic = BC_AVERAGE, .from_nm = c->from, .to_nm = c->to};
    double share[POINTS], total = 0.0, value = 0.0, variance = 0.0, systematic = 0.0;
    scene s;
    make(&s);
    callout.weight = _i % 2 == 0 ? NULL : bc_weight_shipped("A*photopic");
    const double all = weigh(callout.weight, c->from, c->to, share);
    for (size_t k = 0; k < POINTS; k++)
        total += share[k];
    for (size_t k = 0; k < POINTS && total > 0.0; k++) {
        value += share[k] * s.value[k] / total;
        variance += pow(share[k] * s.random[k] / total, 2.0);
        systematic += share[k] * s.systematic[k] / total;
    }
    for (int again = 0; again < 2; again++) /* nothing stays of what a band held before */
        bc_band_mean(&s.curve, &callout, LIMIT_NM, &s.band);
    expect_survey(c, &s.band);
    ck_assert_double_eq_tol(s.band.covered_share, total / all, close);
    ck_assert_uint_eq(s.band.count, total > 0.0 ? 1 : 0);
    if (total > 0.0) {
        ck_assert_double_eq_tol(s.of_band[0] / value, 1.0, close);
        ck_assert_double_eq_tol(s.noise[0] / sqrt(variance), 1.0, close);
        ck_assert_double_eq_tol(s.shared[0] / systematic, 1.0, close);
        ck_assert_double_eq_tol(s.at_nm[0], 0.5 * (c->from + c->to), 1e-12);
    }
}
END_TEST

START_TEST(a_luminous_mean_is_a_sum)
{
    const bc_callout callout = {
        .statistic = BC_AVERAGE, .from_nm = 380.0, .to_nm = 780.0, .weight = bc_weight_luminous()};
    double share[POINTS], total = 0.0, value = 0.0, variance = 0.0;
    scene s;
    make(&s);
    const double all = weigh_sum(callout.weight, share);
    for (size_t k = 0; k < POINTS; k++)
        total += share[k];
    for (size_t k = 0; k < POINTS; k++) {
        value += share[k] * s.value[k] / total;
        variance += pow(share[k] * s.random[k] / total, 2.0);
    }
    bc_band_mean(&s.curve, &callout, LIMIT_NM, &s.band);
    ck_assert_double_eq_tol(s.of_band[0] / value, 1.0, 1e-12);
    ck_assert_double_eq_tol(s.noise[0] / sqrt(variance), 1.0, 1e-12);
    ck_assert_double_eq_tol(s.band.covered_share / (total / all), 1.0, 1e-12);
    ck_assert(s.band.has_gap && !s.band.reaches_ends);
}
END_TEST

static double polynomial(double at, bool cubic)
{
    const double x = (at - 440.0) / 40.0, side = at < 440.0 ? 0.3 : -0.7; /* another curve beyond the gap */
    return side + x * (0.4 + x * (0.9 + (cubic ? -1.1 * x : 0.0)));
}

/* Points within the band, the middles of steps wider than half of what is allowed, and its ends: all on a parabola,
 * which three points have exactly, and none made from both sides of the gap. */
START_TEST(points_lie_on_the_curve)
{
    const band_case *c = &cases[_i];
    const bc_callout callout = {.statistic = BC_EXTREME, .from_nm = c->from, .to_nm = c->to};
    double expected[ROOM];
    size_t count = 0;
    scene s;
    make(&s);
    for (size_t k = 0; k < POINTS; k++) {
        const double step = k + 1 < POINTS ? nm[k + 1] - nm[k] : 0.0, middle = nm[k] + 0.5 * step;
        s.value[k] = polynomial(nm[k], false);
        if (nm[k] >= c->from && nm[k] <= c->to)
            expected[count++] = nm[k];
        if (step > 0.5 * LIMIT_NM && step <= LIMIT_NM && middle > c->from && middle < c->to)
            expected[count++] = middle;
    }
    for (int end = 0; end < 2; end++) {
        const double at = end == 0 ? c->from : c->to;
        bool measured = false;
        for (size_t k = 0; k < POINTS; k++)
            measured = measured || nm[k] == at;
        if (!measured && step_of(at) < POINTS)
            expected[count++] = at;
    }
    bc_band_points(&s.curve, &callout, LIMIT_NM, &s.band);
    expect_survey(c, &s.band);
    ck_assert_uint_eq(s.band.count, count);
    for (size_t i = 0; i < count; i++) {
        ck_assert_double_eq(s.at_nm[i], expected[i]);
        ck_assert_double_eq_tol(s.of_band[i], polynomial(expected[i], false), 1e-12);
    }
}
END_TEST

/* Between points that have two on each side it is the cubic; and the uncertainties follow from what each point counts,
 * noise by the root of squares, what is shared by the sum. */
START_TEST(what_each_point_counts)
{
    const bc_callout callout = {.statistic = BC_EXTREME, .from_nm = 402.0, .to_nm = 488.0};
    double squares[ROOM] = {0.0}, sums[ROOM] = {0.0};
    scene s;
    make(&s);
    for (size_t k = 0; k < POINTS; k++)
        s.value[k] = polynomial(nm[k], true);
    bc_band_points(&s.curve, &callout, LIMIT_NM, &s.band);
    for (size_t i = 0; i < s.band.count; i++) {
        const size_t k = step_of(s.at_nm[i]);
        if (k > 0 && k < POINTS && step_of(nm[k - 1]) < POINTS && step_of(nm[k + 1]) < POINTS)
            ck_assert_double_eq_tol(s.of_band[i], polynomial(s.at_nm[i], true), 1e-12);
    }
    for (size_t k = 0; k < POINTS; k++) {
        memset(s.value, 0, sizeof s.value);
        s.value[k] = 1.0;
        bc_band_points(&s.curve, &callout, LIMIT_NM, &s.band);
        for (size_t i = 0; i < s.band.count; i++) {
            squares[i] += pow(s.of_band[i] * s.random[k], 2.0);
            sums[i] += s.of_band[i] * s.systematic[k];
        }
    }
    for (size_t i = 0; i < s.band.count; i++) {
        ck_assert_double_eq_tol(s.noise[i] / sqrt(squares[i]), 1.0, 1e-12);
        ck_assert_double_eq_tol(s.shared[i] / fabs(sums[i]), 1.0, 1e-12);
    }
}
END_TEST

/* To first order: what a colour makes of each reading, by differences. */
START_TEST(uncertainty_of_a_colour)
{
    enum { ROWS = 81 };
    double at[ROWS], value[ROWS], random[ROWS], systematic[ROWS], variance = 0.0, sum = 0.0, middle;
    const bc_curve curve = {ROWS, at, value, random, systematic, NULL, INFINITY};
    const bc_callout callout = {.statistic = BC_AVERAGE,
                                .from_nm = 380.0,
                                .to_nm = 780.0,
                                .colour = BC_COLOUR_B,
                                .illuminant = BC_ILLUMINANT_D65,
                                .observer = BC_OBSERVER_2,
                                .weight = bc_weight_tristimulus(BC_ILLUMINANT_D65, BC_OBSERVER_2, 1)};
    scene s;
    make(&s);
    for (size_t k = 0; k < ROWS; k++) {
        at[k] = 380.0 + 5.0 * (double)k;
        value[k] = 0.02 + 1e-4 * (double)k;
        random[k] = 1e-4;
        systematic[k] = 1e-4 * (1.0 + (double)k / ROWS);
    }
    bc_band_mean(&curve, &callout, LIMIT_NM, &s.band);
    middle = s.of_band[0];
    const double noise = s.noise[0], shared = s.shared[0];
    for (size_t k = 0; k < ROWS; k++) {
        value[k] += 1e-7;
        bc_band_mean(&curve, &callout, LIMIT_NM, &s.band);
        variance += pow((s.of_band[0] - middle) / 1e-7 * random[k], 2.0);
        sum += (s.of_band[0] - middle) / 1e-7 * systematic[k];
        value[k] -= 1e-7;
    }
    ck_assert_double_eq_tol(noise / sqrt(variance), 1.0, 1e-3);
    ck_assert_double_eq_tol(shared / fabs(sum), 1.0, 1e-3);
}
END_TEST

/* A band of one wavelength: measured, between two that were, in the gap, and outside; a mean there is the value. */
START_TEST(one_wavelength)
{
    static const double at[] = {422.0, 425.0, 440.0, 395.0};
    const bc_callout callout = {
        .statistic = _i % 2 == 0 ? BC_EXTREME : BC_AVERAGE, .from_nm = at[_i / 2], .to_nm = at[_i / 2]};
    scene s;
    make(&s);
    for (size_t k = 0; k < POINTS; k++)
        s.value[k] = polynomial(nm[k], false);
    (_i % 2 == 0 ? bc_band_points : bc_band_mean)(&s.curve, &callout, LIMIT_NM, &s.band);
    ck_assert_uint_eq(s.band.count, _i / 2 < 2 ? 1 : 0);
    ck_assert_uint_eq(s.band.samples, _i / 2 == 0 ? 1 : 0);
    ck_assert_double_eq(s.band.widest_nm, _i / 2 == 1 ? 8.0 : _i / 2 == 2 ? 20.0 : 0.0);
    ck_assert_int_eq(s.band.has_gap, _i / 2 == 2);
    ck_assert_int_eq(s.band.reaches_ends, _i / 2 < 3);
    ck_assert_int_eq(isnan(s.band.covered_from_nm), _i / 2 == 3);
    ck_assert_double_eq(s.band.covered_share, 1.0);
    if (_i / 2 < 2)
        ck_assert_double_eq_tol(s.of_band[0], polynomial(at[_i / 2], false), 1e-12);
    if (_i % 2 == 1)
        ck_assert_double_eq(s.band.worst_nm, at[_i / 2]);
}
END_TEST

/* Of a band that was looked at before nothing is left. */
START_TEST(a_band_is_looked_at_again)
{
    const bc_callout across = {.statistic = BC_EXTREME, .from_nm = 390.0, .to_nm = 600.0};
    const bc_callout within = {.statistic = BC_EXTREME, .from_nm = 456.0, .to_nm = 469.0};
    static scene s, fresh;
    make(&s);
    make(&fresh);
    bc_band_points(&s.curve, &across, LIMIT_NM, &s.band);
    ck_assert(s.band.has_gap && !s.band.reaches_ends && s.band.covered_share < 1.0);
    for (int mean = 0; mean < 2; mean++) {
        (mean == 1 ? bc_band_mean : bc_band_points)(&s.curve, &within, LIMIT_NM, &s.band);
        (mean == 1 ? bc_band_mean : bc_band_points)(&fresh.curve, &within, LIMIT_NM, &fresh.band);
        ck_assert(s.band.count == fresh.band.count && s.band.samples == fresh.band.samples);
        ck_assert(!s.band.has_gap && s.band.reaches_ends && s.band.widest_nm == 8.0 && s.band.covered_share == 1.0);
        ck_assert(isnan(s.band.worst_nm) && s.band.covered_from_nm == 456.0 && s.band.covered_to_nm == 469.0);
        for (size_t i = 0; i < s.band.count; i++)
            ck_assert(s.of_band[i] == fresh.of_band[i] && s.noise[i] == fresh.noise[i]);
        s.band.worst_nm = 1.0;
    }
}
END_TEST

TCase *band_tests(void)
{
    TCase *tests = tcase_create("band");
    tcase_add_loop_test(tests, a_mean_is_the_integral_of_straight_lines, 0, 2 * CASES);
    tcase_add_test(tests, a_luminous_mean_is_a_sum);
    tcase_add_loop_test(tests, points_lie_on_the_curve, 0, CASES);
    tcase_add_test(tests, what_each_point_counts);
    tcase_add_test(tests, uncertainty_of_a_colour);
    tcase_add_loop_test(tests, one_wavelength, 0, 8);
    tcase_add_test(tests, a_band_is_looked_at_again);
    return tests;
}
