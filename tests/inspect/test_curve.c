/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * max and min rows judged on the curve behind the noise: what it promises, and when it is not used.
 */
#include "residue.h"
#include "witness.h"
#include <gsl/gsl_randist.h>
#include <math.h>

#define NOISE  3e-4
#define STEP   4.0
#define COUNT  101
#define TRIALS MANY_OR_FEW(32, 8)

/* Six layers a little off, its true curve, and the worst of that from 440 to 680 nm. */
typedef struct scene {
    bench b;
    bc_measurement exact;
    double worst, offset; /* offset: standard deviation of what a scan's values share */
} scene;

static void open_scene(scene *s, bc_back_kind back, double offset)
{
    truth t;
    bench_open(&s->b, "1.52", 6, six_index, six_nm);
    s->offset = offset;
    s->b.setup.uncertainty = 2.0 * offset;
    s->b.setup.back.kind = back;
    s->b.setup.back.substrate_mm = 1.0;
    t = bench_truth(&s->b);
    for (size_t j = 0; j < t.layers; j++)
        t.layer[j].thickness_nm *= j == 2 ? 1.03 : 0.995;
    s->exact = bench_scan(&t, BC_MEASURED_R, 400.0, STEP, COUNT);
    t.back = BC_BACK_NONE;
    s->worst = 0.0;
    for (double nm = 440.0; nm <= 680.0; nm += STEP) {
        double R;
        truth_spectrum(&t, 1, &nm, &R, NULL);
        s->worst = fmax(s->worst, R);
    }
    bench_ask(&s->b, BC_EXTREME, BC_AT_MOST, s->worst, 440.0, 680.0);
}

static void close_scene(scene *s)
{
    bc_measurement_clear(&s->exact);
    bench_close(&s->b);
}

static size_t accepted(scene *s, size_t trials, double limit, bc_verdict verdict)
{
    size_t hits = 0;
    s->b.callouts.callout[0].limit = limit;
    for (size_t t = 0; t < trials; t++) {
        bc_measurement scan = scan_copy(&s->exact);
        bc_inspect_result result;
        scan_disturb(&s->b, &scan, NOISE, s->offset);
        result = bench_inspect(&s->b, &scan);
        ck_assert(result.finding[0].judged == BC_JUDGED_CURVE || result.finding[0].points_because != BC_POINTS_NOT);
        hits += result.verdict == verdict;
        bc_inspect_result_clear(&result);
        bc_measurement_clear(&scan);
    }
    return hits;
}

/* Front alone, and through an uncoated back that is taken out. */
START_TEST(keeps_its_promise)
{
    scene s;
    open_scene(&s, _i == 0 ? BC_BACK_NONE : BC_BACK_UNCOATED, 2e-4);
    expect_at_most(accepted(&s, TRIALS, s.worst, BC_ACCEPT), TRIALS, 0.05);
    ck_assert_uint_ge(accepted(&s, TRIALS / 4, s.worst + 8e-4, BC_ACCEPT), TRIALS / 5);
    ck_assert_uint_ge(accepted(&s, TRIALS / 4, s.worst - 12e-4, BC_REJECT), TRIALS / 5);
    close_scene(&s);
}
END_TEST

/* The value is that of the curve: its error is what it claims. */
START_TEST(value_and_uncertainty)
{
    scene s;
    double square = 0.0, claimed = 0.0;
    open_scene(&s, BC_BACK_NONE, 5e-5);
    for (size_t t = 0; t < TRIALS / 2; t++) {
        bc_measurement scan = scan_copy(&s.exact);
        bc_inspect_result result;
        const bc_inspect_finding *finding;
        scan_disturb(&s.b, &scan, NOISE, s.offset);
        result = bench_inspect(&s.b, &scan);
        finding = &result.finding[0];
        if (finding->judged == BC_JUDGED_CURVE) {
            square += pow(finding->value - s.worst, 2.0);
            claimed += finding->random * finding->random + finding->systematic * finding->systematic;
            ck_assert_double_lt(finding->random, 0.7 * NOISE);
            ck_assert_double_eq_tol(finding->systematic, s.offset, 1e-12);
        }
        bc_inspect_result_clear(&result);
        bc_measurement_clear(&scan);
    }
    ck_assert_double_eq_tol(sqrt(square / claimed), 1.0, 0.35);
    close_scene(&s);
}
END_TEST

typedef struct refused {
    bc_points_reason because;
    double noise;
    size_t line_at; /* a narrow line of 0.13 %, four points wide; 0: none */
    double wave;    /* no layer makes: from point to point */
} refused;

static const refused cases[] = {
    {BC_POINTS_NO_NOISE, 0.0, 0, 0.0},
    {BC_POINTS_NOT_NOISE, NOISE, 50, 0.0},
    {BC_POINTS_NO_FIT, 1e-4, 0, 0.01},
};

/* Point by point, and said why. */
START_TEST(not_on_the_curve)
{
    const refused *how = &cases[_i];
    scene s;
    bc_measurement scan;
    bc_inspect_result result;
    open_scene(&s, BC_BACK_NONE, 5e-5);
    scan = scan_copy(&s.exact);
    scan_disturb(&s.b, &scan, how->noise, 0.0);
    for (size_t i = 0; i < COUNT; i++)
        scan.R.value[i] += how->wave * sin((double)i) + (how->line_at > 0 && i / 4 == how->line_at / 4 ? 1.3e-3 : 0.0);
    result = bench_inspect(&s.b, &scan);
    ck_assert_int_eq(result.finding[0].judged, BC_JUDGED_POINTS);
    ck_assert_int_eq(result.finding[0].points_because, how->because);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    close_scene(&s);
}
END_TEST

/* White noise passes but for one in fifty; noise that runs on, a step or an offset never does. */
START_TEST(what_is_noise)
{
    enum { POINTS = 200, DRAWS = 400 };
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    size_t white = 0, alike = 0, step = 0, offset = 0, large = 0;
    for (size_t d = 0; d < DRAWS; d++) {
        double value[POINTS], other[POINTS], before = 0.0;
        for (size_t i = 0; i < POINTS; i++)
            value[i] = gsl_ran_ugaussian(random);
        white += bc_residue_is_noise(POINTS, value);
        for (size_t i = 0; i < POINTS; i++)
            before = other[i] = 0.5 * before + sqrt(0.75) * value[i];
        alike += bc_residue_is_noise(POINTS, other);
        for (size_t i = 0; i < POINTS; i++)
            other[i] = value[i] + (i > 80 && i < 110 ? 1.8 : 0.0);
        step += bc_residue_is_noise(POINTS, other);
        for (size_t i = 0; i < POINTS; i++)
            other[i] = value[i] + 0.9;
        offset += bc_residue_is_noise(POINTS, other);
        for (size_t i = 0; i < POINTS; i++)
            other[i] = 2.0 * value[i];
        large += bc_residue_is_noise(POINTS, other);
    }
    gsl_rng_free(random);
    ck_assert_uint_ge(white, DRAWS - DRAWS / 50);
    ck_assert_uint_le(alike, DRAWS / 50);
    ck_assert_uint_le(step, DRAWS / 50);
    ck_assert_uint_le(offset, DRAWS / 50);
    ck_assert_uint_eq(large, 0);
}
END_TEST

/* A line on the peak that no layer makes: the curve smooths it away, the points do not. */
START_TEST(points_as_chosen)
{
    scene s;
    bc_inspect_result result;
    bc_measurement scan;
    size_t peak = 10; /* 440 nm */
    open_scene(&s, BC_BACK_NONE, 0.0);
    for (size_t i = 0; i < COUNT; i++) {
        const double nm = s.exact.wavelength_nm[i];
        if (nm >= 440.0 && nm <= 680.0 && s.exact.R.value[i] > s.exact.R.value[peak])
            peak = i;
    }
    scan = scan_copy(&s.exact);
    scan_disturb(&s.b, &scan, NOISE, 0.0);
    scan.R.value[peak] += 5.0 * NOISE;
    s.b.callouts.callout[0].limit = s.worst + 4.0 * NOISE;
    s.b.setup.judge_points = true;
    result = bench_inspect(&s.b, &scan);
    ck_assert_int_eq(result.finding[0].judged, BC_JUDGED_POINTS);
    ck_assert_int_eq(result.finding[0].points_because, BC_POINTS_CHOSEN);
    ck_assert_int_ne(result.verdict, BC_ACCEPT);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    close_scene(&s);
}
END_TEST

/* A scan that ends before the band, as far as it was measured: no reason to judge it point by point. */
START_TEST(a_scan_that_ends_early)
{
    scene s;
    open_scene(&s, BC_BACK_NONE, 5e-5);
    bc_measurement scan = scan_copy(&s.exact);
    scan_disturb(&s.b, &scan, NOISE, 0.0);
    s.b.callouts.callout[0].to_nm = 850.0;
    bc_inspect_result result = bench_inspect(&s.b, &scan);
    ck_assert_int_eq(result.finding[0].judged, BC_JUDGED_CURVE);
    ck_assert_int_eq(result.finding[0].points_because, BC_POINTS_NOT);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    close_scene(&s);
}
END_TEST

TCase *curve_case(void)
{
    TCase *tcase = tcase_create("curve");
    tcase_add_loop_test(tcase, keeps_its_promise, 0, 2);
    tcase_add_test(tcase, value_and_uncertainty);
    tcase_add_loop_test(tcase, not_on_the_curve, 0, sizeof cases / sizeof *cases);
    tcase_add_test(tcase, what_is_noise);
    tcase_add_test(tcase, points_as_chosen);
    tcase_add_test(tcase, a_scan_that_ends_early);
    return tcase;
}
