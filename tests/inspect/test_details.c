/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Noise, outliers, a back that is taken out and the overlay, figure by figure.
 */
#include "correct.h"
#include "noise.h"
#include "outliers.h"
#include "witness.h"
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define POINTS 100

static double ripple(size_t i)
{
    return sin(12.9 * (double)i + 0.7 * (double)(i * i));
}

/* Over 15 neighbours on either side, those that are known; where none is, over all. */
START_TEST(noise_of_repeats)
{
    static const struct {
        size_t known, repeats; /* every so many, after the first 40 */
        double freedom;
    } cases[] = {{1, 5, 31.0 * 4.0}, {4, 3, 15.0 * 2.0}, {1, 2, 31.0}, {1, 1, 31.0}};
    double deviation[100], noise[100], square = 0.0;
    size_t count = 0;
    for (size_t i = 0; i < 100; i++) {
        deviation[i] = i >= 40 && i % cases[_i].known == 0 ? 1e-4 * (1.0 + (double)i / 50.0) : NAN;
        square += isnan(deviation[i]) ? 0.0 : deviation[i] * deviation[i];
        count += isnan(deviation[i]) ? 0 : 1;
    }
    const bc_noise found = bc_noise_of_repeats(100, deviation, cases[_i].repeats, noise);
    double all = 0.0;
    for (size_t i = 0; i < 100; i++) {
        double sum = 0.0, of = 0.0;
        for (size_t k = 0; k < 100; k++)
            if (k + 15 >= i && k <= i + 15 && !isnan(deviation[k])) {
                sum += deviation[k] * deviation[k];
                of += 1.0;
            }
        const double expected = of > 0.0 ? sqrt(sum / of) : sqrt(square / (double)count);
        ck_assert_double_eq_tol(noise[i] / expected, 1.0, 1e-12);
        all += expected * expected / 100.0;
    }
    ck_assert_double_eq_tol(found.rms / sqrt(all), 1.0, 1e-12);
    ck_assert_double_eq(found.freedom, cases[_i].freedom);
    ck_assert_int_eq(found.source, BC_NOISE_REPEATS);
}
END_TEST

/* On even steps fourth differences over the root of 70, their median times 1.4826 (J. W. Tukey's; from memory); at
 * least eight of them. */
START_TEST(noise_of_a_scan)
{
    double nm[POINTS], value[POINTS], scratch[POINTS], contrast[POINTS];
    for (size_t i = 0; i < POINTS; i++) {
        nm[i] = 400.0 + 2.0 * (double)i;
        value[i] = 0.02 + 1e-4 * ripple(i);
    }
    for (size_t count = 10; count <= POINTS; count += count < 14 ? 1 : 43) {
        for (size_t i = 0; i + 4 < count; i++)
            contrast[i] = fabs(value[i] - 4.0 * value[i + 1] + 6.0 * value[i + 2] - 4.0 * value[i + 3] + value[i + 4]) /
                          sqrt(70.0);
        gsl_sort(contrast, 1, count - 4);
        const bc_noise found = bc_noise_of_scan(count, nm, value, scratch);
        ck_assert_int_eq(found.source, count < 12 ? BC_NOISE_UNKNOWN : BC_NOISE_SCAN);
        if (count >= 12) {
            const double rms = 1.4826022 * gsl_stats_median_from_sorted_data(contrast, 1, count - 4);
            ck_assert_double_eq_tol(found.rms / rms, 1.0, 1e-6);
            ck_assert_double_eq_tol(found.freedom, (double)(count - 4) / 6.5, 1e-12);
        }
    }
}
END_TEST

/* A step that all values are multiples of shows from eight differences on, and is a floor for any noise. */
START_TEST(rounding_as_a_floor)
{
    double value[12], scratch[12], each[3] = {1e-5, 5e-4, 2e-4};
    for (size_t different = 7; different <= 9; different++) {
        for (size_t i = 0; i < 12; i++)
            value[i] = 0.0123 + 1e-3 * (double)((5 * i) % 12 < different ? (5 * i) % 12 : different);
        ck_assert_double_eq_tol(bc_rounding_step(12, value, scratch), different >= 8 ? 1e-3 : 0.0, 1e-9);
    }
    bc_noise noise = bc_noise_not_below_rounding((bc_noise){BC_NOISE_REPEATS, 3e-4, 10.0}, 2.5e-4, 3, each);
    ck_assert(each[0] == 2.5e-4 && each[1] == 5e-4 && each[2] == 2.5e-4);
    ck_assert(noise.source == BC_NOISE_REPEATS && noise.rms == 3e-4 && noise.freedom == 10.0);
    noise = bc_noise_not_below_rounding((bc_noise){BC_NOISE_REPEATS, 1e-4, 10.0}, 2.5e-4, 3, each);
    ck_assert_double_eq(noise.rms, 2.5e-4);
    noise = bc_noise_not_below_rounding((bc_noise){BC_NOISE_SCAN, 3e-4, 10.0}, 2.5e-4, 3, each);
    ck_assert(noise.source == BC_NOISE_SCAN && each[0] == 3e-4 && each[2] == 3e-4 && noise.freedom == 10.0);
    noise = bc_noise_not_below_rounding((bc_noise){BC_NOISE_SCAN, 1e-4, 10.0}, 2.5e-4, 3, each);
    ck_assert(noise.source == BC_NOISE_ROUNDING && noise.rms == 2.5e-4 && isinf(noise.freedom) && each[1] == 2.5e-4);
}
END_TEST

/* A fitted scan of two layers. */
typedef struct scene {
    bench b;
    bc_measurement scan;
    double dn[2];
    bc_inspect_result result;
    bc_inspection inspection;
} scene;

static const char *const index_of[2] = {"1.38", "2.10-0.01i"};
static const double thick_nm[2] = {92.0, 118.0};

static void open_scene(scene *s, double aoi_deg, bc_polarization polarization, bc_back_kind back, const char *glass)
{
    bc_error error = {0};
    memset(s, 0, sizeof *s);
    bench_open(&s->b, glass, 2, index_of, thick_nm);
    s->b.setup.back = (bc_back){.kind = back, .substrate_mm = 2.0};
    s->b.setup.aoi_rad = aoi_deg * DEGREE;
    s->b.setup.polarization = polarization;
    s->b.setup.uncertainty = 2e-3;
    s->b.setup.fit_index = back == BC_BACK_NONE;
    truth t = bench_truth(&s->b);
    t.layer[1].k = 0.01;
    s->scan = bench_scan(&t, BC_MEASURED_R | BC_MEASURED_T, 450.0, 4.0, POINTS);
    scan_know_noise(&s->scan, 1e-4);
    for (size_t i = 0; i < POINTS; i++) {
        s->scan.R.value[i] += 1e-4 * ripple(i);
        s->scan.T.value[i] += 1e-4 * ripple(i + 100);
    }
    s->inspection = (bc_inspection){.setup = &s->b.setup, .result = &s->result, .dn = s->dn};
    ck_assert_int_eq(bc_readings_open(&s->scan, &s->b.setup, &s->inspection.readings, &error), BC_OK);
    const bc_fit_setup setup = bc_fit_setup_of(&s->inspection);
    ck_assert_int_eq(bc_fit_again(&s->inspection, &setup, &error), BC_OK);
}

static void close_scene(scene *s)
{
    bc_solution_clear(&s->inspection.solution);
    bc_fit_close(&s->inspection.fit);
    bc_readings_close(&s->inspection.readings);
    bc_measurement_clear(&s->scan);
    bench_close(&s->b);
}

typedef struct plate_case {
    double aoi_deg;
    bc_polarization polarization;
    const char *glass;
} plate_case;

static const plate_case backs[] = {{0.0, BC_POL_UNPOLARIZED, "1.52"},
                                   {40.0, BC_POL_UNPOLARIZED, "1.52-2e-6i"},
                                   {40.0, BC_POL_P, "1.52-2e-6i"},
                                   {40.0, BC_POL_S, "1.52"},
                                   {0.0, BC_POL_UNPOLARIZED, "1.52-3e-6i"}};

/* The part's value of the layers as they were fitted, with a front that is off by a little all over: taken out, the
 * front is what the model has alone, and the uncertainty goes by the slope between two such parts. */
START_TEST(a_back_taken_out)
{
    const bc_quantity quantity = _i % 2 == 0 ? BC_R : BC_T;
    const plate_case *of = &backs[_i / 2];
    double value[2][POINTS], random[2][POINTS], systematic[2][POINTS], angle[POINTS];
    bc_model_spectrum front, part;
    scene s;
    open_scene(&s, of->aoi_deg, of->polarization, BC_BACK_UNCOATED, of->glass);
    s.dn[0] = 0.01;
    s.dn[1] = -0.02;
    const double *nm = s.inspection.readings.wavelength_nm;
    const bc_polarization polarization = of->polarization;
    ck_assert_int_eq(
        bc_model_spectrum_open(&s.b.design, NULL, POINTS, nm, s.b.setup.aoi_rad, polarization, &front, NULL), BC_OK);
    ck_assert_int_eq(
        bc_model_spectrum_open(&s.b.design, &s.b.setup.back, POINTS, nm, s.b.setup.aoi_rad, polarization, &part, NULL),
        BC_OK);
    for (size_t m = 0; m < 2; m++) {
        bc_model_spectrum_shift_index(&front, m, s.dn[m]);
        bc_model_spectrum_shift_index(&part, m, s.dn[m]);
    }
    bc_model_spectrum_compute(&front, s.inspection.solution.point.thickness_nm, false);
    bc_model_spectrum_compute(&part, s.inspection.solution.point.thickness_nm, false);
    for (int up = 0; up < 2; up++) {
        bc_curve curve = {POINTS, nm, value[up], random[up], systematic[up], angle, INFINITY};
        for (size_t i = 0; i < POINTS; i++) {
            value[up][i] = bc_model_spectrum_value(&part, quantity)[i] + (up == 1 ? 1e-6 : 0.0);
            random[up][i] = 1e-4;
            systematic[up][i] = 3e-4;
        }
        ck_assert_int_eq(bc_remove_back(&s.inspection, quantity, &curve, NULL), BC_OK);
    }
    for (size_t i = 0; i < POINTS; i++) {
        const double slope = (value[1][i] - value[0][i]) / 1e-6; /* of the front in the part */
        ck_assert_double_eq_tol(value[0][i], bc_model_spectrum_value(&front, quantity)[i], 1e-9);
        ck_assert_double_eq_tol(random[0][i] / (1e-4 * slope), 1.0, 1e-4);
        ck_assert_double_eq_tol(systematic[0][i] / (3e-4 * slope), 1.0, 1e-4);
    }
    ck_assert(bc_removal_needs_fit(&s.inspection)); /* a layer absorbs */
    bc_model_spectrum_close(&front);
    bc_model_spectrum_close(&part);
    close_scene(&s);
}
END_TEST

/* Where nothing absorbs and one plane was measured, the sum over the reflections within the plate is solved exactly. */
START_TEST(when_a_back_needs_a_fit)
{
    static const struct {
        const char *layer, *glass;
        double aoi_rad;
        bc_polarization polarization;
        bool needs;
    } cases[] = {{"1.38", "1.52", 0.0, BC_POL_UNPOLARIZED, false},
                 {"1.38", "1.52", 0.3, BC_POL_UNPOLARIZED, true},
                 {"1.38", "1.52", 0.3, BC_POL_S, false},
                 {"1.38-1e-4i", "1.52", 0.0, BC_POL_UNPOLARIZED, true},
                 {"1.38", "1.52-1e-7i", 0.0, BC_POL_UNPOLARIZED, true}};
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        static const double nm[] = {500.0, 600.0};
        bc_inspection inspection = {0};
        bench b;
        bench_open(&b, cases[c].glass, 1, &cases[c].layer, thick_nm);
        ck_assert_int_eq(bc_model_spectrum_open(&b.design, NULL, 2, nm, cases[c].aoi_rad, cases[c].polarization,
                                                &inspection.fit.simulated, NULL),
                         BC_OK);
        ck_assert_int_eq(bc_removal_needs_fit(&inspection), cases[c].needs);
        bc_model_spectrum_close(&inspection.fit.simulated);
        bench_close(&b);
    }
}
END_TEST

/* Readings that lie far off are left out when they are few: two in a row, of a hundred points three in all; and only
 * where what else is left is small. Whatever comes of it, the fit's weights are as before. */
START_TEST(how_many_outliers_there_may_be)
{
    static const struct {
        size_t at[4], count;
        double rest; /* of all others, times the noise */
        bool found;
    } cases[] = {{{20}, 1, 0.0, true},          {{20, 21}, 2, 0.0, true},      {{20, 40}, 2, 0.0, true},
                 {{10, 30, 50}, 3, 0.0, true},
                 {{20, 21, 22}, 3, 0.0, false}, {{20, 21, 50}, 3, 0.0, true},  {{10, 30, 50, 70}, 4, 0.0, false},
                 {{20}, 1, 4.0, false}};
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        bool found = true;
        scene s;
        open_scene(&s, 0.0, BC_POL_UNPOLARIZED, BC_BACK_NONE, "1.52");
        bc_readings *readings = &s.inspection.readings;
        for (size_t i = 0; i < POINTS; i++)
            readings->R.value[i] += cases[c].rest * 1e-4 * (i % 2 == 0 ? 1.0 : -1.0);
        for (size_t k = 0; k < cases[c].count; k++)
            readings->R.value[cases[c].at[k]] += (k % 2 == 0 ? 1.0 : -1.0) * (cases[c].rest > 0.0 ? 8e-3 : 3e-3);
        s.inspection.fit.inflation = 1.7;
        ck_assert_int_eq(bc_find_outliers(&s.inspection, &found, NULL), BC_OK);
        ck_assert_msg(found == cases[c].found, "case %zu", c);
        ck_assert_double_eq(s.inspection.fit.inflation, 1.7);
        size_t marked = 0;
        for (size_t i = 0; i < POINTS; i++) {
            marked += readings->R.outlier[i] + readings->T.outlier[i];
            ck_assert(s.inspection.fit.weight[0][i] == 1.0 && s.inspection.fit.weight[1][i] == 1.0);
        }
        ck_assert_uint_eq(marked, found ? cases[c].count : 0);
        for (size_t k = 0; found && k < cases[c].count; k++)
            ck_assert(readings->R.outlier[cases[c].at[k]]);
        close_scene(&s);
    }
}
END_TEST

/* Measured beside designed and fitted; the offset as a fraction, with what was known of it. */
START_TEST(the_overlay)
{
    double measured[2][POINTS], *memory = calloc(2 * 7 * POINTS, sizeof(double)), square = 0.0;
    ck_assert_ptr_nonnull(memory);
    scene s;
    open_scene(&s, 0.0, BC_POL_UNPOLARIZED, BC_BACK_NONE, "1.52");
    bc_overlay *const overlay[] = {&s.result.R, &s.result.T};
    for (size_t q = 0; q < 2; q++) {
        double **const array[] = {&overlay[q]->wavelength_nm, &overlay[q]->measured,    &overlay[q]->design,
                                  &overlay[q]->fitted,        &overlay[q]->from_design, &overlay[q]->from_fitted,
                                  &overlay[q]->noise};
        for (size_t a = 0; a < 7; a++)
            *array[a] = memory + (7 * q + a) * POINTS;
        overlay[q]->systematic = measured[q];
        overlay[q]->count = POINTS;
    }
    s.inspection.readings.T.outlier[9] = true;
    s.inspection.readings.T.value[9] += 0.05;
    truth t = bench_truth(&s.b);
    t.layer[1].k = 0.01;
    ck_assert_int_eq(bc_set_overlays(&s.inspection, NULL), BC_OK);
    const bc_solution *solution = &s.inspection.solution;
    for (size_t q = 0; q < 2; q++) {
        const double *value = q == 0 ? s.inspection.readings.R.value : s.inspection.readings.T.value;
        const size_t at = bc_fit_place(&s.inspection.fit, (bc_shared)(BC_SHARED_FIRST + q));
        double from_design = 0.0, left = 0.0, worst = 0.0, worst_nm = 0.0;
        for (size_t i = 0; i < POINTS; i++) {
            const double nm = 450.0 + 4.0 * (double)i;
            double R, T;
            truth_spectrum(&t, 1, &nm, &R, &T);
            const double design = q == 0 ? R : T, away = value[i] - design;
            ck_assert(overlay[q]->wavelength_nm[i] == nm && overlay[q]->measured[i] == value[i]);
            ck_assert_double_eq_tol(overlay[q]->noise[i], 1e-4, 1e-15);
            ck_assert_double_eq_tol(overlay[q]->systematic[i], 1e-3, 1e-15);
            ck_assert_double_eq_tol(overlay[q]->design[i], design, 1e-12);
            ck_assert_double_eq_tol(overlay[q]->from_design[i], away, 1e-12);
            ck_assert_double_eq_tol(overlay[q]->from_fitted[i], value[i] - overlay[q]->fitted[i] - overlay[q]->offset,
                                    1e-12);
            from_design += away * away / POINTS;
            left += q == 1 && i == 9 ? 0.0 : pow(overlay[q]->from_fitted[i], 2.0) / (q == 1 ? POINTS - 1 : POINTS);
            worst_nm = fabs(away) > fabs(worst) ? nm : worst_nm;
            worst = fabs(away) > fabs(worst) ? away : worst;
        }
        square += from_design;
        ck_assert_double_eq_tol(overlay[q]->rms, sqrt(from_design), 1e-12);
        ck_assert_double_eq_tol(overlay[q]->rms_fitted, sqrt(left), 1e-12);
        ck_assert_double_eq_tol(overlay[q]->worst, worst, 1e-12);
        ck_assert_double_eq(overlay[q]->worst_nm, worst_nm);
        ck_assert_double_eq_tol(overlay[q]->offset, 1e-3 * solution->point.shared[BC_SHARED_FIRST + q], 1e-15);
        ck_assert_double_eq_tol(overlay[q]->offset_sigma, 1e-3 * sqrt(solution->covariance[at * solution->size + at]),
                                1e-12);
        ck_assert_double_eq_tol(overlay[q]->offset_prior, 1e-3, 1e-15);
    }
    ck_assert_double_eq_tol(s.result.rms, sqrt(square / 2.0), 1e-12);
    free(memory);
    close_scene(&s);
}
END_TEST

TCase *details_case(void)
{
    TCase *tests = tcase_create("details");
    tcase_add_loop_test(tests, noise_of_repeats, 0, 4);
    tcase_add_test(tests, noise_of_a_scan);
    tcase_add_test(tests, rounding_as_a_floor);
    tcase_add_loop_test(tests, a_back_taken_out, 0, 10);
    tcase_add_test(tests, when_a_back_needs_a_fit);
    tcase_add_test(tests, how_many_outliers_there_may_be);
    tcase_add_test(tests, the_overlay);
    return tests;
}
