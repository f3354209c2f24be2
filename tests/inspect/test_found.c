/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What is told of a fit: how far it is trusted, what a scan says of its layers by itself, which layers are known and
 * off, where a loss is, the curve behind the noise.
 */
#include "fitted_scan.h"
#include "residue.h"
#include "smooth.h"
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Noise is taken for what the rest shows: its size, with what was fitted taken off the points, times how many points go
 * into an independent one. Of noise that is (1 + r) / (1 - r), r the first autocorrelation (Box and Jenkins, Time
 * Series Analysis; from memory); of what is more than noise the sum of those that are positive. Loop: both. */
START_TEST(noise_as_the_rest_shows_it)
{
    double left[COUNT], square = 0.0, most = 1.0;
    fitted_scan s;
    fitted_open(&s, BC_MEASURED_R, _i == 0 ? 0.4 : 0.9, false);
    bc_fit *fit = &s.inspection.fit;
    bc_solution *solution = &s.inspection.solution;
    bc_fit_remainder(fit, &solution->point, 0, left);
    for (size_t i = 0; i < COUNT; i++)
        square += left[i] * left[i];
    const double residual = sqrt(square / COUNT) / NOISE;
    ck_assert(_i == 0 ? residual < 1.5 : residual > 1.5);
    solution->residual = residual;
    for (size_t lag = 1; lag < COUNT / 2; lag++) {
        double product = 0.0;
        for (size_t i = lag; i < COUNT; i++)
            product += left[i] * left[i - lag] / square;
        if (!(product > 0.0))
            break;
        if (_i == 0) {
            most = (1.0 + product) / (1.0 - product);
            break;
        }
        most += 2.0 * product;
    }
    ck_assert_int_eq(bc_solve_errors(fit, solution, NULL), BC_OK);
    ck_assert_double_eq_tol(fit->inflation, fmax(1.0, residual * sqrt(COUNT / (COUNT - (double)LAYERS)) * sqrt(most)),
                            1e-9);
    ck_assert_double_eq_tol(solution->residual, residual, 0.01);
    fitted_close(&s);
}
END_TEST

/* A common factor is found to half a step of the search, and one descent from there is enough; so is one from the best
 * factor of a single layer, or of a material. */
START_TEST(where_a_search_begins)
{
    static const struct {
        double all, third, high;
    } cases[] = {{0.62, 1.0, 1.0}, {0.8, 1.0, 1.0},  {1.0, 1.0, 1.0},  {1.2, 1.0, 1.0},
                 {1.62, 1.0, 1.0}, {1.0, 0.55, 1.0}, {1.0, 1.55, 1.0}, {1.0, 1.0, 0.7}};
    bc_error error = {0};
    bc_solution solution = {0};
    bc_fit fit;
    fitted_scan s;
    fitted_open(&s, BC_MEASURED_R | BC_MEASURED_T, 0.0, false);
    truth t = bench_truth(&s.b);
    for (size_t j = 0; j < LAYERS; j++)
        t.layer[j].thickness_nm *=
            cases[_i].all * (j == 2 ? cases[_i].third : 1.0) * (j % 2 == 1 ? cases[_i].high : 1.0);
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R | BC_MEASURED_T, 400.0, 4.0, COUNT);
    scan_disturb(&s.b, &scan, NOISE, 0.0);
    memcpy(s.inspection.readings.R.value, scan.R.value, COUNT * sizeof(double));
    memcpy(s.inspection.readings.T.value, scan.T.value, COUNT * sizeof(double));
    const bc_fit_setup setup = bc_fit_setup_of(&s.inspection);
    ck_assert_int_eq(bc_fit_open(&setup, &fit, &error), BC_OK);
    ck_assert_int_eq(bc_solve(&fit, &solution, &error), BC_OK);
    if (_i < 5)
        ck_assert_double_eq_tol(solution.scale / cases[_i].all, 1.0, 0.003);
    if (cases[_i].all > 0.7 && cases[_i].all < 1.5) /* further off the prior costs more than noise */
        ck_assert_uint_eq(fit.fits, 1);
    ck_assert_double_eq_tol(solution.residual, 1.0, 0.15);
    for (size_t j = 0; j < LAYERS; j++)
        ck_assert_double_eq_tol(solution.point.thickness_nm[j], t.layer[j].thickness_nm, 0.3);
    bc_solution_clear(&solution);
    bc_fit_close(&fit);
    bc_measurement_clear(&scan);
    fitted_close(&s);
}
END_TEST

/* The looks at a common factor are as many, in equal ratios from 0.6 to 1.67, that the narrowest fringe moves by a
 * sixteenth, and the factor by 0.005, at most; no more than 1000. */
START_TEST(steps_of_a_common_factor)
{
    static const char *const index[] = {"1.38", "2.10"};
    static const double nm[][2] = {{100.0, 150.0}, {500.0, 3200.0}, {500.0, 6000.0}};
    const double looks[] = {214.0, ceil(1.07 / (400.0 / (32.0 * (1.38 * 500.0 + 2.10 * 3200.0)))), 1000.0};
    bc_error error = {0};
    bc_solution solution;
    bc_fit fit;
    bench b;
    bench_open(&b, "1.52", 2, index, nm[_i]);
    truth t = bench_truth(&b);
    for (size_t j = 0; j < 2; j++)
        t.layer[j].thickness_nm *= 1.1303;
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R, 400.0, 1.0, 301);
    bc_inspect_result result = {0};
    bc_inspection inspection = {.setup = &b.setup, .result = &result};
    ck_assert_int_eq(bc_readings_open(&scan, &b.setup, &inspection.readings, &error), BC_OK);
    const bc_fit_setup setup = bc_fit_setup_of(&inspection);
    ck_assert_int_eq(bc_fit_open(&setup, &fit, &error), BC_OK);
    ck_assert_int_eq(bc_solve(&fit, &solution, &error), BC_OK);
    const double steps = looks[_i] * log(solution.scale / 0.6) / log(1.67 / 0.6);
    ck_assert_double_eq_tol(steps, round(looks[_i] * log(1.1303 / 0.6) / log(1.67 / 0.6)), 1e-6);
    bc_solution_clear(&solution);
    bc_fit_close(&fit);
    bc_readings_close(&inspection.readings);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* What the scan alone says of the layers: the block of the layers of the inverse of all, inverted again (Schur
 * complement), the priors of indices and instrument in it and those of the layers not. At the minimum both pull alike.
 */
START_TEST(what_the_scan_alone_says)
{
    fitted_scan s;
    fitted_open(&s, BC_MEASURED_R, 0.0, true);
    const bc_solution *solution = &s.inspection.solution;
    const size_t size = solution->size;
    ck_assert_uint_eq(size, LAYERS + 2 + 2);
    gsl_matrix *all = gsl_matrix_alloc(size, size), *inverse = gsl_matrix_alloc(size, size);
    gsl_permutation *order = gsl_permutation_alloc(size);
    int sign;
    for (size_t i = 0; i < size; i++)
        for (size_t k = 0; k < size; k++) {
            const double width = i < LAYERS + 2 ? 0.05 : 1.0; /* of an index of which nobody says it */
            gsl_matrix_set(all, i, k,
                           solution->information[i * size + k] + (i == k && i >= LAYERS ? 1.0 / (width * width) : 0.0));
        }
    gsl_linalg_LU_decomp(all, order, &sign);
    gsl_linalg_LU_invert(all, order, inverse);
    gsl_matrix_view block = gsl_matrix_submatrix(inverse, 0, 0, LAYERS, LAYERS);
    gsl_matrix *again = gsl_matrix_alloc(LAYERS, LAYERS), *alone = gsl_matrix_alloc(LAYERS, LAYERS);
    gsl_permutation *of_layers = gsl_permutation_alloc(LAYERS);
    gsl_matrix_memcpy(again, &block.matrix);
    gsl_linalg_LU_decomp(again, of_layers, &sign);
    gsl_linalg_LU_invert(again, of_layers, alone);
    ck_assert_int_eq(bc_keep_information(&s.inspection, NULL), BC_OK);
    for (size_t j = 0; j < LAYERS; j++) {
        const double weak = 0.25 * thick_nm[j] + 2.0, nm = solution->point.thickness_nm[j];
        double pull = (nm - thick_nm[j]) / (weak * weak);
        for (size_t k = 0; k < LAYERS; k++) {
            const double found = s.information[j * LAYERS + k];
            ck_assert_double_eq_tol(found, gsl_matrix_get(alone, j, k),
                                    1e-6 * sqrt(gsl_matrix_get(alone, j, j) * gsl_matrix_get(alone, k, k)));
            pull += found * solution->point.thickness_nm[k];
        }
        ck_assert_double_eq_tol(s.pull[j] / pull, 1.0, 1e-9);
    }
    gsl_permutation_free(of_layers);
    gsl_permutation_free(order);
    gsl_matrix_free(alone);
    gsl_matrix_free(again);
    gsl_matrix_free(inverse);
    gsl_matrix_free(all);
    fitted_close(&s);
}
END_TEST

/* A layer is known to a fortieth and 0.2 nm; off by more than chance, one per cent for all layers together
 * (Bonferroni), and more than a chamber can be set to; and beyond the factor that the others share, weighted by what is
 * known. */
START_TEST(layers_known_and_off)
{
    fitted_scan s;
    fitted_open(&s, BC_MEASURED_R, 0.0, false);
    bc_solution *solution = &s.inspection.solution;
    const double z = gsl_cdf_ugaussian_Pinv(1.0 - 0.005 / LAYERS);
    static const double known[LAYERS] = {0.99, 1.01, 0.1, 1e-4}, off[LAYERS] = {1.01, 5.0, 0.99, 0.0};
    double sigma[LAYERS], nm[LAYERS], sum = 0.0, weights = 0.0;
    for (size_t j = 0; j < LAYERS; j++) {
        sigma[j] = known[j] * (0.025 * thick_nm[j] + 0.2);
        nm[j] = thick_nm[j] + (j == 3 ? 4.9e-4 * thick_nm[j] : (j == 2 ? -1.0 : 1.0) * off[j] * z * sigma[j]);
        for (size_t k = 0; k < solution->size; k++)
            solution->covariance[j * solution->size + k] = j == k ? sigma[j] * sigma[j] : 0.01 * (double)(j + k);
        solution->point.thickness_nm[j] = nm[j];
    }
    ck_assert_int_eq(bc_tell_layers(&s.inspection, NULL), BC_OK);
    for (size_t j = 0; j < LAYERS; j++) {
        ck_assert_double_eq(s.layer[j].fitted_nm, nm[j]);
        ck_assert_double_eq(s.layer[j].design_nm, thick_nm[j]);
        ck_assert_double_eq_tol(s.layer[j].sigma_nm, sigma[j], 1e-12);
        ck_assert_int_eq(s.layer[j].known, j != 1);
        ck_assert_int_eq(s.layer[j].off, j == 0); /* the second is not known, the others are within */
        ck_assert_double_eq(s.covariance[j * LAYERS + (j + 1) % LAYERS], 0.01 * (double)(j + (j + 1) % LAYERS));
        if (j == 0 || j == 1)
            continue;
        const double weight = pow(thick_nm[j] / sigma[j], 2.0); /* those known besides the first */
        sum += weight * nm[j] / thick_nm[j];
        weights += weight;
    }
    ck_assert_double_eq_tol(s.layer[0].beyond, nm[0] / thick_nm[0] / (sum / weights) - 1.0, 1e-9);
    fitted_close(&s);
}
END_TEST

/* The curve behind the noise and its uncertainty are those of a Gaussian process about the fitted layers, here by its
 * whole covariance (Rasmussen and Williams, Gaussian Processes for Machine Learning, 2.2 and 2.7; from memory). */
START_TEST(the_curve_is_a_gaussian_process)
{
    static double K[COUNT][COUNT], J[(COUNT + LAYERS) * LAYERS], f[COUNT + LAYERS];
    bc_smooth smooth;
    fitted_scan s;
    fitted_open(&s, BC_MEASURED_R, 0.0, false);
    for (size_t i = 0; i < COUNT; i++) /* something the layers do not make */
        s.inspection.readings.R.value[i] += 6e-4 * sin((double)i / 9.0);
    const bc_fit_setup setup = bc_fit_setup_of(&s.inspection);
    ck_assert_int_eq(bc_fit_again(&s.inspection, &setup, NULL), BC_OK);
    s.result.good_fit = true;
    ck_assert_int_eq(bc_smooth_open(&s.inspection, &smooth, NULL), BC_OK);
    ck_assert(smooth.tau > 0.2);
    s.inspection.fit.inflation = 1.0;
    ck_assert_int_eq(bc_fit_linearize(&s.inspection.fit, &s.inspection.solution.point, J, f, NULL), BC_OK);
    double optical_nm = 0.0, square = 0.0, spent = 0.0;
    for (size_t j = 0; j < LAYERS; j++)
        optical_nm += atof(six_index[j]) * thick_nm[j];
    const double length = 1.0 / (12.0 * optical_nm);
    /* in units of the noise: the prior of the curve about the linearized fit, whose layers are N(0, prior) */
    for (size_t i = 0; i < COUNT; i++)
        for (size_t k = 0; k < COUNT; k++) {
            const double x = (1.0 / s.scan.wavelength_nm[i] - 1.0 / s.scan.wavelength_nm[k]) / length;
            K[i][k] = smooth.tau * smooth.tau * exp(-0.5 * x * x);
            for (size_t j = 0; j < LAYERS; j++)
                K[i][k] += J[i * LAYERS + j] * J[k * LAYERS + j] * pow(0.25 * thick_nm[j] + 2.0, 2.0);
        }
    gsl_matrix *all = gsl_matrix_alloc(COUNT, COUNT), *inverse = gsl_matrix_alloc(COUNT, COUNT);
    gsl_permutation *order = gsl_permutation_alloc(COUNT);
    int sign;
    for (size_t i = 0; i < COUNT; i++)
        for (size_t k = 0; k < COUNT; k++)
            gsl_matrix_set(all, i, k, K[i][k] + (i == k ? 1.0 : 0.0));
    gsl_linalg_LU_decomp(all, order, &sign);
    gsl_linalg_LU_invert(all, order, inverse);
    double sigma[COUNT], rest[COUNT];
    for (size_t i = 0; i < COUNT; i++) {
        double value = 0.0, variance = K[i][i];
        for (size_t k = 0; k < COUNT; k++)
            for (size_t l = 0; l < COUNT; l++) {
                /* the priors' rows: where the layers are expected beside where they were linearized */
                double away = -f[l];
                for (size_t j = 0; j < LAYERS; j++)
                    away += J[l * LAYERS + j] * f[COUNT + j] * (0.25 * thick_nm[j] + 2.0);
                value += K[i][k] * gsl_matrix_get(inverse, k, l) * away;
                variance -= K[i][k] * gsl_matrix_get(inverse, k, l) * K[l][i];
            }
        for (size_t j = 0; j < LAYERS; j++)
            value -= J[i * LAYERS + j] * f[COUNT + j] * (0.25 * thick_nm[j] + 2.0);
        const double model = s.inspection.readings.R.value[i] + NOISE * f[i], curve = model + NOISE * value;
        sigma[i] = NOISE * sqrt(variance);
        ck_assert_double_eq_tol(smooth.value[0][i], curve, 0.15 * NOISE); /* sines are as good as that */
        rest[i] = (s.inspection.readings.R.value[i] - curve) / NOISE;
        square += rest[i] * rest[i];
        spent += variance;
    }
    const double chi = sqrt(fmax(0.5, fmax(1.0, bc_residue_points_in_one(COUNT, rest)) * square / (COUNT - spent)));
    ck_assert_double_eq_tol(smooth.freedom, COUNT - spent, 1.0);
    for (size_t i = 0; i < COUNT; i++)
        ck_assert_double_eq_tol(bc_smooth_sigma(&smooth, BC_R, i) / (chi * sigma[i]), 1.0, 0.08);
    gsl_permutation_free(order);
    gsl_matrix_free(inverse);
    gsl_matrix_free(all);
    bc_smooth_close(&smooth);
    fitted_close(&s);
}
END_TEST

TCase *found_case(void)
{
    TCase *tests = tcase_create("found");
    tcase_add_loop_test(tests, noise_as_the_rest_shows_it, 0, 2);
    tcase_add_loop_test(tests, where_a_search_begins, 0, 8);
    tcase_add_loop_test(tests, steps_of_a_common_factor, 0, 3);
    tcase_add_test(tests, what_the_scan_alone_says);
    tcase_add_test(tests, layers_known_and_off);
    tcase_add_test(tests, the_curve_is_a_gaussian_process);
    return tests;
}
