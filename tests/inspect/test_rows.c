/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * One row on its way to a verdict: the values it is judged on and their uncertainties, outliers and gaps that leave a
 * doubt, and which row decides.
 */
#include "doubt.h"
#include "parts.h"
#include "row_verdict.h"
#include "witness.h"
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <string.h>

#define COUNT 9

/* Readings of R and T from 500 nm in steps of 5 nm, the first and the last beyond the tables. */
typedef struct scene {
    double nm[COUNT], value[2][COUNT], noise[2][COUNT], systematic[2][COUNT], along[2][COUNT];
    bool outlier[2][COUNT];
    bc_inspect_setup setup;
    bc_inspect_result result;
    bc_inspection inspection;
    double curve_value[COUNT], random[COUNT], shared[COUNT], angle[COUNT], stretch[COUNT];
    bc_callout callout;
    bc_inspect_finding finding;
    bc_smooth smooth;
    double smoothed[2][COUNT], root[2][2 * COUNT];
    bc_row_verdict d;
} scene;

static void open_scene(scene *s, bc_quantity quantity)
{
    memset(s, 0, sizeof *s);
    bc_reading *const reading[] = {&s->inspection.readings.R, &s->inspection.readings.T};
    for (size_t q = 0; q < 2; q++) {
        for (size_t i = 0; i < COUNT; i++) {
            s->nm[i] = 500.0 + 5.0 * (double)i;
            s->value[q][i] = (q == 0 ? 0.01 : 0.95) + 1e-3 * sin((double)(3 * i + q));
            s->noise[q][i] = 1e-4 * (1.0 + (double)(i + q) / 10.0);
            s->systematic[q][i] = 2e-4 * (1.0 + (double)q);
            s->along[q][i] = 3e-4 * cos((double)i);
            s->smoothed[q][i] = s->value[q][i] + 5e-5 * (double)((int)i - 4);
            s->root[q][2 * i] = 3e-5 * (1.0 + (double)i);
            s->root[q][2 * i + 1] = -4e-5;
        }
        *reading[q] = (bc_reading){.measured = true,
                                   .quantity = q == 0 ? BC_R : BC_T,
                                   .count = COUNT,
                                   .wavelength_nm = s->nm,
                                   .value = s->value[q],
                                   .noise = s->noise[q],
                                   .systematic = s->systematic[q],
                                   .along = s->along[q],
                                   .outlier = s->outlier[q],
                                   .summary = {BC_NOISE_SCAN, 1e-4, q == 0 ? 30.0 : 20.0}};
        s->smooth.value[q] = s->smoothed[q];
        s->smooth.root[q] = s->root[q];
    }
    s->smooth.count = COUNT - 2;
    s->smooth.size = 2;
    s->smooth.freedom = 77.0;
    s->inspection.readings.count = COUNT;
    s->inspection.readings.wavelength_nm = s->nm;
    s->inspection.readings.first = 1;
    s->inspection.readings.inside = COUNT - 2;
    s->setup = (bc_inspect_setup){
        .coverage_factor = 2.0, .scale_uncertainty = 0.02, .wavelength_uncertainty_nm = 0.6, .confidence = 0.95};
    s->inspection.setup = &s->setup;
    s->inspection.result = &s->result;
    s->callout =
        (bc_callout){.quantity = quantity, .statistic = BC_EXTREME, .limit = 0.02, .from_nm = 505.0, .to_nm = 535.0};
    s->finding = (bc_inspect_finding){
        .callout = &s->callout, .judged = BC_JUDGED_CURVE, .widest_step_nm = 5.0, .at_nm = 520.0, .doubt_nm = NAN};
    s->d = (bc_row_verdict){
        .inspection = &s->inspection,
        .callout = &s->callout,
        .finding = &s->finding,
        .smooth = &s->smooth,
        .stretch = s->stretch,
        .curve = {.value = s->curve_value, .random = s->random, .systematic = s->shared, .angle = s->angle}};
}

static double shared_of(const scene *s, size_t q, size_t i)
{
    const double scale = q == 0 ? 0.01 * s->value[q][i] : 0.0; /* T is a ratio to the empty beam */
    return sqrt(pow(s->systematic[q][i], 2.0) + scale * scale + pow(0.3 * s->along[q][i], 2.0));
}

/* R, T, and what both leave, from the third reading on. */
START_TEST(values_of_a_row)
{
    scene s;
    open_scene(&s, (bc_quantity)_i);
    bc_row_take_values(&s.d, 2, 5);
    ck_assert(s.d.curve.count == 5 && s.d.curve.wavelength_nm == s.nm + 2);
    ck_assert_double_eq(s.d.curve.freedom, _i == BC_R ? 30.0 : 20.0);
    for (size_t i = 0; i < 5; i++) {
        const double R = s.value[0][i + 2], T = s.value[1][i + 2];
        const double noise = hypot(s.noise[0][i + 2], s.noise[1][i + 2]);
        const double shared = hypot(shared_of(&s, 0, i + 2), shared_of(&s, 1, i + 2));
        ck_assert_double_eq_tol(s.curve_value[i], _i == BC_R ? R : _i == BC_T ? T : 1.0 - R - T, 1e-15);
        ck_assert_double_eq_tol(s.random[i], _i == BC_A ? noise : s.noise[_i][i + 2], 1e-15);
        ck_assert_double_eq_tol(s.shared[i], _i == BC_A ? shared : shared_of(&s, (size_t)_i, i + 2), 1e-12);
        ck_assert_double_eq(s.angle[i], 0.0);
    }
    /* every reading, unless the tables are needed */
    s.finding.judged = BC_JUDGED_POINTS;
    ck_assert_int_eq(bc_row_set_curve(&s.d, NULL), BC_OK);
    ck_assert(s.d.curve.count == COUNT && s.d.curve.wavelength_nm == s.nm);
    s.finding.judged = BC_JUDGED_CURVE;
    ck_assert_int_eq(bc_row_set_curve(&s.d, NULL), BC_OK);
    ck_assert(s.d.curve.count == COUNT - 2 && s.d.curve.wavelength_nm == s.nm + 1);
}
END_TEST

/* The smooth curve in place of the readings, stretched as corrections stretched their noise. */
START_TEST(the_smooth_curve_of_a_row)
{
    scene s;
    open_scene(&s, (bc_quantity)_i);
    bc_row_take_values(&s.d, 1, COUNT - 2);
    for (size_t i = 0; i < COUNT - 2; i++)
        s.random[i] *= 1.3;
    bc_row_take_smooth(&s.d);
    ck_assert_double_eq(s.d.curve.freedom, 77.0);
    for (size_t i = 0; i < COUNT - 2; i++) {
        const double value = s.value[_i][i + 1];
        const double sigma = hypot(s.root[_i][2 * i], s.root[_i][2 * i + 1]);
        ck_assert_double_eq_tol(s.stretch[i], 1.3, 1e-12);
        ck_assert_double_eq_tol(s.curve_value[i], value + 1.3 * (s.smoothed[_i][i] - value), 1e-15);
        ck_assert_double_eq_tol(s.random[i], 1.3 * sigma, 1e-15);
    }
}
END_TEST

/* Judged on the curve where there is one that reaches as far as the scan does in the band; why not is said. */
START_TEST(which_way_a_row_is_judged)
{
    static const struct {
        bc_quantity quantity;
        bc_statistic statistic;
        bool chosen;
        bc_points_reason why, because;
        double from_nm, to_nm;
        bc_judged judged;
    } cases[] = {
        {BC_R, BC_EXTREME, false, BC_POINTS_NOT, BC_POINTS_NOT, 505.0, 535.0, BC_JUDGED_CURVE},
        {BC_R, BC_EXTREME, false, BC_POINTS_NO_FIT, BC_POINTS_NO_FIT, 505.0, 535.0, BC_JUDGED_POINTS},
        {BC_R, BC_EXTREME, false, BC_POINTS_NO_FIT, BC_POINTS_NO_FIT, 500.0, 540.0, BC_JUDGED_POINTS},
        {BC_R, BC_EXTREME, true, BC_POINTS_NOT, BC_POINTS_CHOSEN, 505.0, 535.0, BC_JUDGED_POINTS},
        {BC_A, BC_EXTREME, false, BC_POINTS_NOT, BC_POINTS_QUANTITY, 505.0, 535.0, BC_JUDGED_POINTS},
        {BC_R, BC_EXTREME, false, BC_POINTS_NOT, BC_POINTS_OUTSIDE, 504.0, 535.0, BC_JUDGED_POINTS},
        {BC_R, BC_EXTREME, false, BC_POINTS_NOT, BC_POINTS_OUTSIDE, 505.0, 536.0, BC_JUDGED_POINTS},
        {BC_R, BC_AVERAGE, false, BC_POINTS_NO_FIT, BC_POINTS_NOT, 505.0, 535.0, BC_JUDGED_AVERAGE},
    };
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        scene s;
        open_scene(&s, cases[c].quantity);
        s.callout.statistic = cases[c].statistic;
        s.callout.from_nm = cases[c].from_nm;
        s.callout.to_nm = cases[c].to_nm;
        s.setup.judge_points = cases[c].chosen;
        s.smooth.why = cases[c].why;
        bc_row_choose_way(&s.d);
        ck_assert_msg(s.finding.judged == cases[c].judged && s.finding.points_because == cases[c].because, "case %zu",
                      c);
    }
}
END_TEST

/* An outlier that would not be accepted if it were true, by its noise and what is shared; one beside the worst value is
 * said, one that is far away not. Loop: at most and at least. */
START_TEST(a_doubt_by_an_outlier)
{
    const double sign = _i == 0 ? 1.0 : -1.0, z = gsl_cdf_ugaussian_Pinv(0.95);
    static const struct {
        double beyond; /* of where it decides, in its uncertainty */
        size_t at;
        bool decides, said;
    } cases[] = {{0.05, 6, true, true},  {-0.05, 6, false, false}, {-5.0, 4, false, true}, {-5.0, 3, false, true},
                 {-5.0, 5, false, true}, {-5.0, 6, false, false},  {9.0, 0, true, true},   {9.0, 1, true, true},
                 {9.0, 7, true, true},   {-5.0, 2, false, false}};
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        scene s;
        open_scene(&s, BC_R);
        s.callout.sense = _i == 0 ? BC_AT_MOST : BC_AT_LEAST;
        bc_row_take_values(&s.d, 1, COUNT - 2);
        bc_row_take_smooth(&s.d);
        const size_t i = cases[c].at < COUNT - 2 ? cases[c].at : COUNT - 3;
        s.stretch[i] = 1.3;
        s.callout.limit = s.curve_value[i]; /* the smooth curve is there */
        s.callout.from_nm = 510.0;          /* one step before and behind the band count as well */
        s.callout.to_nm = 530.0;
        const double uncertain = hypot(1.3 * s.noise[0][i + 1], s.shared[i]);
        const double value = s.callout.limit - sign * (z - cases[c].beyond) * uncertain;
        s.value[0][i + 1] = s.smoothed[0][i] + (value - s.callout.limit) / 1.3;
        s.outlier[0][i + 1] = true;
        s.finding.at_nm = 525.0;
        const bc_undecided reason = bc_find_doubt(&s.inspection, &s.smooth, &s.d.curve, s.stretch, &s.finding);
        ck_assert_msg(reason == (cases[c].decides ? BC_UNDECIDED_OUTLIER : BC_DECIDED), "case %zu", c);
        const double nm = s.nm[i + 1];
        const bool said = cases[c].decides || fabs(nm - 525.0) <= 5.0;
        ck_assert_int_eq(isnan(s.finding.doubt_nm), !said);
        if (said) {
            ck_assert_double_eq(s.finding.doubt_nm, nm);
            ck_assert_double_eq_tol(s.finding.doubt_value, value, 1e-12);
        }
    }
}
END_TEST

/* Further than a step from the band an outlier has no say; point by point it is a point as any. */
START_TEST(no_doubt_by_an_outlier)
{
    for (int way = 0; way < 3; way++) {
        scene s;
        open_scene(&s, BC_R);
        bc_row_take_values(&s.d, 1, COUNT - 2);
        bc_row_take_smooth(&s.d);
        s.callout.from_nm = way == 0 ? 510.1 : 505.0;
        s.callout.to_nm = way == 1 ? 529.9 : 535.0;
        s.finding.judged = way == 2 ? BC_JUDGED_POINTS : BC_JUDGED_CURVE;
        s.value[0][way == 1 ? 7 : 1] = 0.5;
        s.outlier[0][way == 1 ? 7 : 1] = true;
        ck_assert_int_eq(bc_find_doubt(&s.inspection, &s.smooth, &s.d.curve, s.stretch, &s.finding), BC_DECIDED);
        ck_assert(isnan(s.finding.doubt_nm));
    }
}
END_TEST

/* A value that is missing beside the worst one, within a step of it and within the band. */
START_TEST(a_doubt_by_a_missing_value)
{
    static const struct {
        double at_nm;
        bc_statistic statistic;
        bool doubts;
    } cases[] = {{517.0, BC_EXTREME, true},  {525.0, BC_EXTREME, true},  {515.0, BC_EXTREME, true},
                 {525.1, BC_EXTREME, false}, {514.9, BC_EXTREME, false}, {517.0, BC_AVERAGE, false}};
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        double missing_nm[2] = {507.0, cases[c].at_nm};
        scene s;
        open_scene(&s, BC_R);
        s.finding.judged = BC_JUDGED_POINTS;
        s.callout.statistic = cases[c].statistic;
        s.inspection.readings.missing = 2;
        s.inspection.readings.missing_nm = missing_nm;
        for (int edge = 0; edge < 3; edge++) { /* in the band, before it and behind it */
            s.callout.from_nm = edge == 1 ? cases[c].at_nm + 0.1 : 505.0;
            s.callout.to_nm = edge == 2 ? cases[c].at_nm - 0.1 : 535.0;
            const bc_undecided reason = bc_find_doubt(&s.inspection, &s.smooth, &s.d.curve, s.stretch, &s.finding);
            const bool doubts = cases[c].doubts && edge == 0;
            ck_assert_msg(reason == (doubts ? BC_UNDECIDED_MISSING : BC_DECIDED), "case %zu, %d", c, edge);
            if (doubts)
                ck_assert_double_eq(s.finding.doubt_nm, cases[c].at_nm);
        }
    }
}
END_TEST

/* In an average an outlier counts with the worse of itself and what is expected: of R, T and A, at most and at least.
 */
START_TEST(the_worse_of_an_outlier)
{
    const bc_quantity quantity = (bc_quantity)(_i / 2);
    const bc_sense sense = _i % 2 == 0 ? BC_AT_MOST : BC_AT_LEAST;
    double left[2][COUNT - 2], before[COUNT];
    scene s;
    open_scene(&s, quantity);
    s.callout.sense = sense;
    for (size_t q = 0; q < 2; q++) {
        for (size_t i = 0; i < COUNT - 2; i++)
            left[q][i] = (i % 2 == 0 ? 1e-3 : -1e-3) * (double)(i + 1);
        s.outlier[q][2 + q] = s.outlier[q][3 + q] = true;
    }
    s.result.R = (bc_overlay){.count = COUNT - 2, .from_fitted = left[0]};
    s.result.T = (bc_overlay){.count = COUNT - 2, .from_fitted = left[1]};
    bc_row_take_values(&s.d, 0, COUNT);
    memcpy(before, s.curve_value, sizeof before);
    bc_take_worse_of_outliers(&s.inspection, &s.callout, 0, &s.d.curve);
    for (size_t at = 0; at < COUNT; at++) {
        double expected = before[at];
        for (size_t q = 0; q < 2; q++) {
            const double away = s.outlier[q][at] ? left[q][at - 1] * (quantity == BC_A ? -1.0 : 1.0) : 0.0;
            const bool of_it = quantity == BC_A || quantity == (q == 0 ? BC_R : BC_T);
            const bool hides = sense == BC_AT_MOST ? away < 0.0 : away > 0.0;
            expected -= of_it && hides ? away : 0.0;
        }
        ck_assert_double_eq_tol(s.curve_value[at], expected, 1e-15);
    }
}
END_TEST

/* Of a value at one wavelength the reading nearest to it shares out, of an average all in the band; the squares add up.
 */
START_TEST(sources_of_a_value)
{
    for (int way = 0; way < 2; way++) {
        double part[BC_PARTS], expected[BC_PARTS] = {0.0}, square = 0.0;
        scene s;
        open_scene(&s, BC_R);
        bc_row_take_values(&s.d, 1, COUNT - 2);
        for (size_t i = 0; i < COUNT - 2; i++) {
            s.angle[i] = 1e-4;
            s.shared[i] = hypot(s.shared[i], s.angle[i]);
        }
        s.callout.from_nm = 512.0;
        s.callout.to_nm = 527.0;
        bc_measured_parts(&s.setup, &s.inspection.readings.R, NULL, 1, &s.d.curve, &s.callout, way == 0 ? 518.0 : NAN,
                          7e-5, 9e-4, part);
        for (size_t i = 0; i < COUNT - 2; i++) {
            const double nm = s.nm[i + 1];
            if (way == 0 ? nm != 520.0 : nm < 512.0 || nm > 527.0)
                continue;
            expected[BC_PART_READING] += s.systematic[0][i + 1];
            expected[BC_PART_SCALE] += 0.01 * s.value[0][i + 1];
            expected[BC_PART_WAVELENGTH] += 0.3 * fabs(s.along[0][i + 1]);
            expected[BC_PART_ANGLE] += 1e-4;
        }
        for (size_t p = 0; p < BC_PARTS; p++)
            square += expected[p] * expected[p];
        for (size_t p = 0; p < BC_PARTS; p++)
            ck_assert_double_eq_tol(part[p], p == BC_PART_NOISE ? 7e-5 : expected[p] * 9e-4 / sqrt(square), 1e-12);
    }
}
END_TEST

/* Bare glass of a flat reflectance against limits it meets, cannot be told from and breaks: the worst verdict is that
 * of all, and of the rows that have it the one that uses most of its limit decides. */
START_TEST(the_row_that_decides)
{
    static const double limits[][4] = {
        {0.02, 0.012, 0.03, 0.012}, {0.02, 0.00501, 0.005009, 0.012}, {0.004, 0.02, 0.003, 0.0039}};
    static const bc_verdict verdicts[] = {BC_ACCEPT, BC_UNDECIDED, BC_REJECT};
    static const size_t decisive[] = {1, 2, 2};
    bench b;
    bc_measurement scan;
    bench_open(&b, "1.52", 0, NULL, NULL);
    b.setup.witness_certain = true;
    b.setup.uncertainty = 2e-4;
    for (size_t c = 0; c < 4; c++)
        bench_ask(&b, BC_EXTREME, BC_AT_MOST, limits[_i][c], 420.0, 640.0);
    ck_assert_int_eq(bc_measurement_alloc(131, BC_MEASURED_R | BC_MEASURED_R_DEVIATION, &scan, NULL), BC_OK);
    for (size_t i = 0; i < 131; i++) {
        scan.wavelength_nm[i] = 400.0 + 2.0 * (double)i;
        scan.R.value[i] = 0.005 + 1e-7 * sin((double)(i * i));
        scan.R.deviation[i] = 1e-5;
    }
    scan.repeats = 100000;
    bc_inspect_result result = bench_inspect(&b, &scan);
    ck_assert_int_eq(result.verdict, verdicts[_i]);
    ck_assert_uint_eq(result.decisive, decisive[_i]);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

TCase *rows_case(void)
{
    TCase *tests = tcase_create("rows");
    tcase_add_loop_test(tests, values_of_a_row, 0, 3);
    tcase_add_loop_test(tests, the_smooth_curve_of_a_row, 0, 2);
    tcase_add_test(tests, which_way_a_row_is_judged);
    tcase_add_loop_test(tests, a_doubt_by_an_outlier, 0, 2);
    tcase_add_test(tests, no_doubt_by_an_outlier);
    tcase_add_test(tests, a_doubt_by_a_missing_value);
    tcase_add_loop_test(tests, the_worse_of_an_outlier, 0, 6);
    tcase_add_test(tests, sources_of_a_value);
    tcase_add_loop_test(tests, the_row_that_decides, 0, 3);
    return tests;
}
