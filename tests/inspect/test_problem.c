/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The least-squares problem that an inspection solves, term by term: residuals against the 256-bit reference and
 * against priors worked out here, slopes against differences, covariance and evidence against determinants by LU.
 */
#include "fit_variables.h"
#include "problem.h"
#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <string.h>

static const sight sights[] = {{0.0, BC_POL_UNPOLARIZED, BC_BACK_NONE},
                               {45.0, BC_POL_UNPOLARIZED, BC_BACK_SAME},
                               {45.0, BC_POL_UNPOLARIZED, BC_BACK_NONE},
                               {45.0, BC_POL_P, BC_BACK_UNCOATED}};
#define SIGHTS ((int)(sizeof sights / sizeof *sights))

/* Layers, two indices, seven numbers that are shared; each as far off as it may be. */
#define SIZE (LAYERS + 2 + BC_SHARED)
static const double away_nm[LAYERS] = {2.0, -3.0, 1.5, 1.0, -2.5, 0.7}, dn[2] = {0.004, -0.003};
static const double shared[BC_SHARED] = {0.3, -0.4, 0.25, -0.5, 0.7, -0.8, 0.9};

static void fill(gsl_vector *x)
{
    for (size_t j = 0; j < LAYERS; j++)
        gsl_vector_set(x, j, six_nm[j] + away_nm[j]);
    for (size_t m = 0; m < 2; m++)
        gsl_vector_set(x, LAYERS + m, dn[m]);
    for (size_t i = 0; i < BC_SHARED; i++)
        gsl_vector_set(x, LAYERS + 2 + i, shared[i]);
}

/* The model, instrument and all, and what each prior adds. */
START_TEST(residuals_are_the_model_less_the_readings)
{
    const double shift_nm = shared[BC_SHARED_WAVELENGTH] * hypot(0.3, 0.9), stretch = 1.0 + 0.25 * hypot(0.01, 0.1);
    double R[COUNT], T[COUNT], nm[COUNT];
    problem s;
    problem_open(&s, &sights[_i], true);
    const bc_family family = {.free = LAYERS, .index = true};
    bc_fit_layout at = bc_fit_lay_out(&s.fit, &family);
    ck_assert_uint_eq(at.size, SIZE);
    ck_assert_uint_eq(at.rows, 2 * COUNT + SIZE);
    gsl_vector *x = gsl_vector_alloc(SIZE), *f = gsl_vector_alloc(at.rows);
    fill(x);
    truth t = bench_truth(&s.b);
    for (size_t j = 0; j < LAYERS; j++) {
        t.layer[j].thickness_nm += away_nm[j];
        t.layer[j].n += dn[j % 2];
    }
    for (size_t i = 0; i < COUNT; i++)
        nm[i] = 450.0 + STEP_NM * (double)i + shift_nm;
    truth_spectrum(&t, COUNT, nm, R, T);
    ck_assert_int_eq(bc_fit_residuals(x, &at, f), 0);
    for (size_t i = 0; i < COUNT; i++) {
        const double constant = 0.7 * 0.005, noise = i == 7 ? 1e6 : 1.5 * NOISE;
        ck_assert_double_eq_tol(gsl_vector_get(f, i),
                                (stretch * R[i] + 0.3 * 1e-3 + constant - s.scan.R.value[i]) / (1.5 * NOISE), 5e-3);
        ck_assert_double_eq_tol(gsl_vector_get(f, COUNT + i),
                                (T[i] - 0.4 * 1e-3 + constant - s.scan.T.value[i]) / noise, 5e-3);
    }
    for (size_t j = 0; j < LAYERS; j++) {
        const double sigma = hypot(0.02 * six_nm[j], j == 2 ? 0.1 * six_nm[j] + 2.0 : 0.0);
        const double run = -0.03 * six_nm[j] * shared[BC_SHARED_RUN];
        const double common = j % 2 == 1 ? 0.05 * six_nm[j] * shared[BC_SHARED_COMMON] : 0.0;
        ck_assert_double_eq_tol(gsl_vector_get(f, 2 * COUNT + j), (away_nm[j] - run - common) / sigma, 1e-9);
    }
    ck_assert_double_eq_tol(gsl_vector_get(f, 2 * COUNT + LAYERS), dn[0] / 0.01, 1e-12);
    ck_assert_double_eq_tol(gsl_vector_get(f, 2 * COUNT + LAYERS + 1), dn[1] / hypot(0.01, 0.04), 1e-12);
    for (size_t i = 0; i < BC_SHARED; i++)
        ck_assert_double_eq(gsl_vector_get(f, 2 * COUNT + LAYERS + 2 + i), shared[i]);
    gsl_vector_free(x);
    gsl_vector_free(f);
    problem_close(&s);
}
END_TEST

/* Every slope is that of the residuals; `loose`: the column of the wavelengths, whose slope is interpolated. */
static void expect_slopes(bc_fit_layout *at, gsl_vector *x, size_t loose)
{
    gsl_matrix *J = gsl_matrix_alloc(at->rows, at->size);
    gsl_vector *side[2] = {gsl_vector_alloc(at->rows), gsl_vector_alloc(at->rows)};
    ck_assert_int_eq(bc_fit_jacobian(x, at, J), 0);
    for (size_t v = 0; v < at->size; v++) {
        const double middle = gsl_vector_get(x, v), step = v >= at->dn && v < at->shared[0] ? 1e-5 : 1e-3;
        double most = 0.0;
        for (int s = 0; s < 2; s++) {
            gsl_vector_set(x, v, middle + (s == 0 ? -step : step));
            bc_fit_residuals(x, at, side[s]);
        }
        gsl_vector_set(x, v, middle);
        for (size_t row = 0; row < at->rows; row++)
            most = fmax(most, fabs(gsl_matrix_get(J, row, v)));
        ck_assert_double_gt(most, 0.0);
        for (size_t row = 0; row < at->rows; row++) {
            const double slope = (gsl_vector_get(side[1], row) - gsl_vector_get(side[0], row)) / (2.0 * step);
            ck_assert_msg(fabs(slope - gsl_matrix_get(J, row, v)) <= (v == loose ? 0.01 : 1e-5) * most,
                          "variable %zu, row %zu: %g, not %g", v, row, gsl_matrix_get(J, row, v), slope);
        }
    }
    gsl_matrix_free(J);
    gsl_vector_free(side[0]);
    gsl_vector_free(side[1]);
}

/* One layer beyond 0 as well, where a thickness is folded. */
START_TEST(slopes_are_those_of_the_residuals)
{
    problem s;
    problem_open(&s, &sights[_i], true);
    const bc_family family = {.free = LAYERS, .index = true};
    bc_fit_layout at = bc_fit_lay_out(&s.fit, &family);
    gsl_vector *x = gsl_vector_alloc(SIZE);
    fill(x);
    gsl_vector_set(x, 5, -3.0);
    expect_slopes(&at, x, LAYERS + 2 + BC_SHARED_WAVELENGTH);
    gsl_vector_free(x);
    problem_close(&s);
}
END_TEST

/* Two numbers that make all thicknesses: no priors of layers, and nothing that only they have. */
START_TEST(a_family_of_thicknesses)
{
    double base[LAYERS], map[2 * LAYERS];
    problem s;
    problem_open(&s, &sights[0], true);
    for (size_t j = 0; j < LAYERS; j++) {
        base[j] = 0.3 * six_nm[j] - (j == 3 ? 60.0 : 0.0);
        map[2 * j] = j % 2 == 0 ? six_nm[j] : 0.1 * six_nm[j];
        map[2 * j + 1] = j % 2 == 1 ? six_nm[j] : 0.0;
    }
    const bc_family family = {.free = 2, .base = base, .map = map};
    bc_fit_layout at = bc_fit_lay_out(&s.fit, &family);
    ck_assert_uint_eq(at.size, 2 + 5); /* and two offsets, a scale, the wavelengths, a constant */
    double theta[2] = {0.72, 0.66}, again[2], thickness_nm[LAYERS] = {0.0}, index[2] = {0.5, 0.5};
    bc_fit_point point = {.thickness_nm = thickness_nm, .dn = index};
    memcpy(point.shared, shared, sizeof shared);
    gsl_vector *x = gsl_vector_alloc(at.size), *f = gsl_vector_alloc(at.rows);
    bc_fit_gather(&at, theta, &point, x);
    ck_assert_double_eq(gsl_vector_get(x, 1), 0.66);
    for (size_t i = 0; i < 5; i++)
        ck_assert_double_eq(gsl_vector_get(x, 2 + i), shared[i]);
    expect_slopes(&at, x, 2 + BC_SHARED_WAVELENGTH);
    bc_fit_residuals(x, &at, f);
    bc_fit_scatter(&at, x, f, again, &point);
    ck_assert(again[0] == theta[0] && again[1] == theta[1] && index[0] == 0.0 && index[1] == 0.0);
    for (size_t j = 0; j < LAYERS; j++)
        ck_assert_double_eq_tol(thickness_nm[j], fabs(base[j] + 0.72 * map[2 * j] + 0.66 * map[2 * j + 1]), 1e-12);
    ck_assert(gsl_vector_get(f, 2 * COUNT) == 0.0 && gsl_vector_get(f, 2 * COUNT + 1) == 0.0);
    ck_assert(point.shared[BC_SHARED_RUN] == 0.0 && point.shared[BC_SHARED_COMMON] == 0.0);
    gsl_vector_free(x);
    gsl_vector_free(f);
    problem_close(&s);
}
END_TEST

/* The cost is all squares; chi squared those of the readings and of the instrument. */
START_TEST(a_point_has_its_squares)
{
    double thickness_nm[LAYERS], index[2], all = 0.0, some = 0.0;
    bc_fit_point point = {.thickness_nm = thickness_nm, .dn = index};
    problem s;
    problem_open(&s, &sights[0], true);
    const bc_family family = {.free = LAYERS, .index = true};
    bc_fit_layout at = bc_fit_lay_out(&s.fit, &family);
    gsl_vector *x = gsl_vector_alloc(SIZE), *again = gsl_vector_alloc(SIZE), *f = gsl_vector_alloc(at.rows);
    fill(x);
    bc_fit_residuals(x, &at, f);
    bc_fit_scatter(&at, x, f, NULL, &point);
    for (size_t row = 0; row < at.rows; row++) {
        const size_t v = row - 2 * COUNT;
        const double square = pow(gsl_vector_get(f, row), 2.0);
        all += square;
        some += row < 2 * COUNT || (v >= LAYERS + 2 && v < LAYERS + 2 + BC_SHARED_RUN) ? square : 0.0;
    }
    ck_assert_double_eq_tol(point.cost / all, 1.0, 1e-12);
    ck_assert_double_eq_tol(point.chi_squared / some, 1.0, 1e-12);
    bc_fit_gather(&at, NULL, &point, again);
    for (size_t v = 0; v < SIZE; v++)
        ck_assert_double_eq(gsl_vector_get(again, v), gsl_vector_get(x, v));
    gsl_vector_free(x);
    gsl_vector_free(again);
    gsl_vector_free(f);
    problem_close(&s);
}
END_TEST

/* (J^T J)^-1 is the covariance, J^T J of the readings' rows the information; and the evidence is Laplace's: - cost / 2
 * - log det(J^T J) / 2 - sum log(widths) (Kass and Raftery, J. Am. Stat. Assoc. 90, 773 (1995); from memory). */
START_TEST(covariance_and_evidence)
{
    double J[(2 * COUNT + SIZE) * SIZE], f[2 * COUNT + SIZE], information[SIZE * SIZE], covariance[SIZE * SIZE];
    double thickness_nm[LAYERS], index[2], cost = 0.0, widths = 0.0, evidence;
    bc_fit_point point = {.thickness_nm = thickness_nm, .dn = index};
    bc_error error = {0};
    problem s;
    int sign;
    problem_open(&s, &sights[_i], true);
    for (size_t j = 0; j < LAYERS; j++) {
        thickness_nm[j] = six_nm[j] + away_nm[j];
        widths += log(s.fit.prior_sigma[j]);
    }
    widths += log(0.01) + log(hypot(0.01, 0.04));
    memcpy(index, dn, sizeof index);
    memcpy(point.shared, shared, sizeof shared);
    ck_assert_uint_eq(bc_fit_size(&s.fit), SIZE);
    ck_assert_int_eq(bc_fit_linearize(&s.fit, &point, J, f, &error), BC_OK);
    ck_assert_int_eq(bc_fit_covariance(&s.fit, &point, information, covariance, &error), BC_OK);
    gsl_matrix_view whole = gsl_matrix_view_array(J, 2 * COUNT + SIZE, SIZE);
    gsl_matrix_view data = gsl_matrix_view_array(J, 2 * COUNT, SIZE),
                    known = gsl_matrix_view_array(covariance, SIZE, SIZE);
    gsl_matrix *square = gsl_matrix_alloc(SIZE, SIZE), *product = gsl_matrix_alloc(SIZE, SIZE);
    gsl_permutation *order = gsl_permutation_alloc(SIZE);
    gsl_blas_dgemm(CblasTrans, CblasNoTrans, 1.0, &data.matrix, &data.matrix, 0.0, square);
    for (size_t i = 0; i < SIZE; i++)
        for (size_t k = 0; k < SIZE; k++)
            ck_assert_double_eq_tol(information[i * SIZE + k], gsl_matrix_get(square, i, k),
                                    1e-12 + 1e-9 * sqrt(gsl_matrix_get(square, i, i) * gsl_matrix_get(square, k, k)));
    gsl_blas_dgemm(CblasTrans, CblasNoTrans, 1.0, &whole.matrix, &whole.matrix, 0.0, square);
    gsl_blas_dgemm(CblasNoTrans, CblasNoTrans, 1.0, &known.matrix, square, 0.0, product);
    for (size_t i = 0; i < SIZE; i++)
        for (size_t k = 0; k < SIZE; k++)
            ck_assert_double_eq_tol(gsl_matrix_get(product, i, k) *
                                        sqrt(gsl_matrix_get(square, i, i) / gsl_matrix_get(square, k, k)),
                                    i == k ? 1.0 : 0.0, 1e-6);
    for (size_t row = 0; row < 2 * COUNT + SIZE; row++)
        cost += f[row] * f[row];
    point.cost = cost;
    ck_assert_int_eq(bc_fit_evidence(&s.fit, &point, &evidence, &error), BC_OK);
    gsl_linalg_LU_decomp(square, order, &sign);
    ck_assert_double_eq_tol(evidence, -0.5 * cost - 0.5 * gsl_linalg_LU_lndet(square) - widths, 1e-6);
    gsl_permutation_free(order);
    gsl_matrix_free(square);
    gsl_matrix_free(product);
    problem_close(&s);
}
END_TEST

/* The offset of a reading that suits best is the lowest point of a parabola, known from three of its values. */
START_TEST(data_at_their_best_offset)
{
    double thickness_nm[LAYERS], expected = 0.0;
    problem s;
    problem_open(&s, &sights[_i], false);
    for (size_t j = 0; j < LAYERS; j++)
        thickness_nm[j] = six_nm[j] + away_nm[j];
    const double found = bc_fit_chi_squared(&s.fit, thickness_nm);
    for (size_t r = 0; r < 2; r++) {
        double at[3] = {1.0, 0.0, 1.0};
        for (int b = -1; b <= 1; b++)
            for (size_t i = 0; i < COUNT; i++) {
                const double value = r == 0 ? s.scan.R.value[i] : s.scan.T.value[i];
                at[b + 1] += r == 1 && i == 7 ? 0.0 : pow((s.fit.model[r][i] + b * 1e-3 - value) / (1.5 * NOISE), 2.0);
            }
        expected += at[1] - pow(at[2] - at[0], 2.0) / (8.0 * (at[2] + at[0] - 2.0 * at[1]));
    }
    ck_assert_double_eq_tol(found / expected, 1.0, 1e-6);
    problem_close(&s);
}
END_TEST

/* What is left at a point: over the readings that are not left out, and in units of the noise. */
START_TEST(what_is_left)
{
    double thickness_nm[LAYERS], index[2], left[COUNT], square = 0.0, rms, in_noise;
    bc_fit_point point = {.thickness_nm = thickness_nm, .dn = index};
    problem s;
    problem_open(&s, &sights[0], true);
    for (size_t j = 0; j < LAYERS; j++)
        thickness_nm[j] = six_nm[j] + away_nm[j];
    memcpy(index, dn, sizeof index);
    memcpy(point.shared, shared, sizeof shared);
    s.inspection.readings.R.noise[5] = 2.0 * NOISE;
    double weighted = 0.0;
    for (size_t r = 0; r < 2; r++) {
        bc_fit_remainder(&s.fit, &point, r, left);
        for (size_t i = 0; i < COUNT; i++) {
            const double of_point = r == 0 && i == 5 ? 2.0 * NOISE : NOISE;
            ck_assert_double_eq(left[i],
                                (r == 0 ? s.scan.R : s.scan.T).value[i] - bc_fit_expected(&s.fit, shared, r, i));
            square += r == 1 && i == 7 ? 0.0 : left[i] * left[i];
            weighted += r == 1 && i == 7 ? 0.0 : pow(left[i] / of_point, 2.0);
        }
    }
    bc_fit_residual(&s.fit, &point, &rms, &in_noise);
    ck_assert_double_eq_tol(rms, sqrt(square / (2 * COUNT - 1)), 1e-12);
    ck_assert_double_eq_tol(in_noise, sqrt(weighted / (2 * COUNT - 1)), 1e-9);
    problem_close(&s);
}
END_TEST

TCase *problem_case(void)
{
    TCase *tests = tcase_create("problem");
    tcase_add_loop_test(tests, residuals_are_the_model_less_the_readings, 0, SIGHTS);
    tcase_add_loop_test(tests, slopes_are_those_of_the_residuals, 0, SIGHTS);
    tcase_add_test(tests, a_family_of_thicknesses);
    tcase_add_test(tests, a_point_has_its_squares);
    tcase_add_loop_test(tests, covariance_and_evidence, 0, SIGHTS);
    tcase_add_loop_test(tests, data_at_their_best_offset, 0, SIGHTS);
    tcase_add_test(tests, what_is_left);
    return tests;
}
