/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "merit.h"
#include "problem.h"
#include "sums.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LAYERS 4
static const unsigned material[LAYERS] = {0, 1, 0, 1};
static const double thickness_nm[LAYERS] = {90.0, 55.0, 30.0, 12.0};

static bc_callout *add_colour(bc_callout *row, bc_colour_value colour)
{
    row->statistic = BC_AVERAGE;
    row->colour = colour;
    row->observer = BC_OBSERVER_10;
    row->weight = bc_weight_tristimulus(row->illuminant, row->observer, 1);
    return row;
}

/* One row of every kind a callout can be. */
static void add_every_kind(problem *p)
{
    bc_callout *row;
    problem_add(p, 0.01, 450.0, 650.0, 0.0);
    row = problem_add(p, 0.02, 450.0, 650.0, 40.0);
    row->polarization = BC_POL_EACH;
    row = problem_add(p, 0.99, 500.0, 600.0, 20.0);
    row->quantity = BC_T;
    row->sense = BC_AT_LEAST;
    row = problem_add(p, 0.05, 450.0, 650.0, 0.0);
    row->quantity = BC_A;
    row->statistic = BC_AVERAGE;
    row = problem_add(p, 0.03, 450.0, 650.0, 0.0);
    row->scope = BC_SCOPE_PART;
    row = problem_add(p, 0.01, 450.0, 650.0, 0.0);
    row->statistic = BC_AVERAGE;
    row->weight = bc_weight_shipped("A*photopic");
    row = problem_add(p, 0.02, 380.0, 780.0, 30.0);
    row->statistic = BC_AVERAGE;
    row->weight = bc_weight_luminous();
    add_colour(problem_add(p, 0.08, 380.0, 780.0, 20.0), BC_CHROMA)->scope = BC_SCOPE_PART;
    add_colour(problem_add(p, 0.003, 380.0, 780.0, 30.0), BC_COLOUR_X)->target = 0.0031;
    add_colour(problem_add(p, 0.01, 380.0, 780.0, 10.0), BC_ELLIPSE_AB)->ellipse =
        (bc_ellipse){{2.0, -3.0}, {4.0, 1.5}, 0.5};
    row = add_colour(problem_add(p, 0.03, 380.0, 780.0, 10.0), BC_COLOUR_DIFFERENCE);
    row->reference[0] = 20.0;
    row->reference[1] = 3.0;
    row->reference[2] = -4.0;
    problem_add(p, 0.02, 450.0, 650.0, 20.0)->cone_rad = 0.15;
    row = problem_add(p, 0.02, 450.0, 650.0, 10.0);
    row->cone_rad = 0.5;
    row->statistic = BC_AVERAGE;
    row->quantity = BC_A;
    row->sense = BC_AT_MOST;
    row = problem_add(p, 0.4, 500.0, 500.0, 0.0);
    row->sense = BC_AT_LEAST;
    problem_add(p, 1.02, 450.0, 650.0, 45.0)->polarization = BC_POL_RATIO;
    row = problem_add(p, 0.98, 450.0, 650.0, 45.0);
    row->quantity = BC_T;
    row->sense = BC_AT_LEAST;
    row->polarization = BC_POL_RATIO;
    row->scope = BC_SCOPE_PART;
    row = problem_add(p, 1.5, 450.0, 650.0, 50.0);
    row->statistic = BC_AVERAGE;
    row->polarization = BC_POL_RATIO;
    p->design.back = (bc_back){.kind = BC_BACK_SAME, .substrate_mm = 2.0};
}

static bc_merit *open_merit(const problem *p)
{
    bc_merit *merit;
    bc_error error;
    ck_assert_msg(bc_merit_alloc(&p->design, BC_DENSITY_SEARCH, 8 * LAYERS, BC_NO_FRINGES, &merit, &error) == BC_OK,
                  "%s", error.message);
    return merit;
}

START_TEST(slopes_agree_with_differences_for_every_kind_of_row)
{
    const char *layers = _i == 0 ? "1.38,2.1" : "1.38,2.1-0.02i";
    const double step = 1e-3;
    problem p;
    bc_merit *merit;
    double *up;
    size_t constraints;
    problem_open(&p, "1.52", layers);
    add_every_kind(&p);
    merit = open_merit(&p);
    constraints = bc_merit_constraints(merit);
    up = malloc(constraints * sizeof *up);
    for (size_t j = 0; j < LAYERS; j++) {
        double moved[LAYERS], largest = 0.0;
        memcpy(moved, thickness_nm, sizeof moved);
        moved[j] += step;
        bc_merit_evaluate(merit, LAYERS, material, moved, false);
        memcpy(up, bc_merit_u(merit), constraints * sizeof *up);
        moved[j] -= 2.0 * step;
        bc_merit_evaluate(merit, LAYERS, material, moved, false);
        for (size_t c = 0; c < constraints; c++)
            up[c] = (up[c] - bc_merit_u(merit)[c]) / (2.0 * step);
        bc_merit_evaluate(merit, LAYERS, material, thickness_nm, true);
        for (size_t c = 0; c < constraints; c++)
            largest = fmax(largest, fabs(up[c]));
        for (size_t c = 0; c < constraints; c++)
            ck_assert_double_eq_tol(bc_merit_slope(merit, j)[c], up[c], 1e-6 * largest);
    }
    free(up);
    bc_merit_free(merit);
    problem_close(&p);
}
END_TEST

/* Near a zero of rho the Gauss-Newton Hessian is the Hessian: a two-layer zero (Schuster; Catalan), where
 * the amplitude vanishes at one wavelength. */
START_TEST(the_hessian_is_exact_where_the_amplitude_vanishes)
{
    const double zero[2] = {130.9824911, 207.1935749}, step = 0.01;
    const unsigned layers[2] = {0, 1};
    double hessian[4] = {0}, z = 1.0;
    problem p;
    bc_merit *merit;
    problem_open(&p, "1.52", "1.46,2.10");
    problem_add(&p, 0.01, 1064.0, 1064.0, 0.0);
    merit = open_merit(&p);
    bc_merit_evaluate(merit, 2, layers, zero, true);
    ck_assert_double_lt(bc_merit_u(merit)[0], 1e-8);
    bc_merit_add_hessian(merit, &z, hessian);
    for (int j = 0; j < 2; j++) {
        for (int k = 0; k < 2; k++) {
            double sum = 0.0;
            for (int corner = 0; corner < 4; corner++) {
                double moved[2] = {zero[0], zero[1]};
                moved[j] += corner & 1 ? step : -step;
                moved[k] += corner & 2 ? step : -step;
                bc_merit_evaluate(merit, 2, layers, moved, false);
                sum += (corner == 0 || corner == 3 ? 1.0 : -1.0) * bc_merit_u(merit)[0];
            }
            ck_assert_double_eq_tol(hessian[2 * j + k], sum / (4.0 * step * step), 1e-4 * fabs(hessian[0]));
        }
    }
    bc_merit_free(merit);
    problem_close(&p);
}
END_TEST

/* The slope of an insertion is the slope of a layer that is there with no thickness yet; of T only where nothing
 * absorbs. Loop: tables, constants. */
START_TEST(insertion_is_the_slope_of_a_layer_of_no_thickness)
{
    const unsigned with[LAYERS + 2] = {0, 1, 0, 1, 0, 1};
    const double thick[LAYERS + 2] = {90.0, 25.0, 0.0, 30.0, 30.0, 12.0};
    const unsigned without[LAYERS + 1] = {0, 1, 1, 0, 1};
    const double split[LAYERS + 1] = {90.0, 25.0, 30.0, 30.0, 12.0};
    problem p;
    bc_callout *row;
    bc_merit *merit;
    double *z, direct = 0.0;
    problem_open(&p, _i == 0 ? "517642" : "1.52", _i == 0 ? "MgF2,Ta2O5" : "1.38,2.1");
    problem_add(&p, 0.01, 450.0, 650.0, 0.0);
    problem_add(&p, 0.02, 450.0, 650.0, 30.0)->statistic = BC_AVERAGE;
    problem_add(&p, 1.02, 450.0, 650.0, 45.0)->polarization = BC_POL_RATIO;
    if (_i == 1) {
        row = problem_add(&p, 0.98, 450.0, 650.0, 45.0);
        row->quantity = BC_T;
        row->sense = BC_AT_LEAST;
        row->polarization = BC_POL_RATIO;
        problem_add(&p, 0.98, 450.0, 650.0, 45.0)->quantity = BC_T;
    }
    merit = open_merit(&p);
    z = malloc(bc_merit_constraints(merit) * sizeof *z);
    for (size_t c = 0; c < bc_merit_constraints(merit); c++)
        z[c] = 1.0 / (1.0 + (double)c);
    bc_merit_evaluate(merit, LAYERS + 2, with, thick, true);
    for (size_t c = 0; c < bc_merit_constraints(merit); c++)
        direct += z[c] * bc_merit_slope(merit, 2)[c];
    bc_merit_evaluate(merit, LAYERS + 1, without, split, true);
    ck_assert_double_eq_tol(bc_merit_insertion(merit, z, 2, 0), direct, 1e-9 * fabs(direct));
    free(z);
    bc_merit_free(merit);
    problem_close(&p);
}
END_TEST

/* A scenario is the design with other thicknesses and indices, and its slopes are those with the design's thickness. */
START_TEST(a_scenario_is_the_design_with_its_errors)
{
    const double error[LAYERS] = {0.02, -0.01, 0.03, 0.0}, dn[2] = {0.01, -0.02}, step = 1e-3;
    double moved[LAYERS];
    problem p;
    bc_merit *merit, *plain;
    size_t each;
    problem_open(&p, "1.52", "1.38,2.1");
    problem_add(&p, 0.01, 450.0, 650.0, 0.0);
    problem_add(&p, 0.02, 450.0, 650.0, 30.0)->statistic = BC_AVERAGE;
    plain = open_merit(&p);
    each = bc_merit_constraints(plain);
    ck_assert_int_eq(bc_merit_alloc_scenarios(&p.design, BC_DENSITY_SEARCH, LAYERS, BC_NO_FRINGES, 2, &merit, NULL),
                     BC_OK);
    ck_assert_uint_eq(bc_merit_constraints(merit), 2 * each);
    bc_merit_set_scenario(merit, 1, LAYERS, error, 2, dn);
    for (int k = 0; k < 2; k++)
        bc_merit_shift_index(plain, (unsigned)k, dn[k]);
    bc_merit_evaluate(merit, LAYERS, material, thickness_nm, true);
    for (size_t j = 0; j < LAYERS; j++) {
        double up[400], slope;
        for (int way = 1; way >= -1; way -= 2) {
            for (size_t k = 0; k < LAYERS; k++)
                moved[k] = (thickness_nm[k] + (k == j ? way * step : 0.0)) * (1.0 + error[k]);
            bc_merit_evaluate(plain, LAYERS, material, moved, false);
            for (size_t c = 0; way == 1 && c < each; c++)
                up[c] = bc_merit_u(plain)[c];
        }
        for (size_t c = 0; c < each; c++) {
            slope = (up[c] - bc_merit_u(plain)[c]) / (2.0 * step);
            ck_assert_double_eq_tol(bc_merit_slope(merit, j)[each + c], slope, 1e-6);
            ck_assert_double_eq_tol(bc_merit_u(merit)[each + c], 0.5 * (up[c] + bc_merit_u(plain)[c]), 1e-5);
        }
    }
    bc_merit_free(merit);
    bc_merit_free(plain);
    problem_close(&p);
}
END_TEST

START_TEST(the_gram_matrix_is_the_plain_double_sum)
{
    enum { ROWS = 3, COLUMNS = 13 };
    double a[ROWS * COLUMNS], weight[COLUMNS], scratch[(ROWS + 1) * (COLUMNS + 8)], gram[ROWS * ROWS] = {0};
    for (int i = 0; i < ROWS * COLUMNS; i++)
        a[i] = sin(1.7 * i);
    for (int i = 0; i < COLUMNS; i++)
        weight[i] = i % 4 == 3 ? 0.0 : 1.0 + cos(i);
    bc_add_gram(ROWS, COLUMNS, a, COLUMNS, weight, scratch, gram);
    for (int j = 0; j < ROWS; j++) {
        for (int k = 0; k < ROWS; k++) {
            double sum = 0.0;
            for (int i = 0; i < COLUMNS; i++)
                sum += weight[i] * a[j * COLUMNS + i] * a[k * COLUMNS + i];
            ck_assert_double_eq_tol(gram[j * ROWS + k], sum, 1e-7);
        }
    }
}
END_TEST

/* With columns that fill the lanes and columns that do not; nothing past the last row is written. */
START_TEST(weighted_sums_are_plain_sums)
{
    enum { ROWS = 3, MOST = 21 };
    const size_t columns = _i == 0 ? 16 : MOST;
    double a[(ROWS + 1) * MOST], weight[MOST], factor[ROWS] = {0.5, -2.0, 0.25}, sums[ROWS + 1], rows[MOST + 1];
    for (int i = 0; i < (ROWS + 1) * MOST; i++)
        a[i] = sin(1.7 * i);
    for (int i = 0; i < MOST; i++)
        weight[i] = cos(0.3 * i);
    sums[ROWS] = rows[columns] = 77.0;
    bc_weighted_sums(ROWS, columns, a, MOST, weight, sums);
    bc_combine_rows(ROWS, columns, a, MOST, factor, rows);
    for (size_t j = 0; j < ROWS; j++) {
        double sum = 0.0;
        for (size_t i = 0; i < columns; i++)
            sum += a[j * MOST + i] * weight[i];
        ck_assert_double_eq_tol(sums[j], sum, 1e-12);
    }
    for (size_t i = 0; i < columns; i++)
        ck_assert_double_eq_tol(rows[i], 0.5 * a[i] - 2.0 * a[MOST + i] + 0.25 * a[2 * MOST + i], 1e-12);
    ck_assert_double_eq(sums[ROWS], 77.0);
    ck_assert_double_eq(rows[columns], 77.0);
}
END_TEST

START_TEST(the_largest_is_found_anywhere)
{
    double value[5] = {-3.0, -2.0, -4.0, -2.5, -9.0};
    for (size_t at = 0; at < 5; at++) {
        const double was = value[at];
        value[at] = -1.0;
        ck_assert_double_eq(bc_largest(5, value), -1.0);
        value[at] = was;
    }
}
END_TEST

START_TEST(a_glass_no_callout_speaks_of_is_refused)
{
    problem p;
    bc_merit *merit;
    bc_error error;
    problem_open(&p, "1.52,1.8", "1.38");
    strcpy(problem_add(&p, 0.01, 450.0, 650.0, 0.0)->substrate, "1.52");
    ck_assert_int_eq(bc_merit_alloc(&p.design, BC_DENSITY_SEARCH, 4, BC_NO_FRINGES, &merit, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "1.8"));
    problem_close(&p);
}
END_TEST

START_TEST(a_band_outside_a_table_names_the_table)
{
    problem p;
    bc_merit *merit;
    bc_error error;
    problem_open(&p, "1.52", "TiO2");
    problem_add(&p, 0.01, 300.0, 650.0, 0.0);
    ck_assert_int_eq(bc_merit_alloc(&p.design, BC_DENSITY_SEARCH, 4, BC_NO_FRINGES, &merit, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "TiO2"));
    problem_close(&p);
}
END_TEST

Suite *merit_suite(void)
{
    Suite *suite = suite_create("merit");
    TCase *tests = tcase_create("merit");
    tcase_add_loop_test(tests, slopes_agree_with_differences_for_every_kind_of_row, 0, 2);
    tcase_add_test(tests, the_hessian_is_exact_where_the_amplitude_vanishes);
    tcase_add_loop_test(tests, insertion_is_the_slope_of_a_layer_of_no_thickness, 0, 2);
    tcase_add_test(tests, a_scenario_is_the_design_with_its_errors);
    tcase_add_test(tests, the_gram_matrix_is_the_plain_double_sum);
    tcase_add_loop_test(tests, weighted_sums_are_plain_sums, 0, 2);
    tcase_add_test(tests, the_largest_is_found_anywhere);
    tcase_add_test(tests, a_glass_no_callout_speaks_of_is_refused);
    tcase_add_test(tests, a_band_outside_a_table_names_the_table);
    suite_add_tcase(suite, tests);
    return suite;
}
