/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "witness.h"
#include <bloomcoat/colour.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>
#include <math.h>
#include <string.h>

/*
 * The rule against flat spectra, whose true value is known everywhere: bare glass of any reflectance will do, for the
 * verdict looks at what was measured.
 */
#define LIMIT  0.005
#define NOISE  1e-4
#define POINTS 131
#define TRIALS MANY_OR_FEW(64, 8)
#define FEWER  MANY_OR_FEW(16, 3) /* where the verdict is certain */

typedef struct counts {
    size_t accepted, rejected, trials;
} counts;

typedef struct world {
    bc_statistic statistic;
    bc_sense sense;
    double beyond; /* how far the true value lies on the bad side of the limit */
    double systematic;
    bool known; /* the noise from repeats */
} world;

static double true_value(const world *w)
{
    return w->sense == BC_AT_MOST ? LIMIT + w->beyond : 1.0 - LIMIT - w->beyond;
}

static bc_measurement flat_scan(bench *b, const world *w)
{
    bc_measurement scan;
    const double offset = gsl_ran_gaussian(b->random, w->systematic);
    ck_assert_int_eq(bc_measurement_alloc(POINTS, BC_MEASURED_R | BC_MEASURED_R_DEVIATION, &scan, NULL), BC_OK);
    for (size_t i = 0; i < POINTS; i++) {
        scan.wavelength_nm[i] = 400.0 + 2.0 * (double)i;
        scan.R.value[i] = true_value(w) + offset + gsl_ran_gaussian(b->random, NOISE);
        scan.R.deviation[i] = w->known ? NOISE : NAN;
    }
    scan.repeats = w->known ? 100000 : 1;
    return scan;
}

static counts judge_many(const world *w, size_t trials)
{
    counts c = {0, 0, trials};
    bench b;
    bench_open(&b, "1.52", 0, NULL, NULL);
    b.setup.witness_certain = true; /* no bare glass is that dark */
    bench_ask(&b, w->statistic, w->sense, w->sense == BC_AT_MOST ? LIMIT : 1.0 - LIMIT, 420.0, 640.0);
    b.setup.uncertainty = 2.0 * w->systematic;
    for (size_t t = 0; t < trials; t++) {
        bc_measurement scan = flat_scan(&b, w);
        bc_inspect_result result = bench_inspect(&b, &scan);
        c.accepted += result.verdict == BC_ACCEPT;
        c.rejected += result.verdict == BC_REJECT;
        bc_inspect_result_clear(&result);
        bc_measurement_clear(&scan);
    }
    bench_close(&b);
    return c;
}

/* [i]: every or mean, at most or at least, without and with a systematic part, noise known or estimated. */
static world world_of(int i)
{
    return (world){.statistic = i & 1 ? BC_AVERAGE : BC_EXTREME,
                   .sense = i & 2 ? BC_AT_LEAST : BC_AT_MOST,
                   .systematic = i & 4 ? 3e-4 : 0.0,
                   .known = (i & 8) != 0};
}

/* At the limit everywhere: a good lot still, and noise alone may scrap it, or a worse one be accepted, in 5 % at most.
 */
START_TEST(at_the_limit)
{
    const world w = world_of(_i);
    const counts c = judge_many(&w, TRIALS);
    expect_at_most(c.rejected, c.trials, 0.05);
    expect_at_most(c.accepted, c.trials, 0.05);
}
END_TEST

/* A little beyond: hardly ever accepted. Far beyond: rejected for certain. Well within: accepted for certain. */
START_TEST(away_from_the_limit)
{
    world w = world_of(_i);
    const double far = 12.0 * hypot(NOISE, w.systematic);
    counts c;
    w.beyond = 0.2 * NOISE;
    c = judge_many(&w, TRIALS / 2);
    expect_at_most(c.accepted, c.trials, 0.05);
    w.beyond = far < 0.9 * LIMIT ? far : 0.9 * LIMIT;
    ck_assert_uint_eq(judge_many(&w, FEWER).rejected, FEWER);
    w.beyond = -w.beyond;
    ck_assert_uint_eq(judge_many(&w, FEWER).accepted, FEWER);
}
END_TEST

/* A mean's probability in closed form: its noise averages, what is shared does not. 420 to 640 nm in steps of 2 nm are
 * 110 trapezoids: 109 weights of 1/110 and two of half that. */
START_TEST(mean_in_closed_form)
{
    const double shared = 2e-4, n = 110.0;
    const double random = NOISE * sqrt((n - 1.0 + 0.5) / (n * n));
    world w = {.statistic = BC_AVERAGE, .beyond = -2.5e-4, .systematic = 0.0, .known = true};
    bench b;
    bc_measurement scan;
    bc_inspect_result result;
    bench_open(&b, "1.52", 0, NULL, NULL);
    b.setup.witness_certain = true; /* no bare glass is that dark */
    bench_ask(&b, BC_AVERAGE, BC_AT_MOST, LIMIT, 420.0, 640.0);
    b.setup.uncertainty = 2.0 * shared;
    scan = flat_scan(&b, &w);
    result = bench_inspect(&b, &scan);
    ck_assert_double_eq_tol(result.finding[0].random, random, 1e-9);
    ck_assert_double_eq_tol(result.finding[0].systematic, shared, 1e-12);
    ck_assert_double_eq_tol(result.finding[0].probability,
                            gsl_cdf_ugaussian_P((LIMIT - result.finding[0].value) / hypot(random, shared)), 1e-6);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* Weighted means of a straight line, which trapezoids have exactly, against sums written out; and their noise. */
START_TEST(weighted_means_in_closed_form)
{
    const bool luminous = _i == 0;
    const double from = luminous ? 380.0 : 420.0, to = luminous ? 780.0 : 640.0, step = luminous ? 5.0 : 0.01;
    const bc_weight *weight = luminous ? bc_weight_luminous() : bc_weight_shipped("A*photopic");
    double sum = 0.0, moment = 0.0, squares = 0.0, share[140] = {0.0};
    bench b;
    bc_measurement scan;
    bc_inspect_result result;
    bench_open(&b, "1.52", 0, NULL, NULL);
    b.setup.witness_certain = true;
    bench_ask(&b, BC_AVERAGE, BC_AT_MOST, LIMIT, from, to)->weight = weight;
    ck_assert_int_eq(bc_measurement_alloc(140, BC_MEASURED_R | BC_MEASURED_R_DEVIATION, &scan, NULL), BC_OK);
    for (size_t i = 0; i < 140; i++) { /* 377 to 794 nm: few of them at a wavelength of the sum */
        scan.wavelength_nm[i] = 377.0 + 3.0 * (double)i;
        scan.R.value[i] = 0.001 + 2e-6 * (scan.wavelength_nm[i] - 380.0);
        scan.R.deviation[i] = NOISE;
    }
    scan.repeats = 100000;
    for (double nm = luminous ? from : from + 0.5 * step; nm <= to; nm += step) {
        const double w = bc_weight_at(weight, nm), at = (nm - 377.0) / 3.0, along = at - floor(at);
        sum += w;
        moment += w * (0.001 + 2e-6 * (nm - 380.0));
        share[(size_t)at] += w * (1.0 - along);
        share[(size_t)at + 1] += w * along;
    }
    for (size_t i = 0; i < 140; i++)
        squares += share[i] * share[i] / (sum * sum);
    result = bench_inspect(&b, &scan);
    ck_assert_int_eq(result.verdict, BC_ACCEPT);
    ck_assert_double_eq_tol(result.finding[0].value, moment / sum, luminous ? 1e-14 : 1e-9);
    ck_assert_double_eq_tol(result.finding[0].random, NOISE * sqrt(squares), luminous ? 1e-14 : 1e-9);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* Measured from 400 to 720 nm, as many instruments do: the rest has 0.02 % of the weight of a luminous value. */
START_TEST(luminous_short_of_its_band)
{
    static const double limits[] = {0.00155, 0.00145, 0.00135}; /* value 0.0014 over what is covered */
    static const bc_verdict verdicts[] = {BC_ACCEPT, BC_UNDECIDED, BC_REJECT};
    bench b;
    bc_measurement scan;
    bc_inspect_result result;
    bench_open(&b, "1.52", 0, NULL, NULL);
    b.setup.witness_certain = true;
    bench_ask(&b, BC_AVERAGE, BC_AT_MOST, limits[_i], 380.0, 780.0)->weight = bc_weight_luminous();
    ck_assert_int_eq(bc_measurement_alloc(161, BC_MEASURED_R | BC_MEASURED_R_DEVIATION, &scan, NULL), BC_OK);
    for (size_t i = 0; i < 161; i++) {
        scan.wavelength_nm[i] = 400.0 + 2.0 * (double)i;
        scan.R.value[i] = 0.0014 + (i % 2 == 0 ? 1e-6 : -1e-6); /* one number throughout would be held */
        scan.R.deviation[i] = NOISE;
    }
    scan.repeats = 100000;
    result = bench_inspect(&b, &scan);
    ck_assert_int_eq(result.verdict, verdicts[_i]);
    ck_assert_double_eq_tol(result.finding[0].value, 0.0014, 1e-6);
    if (_i == 0) {
        double outside = 0.0, all = 0.0;
        for (int row = 0; row < BC_CIE_ROWS; row++) {
            const double weight = bc_weight_at(bc_weight_luminous(), 380.0 + 5.0 * row);
            all += weight;
            outside += row < 4 || row > 68 ? weight : 0.0;
        }
        ck_assert_double_eq_tol(result.finding[0].rest, outside / all, 1e-12);
        ck_assert_ptr_nonnull(strstr(result.finding[0].text, "measured from 400 to 720 nm"));
    }
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* The chroma of readings of two per cent that rise by half, its noise by differences, and no verdict on half a band. */
START_TEST(chroma_of_readings)
{
    const bool whole = _i == 0;
    const size_t count = whole ? 81 : 65;
    double R[BC_CIE_ROWS], squares = 0.0;
    bc_colour colour, moved;
    bench b;
    bc_measurement scan;
    bc_inspect_result result;
    bench_open(&b, "1.52", 0, NULL, NULL);
    b.setup.witness_certain = true;
    bc_callout *callout = bench_ask(&b, BC_AVERAGE, BC_AT_MOST, 0.5, 380.0, 780.0);
    callout->colour = BC_CHROMA;
    callout->weight = bc_weight_tristimulus(BC_ILLUMINANT_D65, BC_OBSERVER_2, 1);
    ck_assert_int_eq(bc_measurement_alloc(count, BC_MEASURED_R | BC_MEASURED_R_DEVIATION, &scan, NULL), BC_OK);
    for (size_t i = 0; i < BC_CIE_ROWS; i++) {
        R[i] = 0.02 + 1e-4 * (double)i;
        if (i >= count)
            continue;
        scan.wavelength_nm[i] = 380.0 + 5.0 * (double)i;
        scan.R.value[i] = R[i];
        scan.R.deviation[i] = NOISE;
    }
    scan.repeats = 100000;
    result = bench_inspect(&b, &scan);
    ck_assert_int_eq(result.verdict, whole ? BC_ACCEPT : BC_UNDECIDED);
    bc_colour_of(R, BC_ILLUMINANT_D65, BC_OBSERVER_2, &colour);
    for (size_t i = 0; whole && i < BC_CIE_ROWS; i++) {
        R[i] += 1e-7;
        bc_colour_of(R, BC_ILLUMINANT_D65, BC_OBSERVER_2, &moved);
        R[i] -= 1e-7;
        squares += pow((moved.chroma - colour.chroma) / 1e-7 * NOISE, 2.0);
    }
    if (whole) {
        ck_assert_double_eq_tol(100.0 * result.finding[0].value, colour.chroma, 1e-10);
        ck_assert_double_eq_tol(100.0 * result.finding[0].random, sqrt(squares), 1e-4 * sqrt(squares));
    } else {
        ck_assert_int_eq(result.finding[0].reason, BC_UNDECIDED_NOT_COVERED);
    }
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* An uncertainty that came with every value adds in quadrature; and the margin is what it says: with all values worse
 * by it the probability is the confidence. */
START_TEST(column_and_margin)
{
    world w = {.statistic = _i == 0 ? BC_AVERAGE : BC_EXTREME, .beyond = -2e-3, .known = true};
    double column[POINTS], margin;
    bench b;
    bc_measurement scan;
    bc_inspect_result result;
    bench_open(&b, "1.52", 0, NULL, NULL);
    b.setup.witness_certain = true; /* no bare glass is that dark */
    bench_ask(&b, w.statistic, BC_AT_MOST, LIMIT, 420.0, 640.0);
    b.setup.uncertainty = 2.0 * 3e-4;
    scan = flat_scan(&b, &w);
    scan.R.uncertainty = column;
    for (size_t i = 0; i < POINTS; i++)
        column[i] = i == 0 ? NAN : 4e-4;
    result = bench_inspect(&b, &scan);
    ck_assert_double_eq_tol(result.finding[0].systematic, 5e-4, 1e-12);
    margin = result.finding[0].margin;
    ck_assert_double_gt(margin, 1e-4);
    bc_inspect_result_clear(&result);
    for (size_t i = 0; i < POINTS; i++)
        scan.R.value[i] += margin;
    result = bench_inspect(&b, &scan);
    ck_assert_double_eq_tol(result.finding[0].probability, 0.95, 1e-4);
    bc_inspect_result_clear(&result);
    scan.R.uncertainty = NULL;
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* Many repeats and no uncertainty: check's own comparison, on the samples. */
START_TEST(nothing_uncertain)
{
    world w = {.statistic = BC_EXTREME, .known = true};
    for (int side = -1; side <= 1; side += 2) {
        bench b;
        bc_measurement scan;
        bc_inspect_result result;
        bench_open(&b, "1.52", 0, NULL, NULL);
        b.setup.witness_certain = true;
        bench_ask(&b, BC_EXTREME, BC_AT_MOST, LIMIT, 420.0, 640.0);
        scan = flat_scan(&b, &w);
        for (size_t i = 0; i < scan.count; i++) {
            scan.R.value[i] = LIMIT + (1e-9 + 1e-12 * (double)i) * side; /* not one number throughout */
            scan.R.deviation[i] = 0.0;
        }
        result = bench_inspect(&b, &scan);
        ck_assert_int_eq(result.verdict, side < 0 ? BC_ACCEPT : BC_REJECT);
        bc_inspect_result_clear(&result);
        bc_measurement_clear(&scan);
        bench_close(&b);
    }
}
END_TEST

TCase *rule_case(void)
{
    TCase *tests = tcase_create("rule");
    tcase_add_loop_test(tests, at_the_limit, 0, 16);
    tcase_add_loop_test(tests, away_from_the_limit, 0, 16);
    tcase_add_test(tests, mean_in_closed_form);
    tcase_add_loop_test(tests, luminous_short_of_its_band, 0, 3);
    tcase_add_loop_test(tests, chroma_of_readings, 0, 2);
    tcase_add_loop_test(tests, weighted_means_in_closed_form, 0, 2);
    tcase_add_loop_test(tests, column_and_margin, 0, 2);
    tcase_add_test(tests, nothing_uncertain);
    return tests;
}
