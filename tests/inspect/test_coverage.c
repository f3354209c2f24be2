/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "witness.h"
#include <math.h>
#include <string.h>

static const double thick_nm[] = {1200.0};
static const char *const thick_index[] = {"2.10"};

/* A design, its scan from `from` to `to` in even steps, with or without a gap, and one row. */
typedef struct scene {
    bench b;
    bc_measurement scan;
    bc_inspect_result result;
} scene;

static void look(scene *s, double from_nm, double to_nm, double step_nm)
{
    const truth t = bench_truth(&s->b);
    s->scan = bench_scan(&t, BC_MEASURED_R, from_nm, step_nm, (size_t)lround((to_nm - from_nm) / step_nm) + 1);
    s->result = bench_inspect(&s->b, &s->scan);
}

static void close_scene(scene *s)
{
    bc_inspect_result_clear(&s->result);
    bc_measurement_clear(&s->scan);
    bench_close(&s->b);
}

/* Limits no scan of this design comes near, or ones it is far beyond. */
static void ask(scene *s, bc_statistic statistic, double limit)
{
    bench_open(&s->b, "1.52", 6, six_index, six_nm);
    bench_ask(&s->b, statistic, BC_AT_MOST, limit, 450.0, 650.0);
}

START_TEST(covered)
{
    scene s;
    ask(&s, _i == 0 ? BC_EXTREME : BC_AVERAGE, 0.2);
    look(&s, 440.0, 660.0, 2.0);
    ck_assert_int_eq(s.result.verdict, BC_ACCEPT);
    ck_assert_double_eq(s.result.finding[0].covered_from_nm, 450.0);
    ck_assert_double_eq(s.result.finding[0].covered_to_nm, 650.0);
    ck_assert_uint_eq(s.result.finding[0].samples, 101);
    close_scene(&s);
}
END_TEST

/* Short at either end, or at both: never accepted. */
START_TEST(not_covered)
{
    static const double range[][2] = {{452.0, 660.0}, {440.0, 648.0}, {460.0, 640.0}};
    scene s;
    ask(&s, _i % 2 == 0 ? BC_EXTREME : BC_AVERAGE, 0.2);
    look(&s, range[_i / 2][0], range[_i / 2][1], 2.0);
    ck_assert_int_eq(s.result.verdict, BC_UNDECIDED);
    ck_assert_int_eq(s.result.finding[0].reason, BC_UNDECIDED_NOT_COVERED);
    ck_assert(isnan(s.result.finding[0].probability));
    ck_assert_uint_gt(strlen(s.result.finding[0].text), 0);
    close_scene(&s);
}
END_TEST

START_TEST(nothing_covered)
{
    scene s;
    ask(&s, _i == 0 ? BC_EXTREME : BC_AVERAGE, 0.2);
    look(&s, 700.0, 800.0, 1.0);
    ck_assert_int_eq(s.result.verdict, BC_UNDECIDED);
    ck_assert_int_eq(s.result.finding[0].reason, BC_UNDECIDED_NOT_COVERED);
    ck_assert(isnan(s.result.finding[0].value));
    for (size_t p = 0; p < BC_PARTS; p++)
        ck_assert(isnan(s.result.finding[0].part[p]));
    close_scene(&s);
}
END_TEST

/* What is covered can still reject: a value too high, or a mean that zero in the rest would not save. */
START_TEST(covered_part_rejects)
{
    scene s;
    ask(&s, _i == 0 ? BC_EXTREME : BC_AVERAGE, 1e-4);
    look(&s, 460.0, 660.0, 2.0);
    ck_assert_int_eq(s.result.verdict, BC_REJECT);
    ck_assert_int_eq(s.result.finding[0].reason, BC_DECIDED);
    close_scene(&s);
}
END_TEST

/* A mean over nine tenths of the band just above its limit: the last tenth at zero would bring it below. */
START_TEST(mean_that_the_rest_could_save)
{
    scene s;
    double mean;
    ask(&s, BC_AVERAGE, 0.2);
    look(&s, 470.0, 660.0, 1.0);
    mean = s.result.finding[0].value;
    bc_inspect_result_clear(&s.result);
    s.b.callouts.callout[0].limit = 0.95 * mean;
    s.result = bench_inspect(&s.b, &s.scan);
    ck_assert_int_eq(s.result.verdict, BC_UNDECIDED);
    bc_inspect_result_clear(&s.result);
    s.b.callouts.callout[0].limit = 0.85 * mean;
    s.result = bench_inspect(&s.b, &s.scan);
    ck_assert_int_eq(s.result.verdict, BC_REJECT);
    close_scene(&s);
}
END_TEST

/* The same of a T that is to be at least its limit: all the light in the last tenth would bring it above. */
START_TEST(mean_transmittance_that_the_rest_could_save)
{
    scene s;
    truth t;
    double mean, best;
    ask(&s, BC_AVERAGE, 0.2);
    s.b.callouts.callout[0].quantity = BC_T;
    s.b.callouts.callout[0].sense = BC_AT_LEAST;
    t = bench_truth(&s.b);
    s.scan = bench_scan(&t, BC_MEASURED_T, 470.0, 1.0, 191);
    s.result = bench_inspect(&s.b, &s.scan);
    mean = s.result.finding[0].value;
    best = 0.9 * mean + 0.1; /* 470..650 of 450..650 nm */
    ck_assert_double_lt(mean, 0.999);
    for (int way = 0; way < 2; way++) {
        bc_inspect_result_clear(&s.result);
        s.b.callouts.callout[0].limit = way == 0 ? 0.1 * mean + 0.9 * best : 0.9 * best + 0.1;
        s.result = bench_inspect(&s.b, &s.scan);
        ck_assert_int_eq(s.result.verdict, way == 0 ? BC_UNDECIDED : BC_REJECT);
    }
    close_scene(&s);
}
END_TEST

/* The same scan with points left out in the middle. */
START_TEST(gap)
{
    scene s;
    size_t kept = 0;
    ask(&s, _i == 0 ? BC_EXTREME : BC_AVERAGE, 0.2);
    look(&s, 440.0, 660.0, 2.0);
    bc_inspect_result_clear(&s.result);
    for (size_t i = 0; i < s.scan.count; i++)
        if (s.scan.wavelength_nm[i] < 530.0 || s.scan.wavelength_nm[i] > 570.0) {
            s.scan.wavelength_nm[kept] = s.scan.wavelength_nm[i];
            s.scan.R.value[kept++] = s.scan.R.value[i];
        }
    s.scan.count = kept;
    s.result = bench_inspect(&s.b, &s.scan);
    ck_assert_int_eq(s.result.verdict, BC_UNDECIDED);
    ck_assert_int_eq(s.result.finding[0].reason, BC_UNDECIDED_STEPS);
    ck_assert_double_eq(s.result.finding[0].widest_step_nm, 44.0);
    close_scene(&s);
}
END_TEST

/* 1200 nm of n 2.10: the narrowest fringe from 450 nm on is 450^2 / 5040 = 40.18 nm wide, an eighth of it 5.02 nm. */
START_TEST(steps_against_the_fringe)
{
    scene s;
    bench_open(&s.b, "1.52", 1, thick_index, thick_nm);
    bench_ask(&s.b, BC_EXTREME, BC_AT_MOST, 0.9, 450.0, 650.0);
    look(&s, 450.0, 650.0, _i == 0 ? 5.0 : 6.25);
    ck_assert_double_eq_tol(s.result.finding[0].step_limit_nm, 450.0 * 450.0 / (8.0 * 5040.0), 1e-9);
    ck_assert_int_eq(s.result.verdict, _i == 0 ? BC_ACCEPT : BC_UNDECIDED);
    ck_assert_int_eq(s.result.finding[0].reason, _i == 0 ? BC_DECIDED : BC_UNDECIDED_STEPS);
    close_scene(&s);
}
END_TEST

/* Bare glass has no fringes: steps of a twentieth of the band's first wavelength at most, 22.5 nm from 450 nm on. */
START_TEST(steps_where_nothing_fringes)
{
    scene s;
    bench_open(&s.b, "1.52", 0, NULL, NULL);
    bench_ask(&s.b, BC_EXTREME, BC_AT_MOST, 0.9, 450.0, 630.0);
    look(&s, 450.0, 630.0, _i == 0 ? 22.5 : 30.0);
    ck_assert_double_eq_tol(s.result.finding[0].step_limit_nm, 22.5, 1e-12);
    ck_assert_int_eq(s.result.finding[0].reason == BC_UNDECIDED_STEPS, _i == 1);
    close_scene(&s);
}
END_TEST

/* Of equal values the first counts; of rows that are equally bad the first, but for one that nothing is known of. */
START_TEST(the_first_of_equals)
{
    static const bc_statistic statistic[] = {BC_EXTREME, BC_AVERAGE};
    scene s;
    bench_open(&s.b, "1.52", 0, NULL, NULL);
    s.b.setup.witness_certain = true;
    bench_ask(&s.b, BC_EXTREME, BC_AT_LEAST, 0.5, 420.0, 640.0)->quantity = BC_T;
    for (int i = 0; i < 4; i++)
        bench_ask(&s.b, statistic[i / 2], i % 2 == 0 ? BC_AT_MOST : BC_AT_LEAST, i % 2 == 0 ? 0.02 : 0.002, 420.0,
                  640.0);
    s.b.callouts.callout[1].limit = s.b.callouts.callout[3].limit = 0.0051; /* too near to tell */
    s.b.setup.uncertainty = 1e-3;
    ck_assert_int_eq(bc_measurement_alloc(131, BC_MEASURED_R | BC_MEASURED_R_DEVIATION, &s.scan, NULL), BC_OK);
    for (size_t i = 0; i < 131; i++) {
        s.scan.wavelength_nm[i] = 400.0 + 2.0 * (double)i;
        s.scan.R.value[i] = 0.005 + 1e-5 * (i == 20 || i == 90 ? 9.0 : i == 40 || i == 110 ? -9.0 : (double)(i % 3));
        s.scan.R.deviation[i] = 1e-6;
    }
    s.scan.repeats = 100000;
    s.result = bench_inspect(&s.b, &s.scan);
    for (int i = 1; i < 5; i++)
        ck_assert_double_eq(s.result.finding[i].at_nm, i % 2 == 1 ? 440.0 : 480.0);
    ck_assert(isnan(s.result.finding[0].limit_used));
    ck_assert(s.result.finding[1].verdict == BC_UNDECIDED && s.result.finding[3].verdict == BC_UNDECIDED);
    ck_assert_uint_eq(s.result.decisive, 1);
    close_scene(&s);
}
END_TEST

/* A peak between two samples of a coarse scan is not stepped over: at 5 nm steps the worst value found is the peak's
 * own to a hundredth of a fringe. The peak is (n^2 - 1.52)^2 / (n^2 + 1.52)^2, where the layer is an odd number of
 * quarter waves: 4 * 2520 / 19 = 530.53 nm (Born and Wolf, ch. 1.6.4). */
START_TEST(peak_between_samples)
{
    const double n2 = 2.10 * 2.10, peak = pow((n2 - 1.52) / (n2 + 1.52), 2.0);
    scene s;
    bench_open(&s.b, "1.52", 1, thick_index, thick_nm);
    bench_ask(&s.b, BC_EXTREME, BC_AT_MOST, 0.9, 520.0, 540.0);
    look(&s, 503.03, 558.03, 5.0);
    ck_assert_double_eq_tol(s.result.finding[0].value, peak, 0.012 * peak);
    close_scene(&s);
}
END_TEST

/* Ends between samples: the band's worst point is its end, known by interpolation only. */
START_TEST(ends_between_samples)
{
    const double at[2] = {447.3, 652.9};
    double R[2];
    scene s;
    truth t;
    bench_open(&s.b, "1.52", 6, six_index, six_nm);
    t = bench_truth(&s.b);
    truth_spectrum(&t, 2, at, R, NULL);
    for (int end = 0; end < 2; end++)
        bench_ask(&s.b, BC_EXTREME, BC_AT_MOST, 0.2, at[end], at[end]);
    bench_ask(&s.b, BC_AVERAGE, BC_AT_MOST, 0.2, at[0], at[0]);
    bench_ask(&s.b, BC_AVERAGE, BC_AT_MOST, 0.2, at[0], at[1]);
    look(&s, 440.0, 660.0, 2.0);
    ck_assert_int_eq(s.result.verdict, BC_ACCEPT);
    ck_assert_double_eq_tol(s.result.finding[0].value, R[0], 1e-6);
    ck_assert_double_eq_tol(s.result.finding[1].value, R[1], 1e-6);
    ck_assert_double_eq_tol(s.result.finding[2].value, R[0], 1e-6);
    ck_assert_uint_eq(s.result.finding[0].samples, 0);
    close_scene(&s);
}
END_TEST

TCase *coverage_case(void)
{
    TCase *tests = tcase_create("coverage");
    tcase_add_loop_test(tests, covered, 0, 2);
    tcase_add_loop_test(tests, not_covered, 0, 6);
    tcase_add_loop_test(tests, nothing_covered, 0, 2);
    tcase_add_loop_test(tests, covered_part_rejects, 0, 2);
    tcase_add_test(tests, mean_that_the_rest_could_save);
    tcase_add_test(tests, mean_transmittance_that_the_rest_could_save);
    tcase_add_loop_test(tests, gap, 0, 2);
    tcase_add_loop_test(tests, steps_against_the_fringe, 0, 2);
    tcase_add_loop_test(tests, steps_where_nothing_fringes, 0, 2);
    tcase_add_test(tests, the_first_of_equals);
    tcase_add_test(tests, peak_between_samples);
    tcase_add_test(tests, ends_between_samples);
    return tests;
}
