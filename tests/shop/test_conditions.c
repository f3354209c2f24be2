/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop.h"
#include <bloomcoat/conditions.h>
#include <bloomcoat/spectrum.h>
#include <math.h>
#include <string.h>

#define LAYER_N 1.38
#define GLASS_N 1.52
#define NM      550.0

static const bc_conditions vacuum = {1.0, 20.0}, humid = {BC_N_WATER, 20.0};

/* The wavelength where R is least, on a grid of 0.01 nm. */
static double least_at(const bc_stack *stack)
{
    static double nm[30001];
    bc_spectrum spectrum;
    size_t least = 0;
    for (size_t i = 0; i < 30001; i++)
        nm[i] = 450.0 + 0.01 * (double)i;
    ck_assert_int_eq(bc_spectrum_compute(stack, NULL, 30001, nm, 0.0, BC_PATH_AUTO, &spectrum, NULL), BC_OK);
    for (size_t i = 1; i < 30001; i++)
        if (spectrum.R[BC_POL_S][i] < spectrum.R[BC_POL_S][least])
            least = i;
    bc_spectrum_clear(&spectrum);
    return nm[least];
}

static bc_shifted shifted_by(const workshop *w, bc_behaviour behaviour, bc_conditions before, bc_conditions then)
{
    bc_shifted shifted;
    bc_error error;
    ck_assert_msg(bc_shift(&w->stack, 1, &behaviour, &before, &then, &shifted, &error) == BC_OK, "%s", error.message);
    return shifted;
}

/* A quarter wave has its minimum at 4 n d (Born and Wolf, Principles of Optics, ch. 1.6.4): it moves with n, ... */
START_TEST(pores_that_fill_move_a_quarter_wave)
{
    const double n = LAYER_N + 0.15 * (BC_N_WATER - 1.0);
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52");
    w.stack.layer[0].thickness_nm = NM / (4.0 * LAYER_N);
    bc_shifted wet = shifted_by(&w, (bc_behaviour){"1.38", 0.85, 0.0, 0.0}, vacuum, humid);
    ck_assert_double_eq_tol(least_at(&w.stack), NM, 0.006);
    ck_assert_double_eq_tol(least_at(&wet.stack), NM * n / LAYER_N, 0.006);
    ck_assert_double_eq_tol(bc_optical_thickness_nm(&wet.stack, NM), 0.25 * NM * n / LAYER_N, 1e-9);
    bc_shifted_clear(&wet);
    /* ... back again, ... */
    bc_shifted dry = shifted_by(&w, (bc_behaviour){"1.38", 0.85, 0.0, 0.0}, humid, vacuum);
    ck_assert_double_eq_tol(least_at(&dry.stack), NM * (2.0 * LAYER_N - n) / LAYER_N, 0.006);
    bc_shifted_clear(&dry);
    /* ... and not at all without pores. */
    bc_shifted dense = shifted_by(&w, (bc_behaviour){"1.38", 1.0, 1e-4, 1e-4}, vacuum, humid);
    ck_assert_double_eq_tol(least_at(&dense.stack), NM, 0.006);
    ck_assert_ptr_eq(dense.stack.layer[0].material.dispersion, w.stack.layer[0].material.dispersion);
    bc_shifted_clear(&dense);
    workshop_close(&w);
    workshop_open(&w, "air", "1.38,2.1", "1.52"); /* 100 nm each */
    ck_assert_double_eq_tol(bc_optical_thickness_nm(&w.stack, NM), 348.0, 1e-9);
    workshop_close(&w);
}
END_TEST

/* d ln(n d) / dT = (dn/dT) / n + expansion. */
START_TEST(warmth_moves_a_quarter_wave)
{
    const bc_conditions hot = {1.0, 120.0};
    const double dn = 100.0 * 3e-5, distribution = 1.0 + 100.0 * 2e-5;
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52");
    w.stack.layer[0].thickness_nm = NM / (4.0 * LAYER_N);
    bc_shifted shifted = shifted_by(&w, (bc_behaviour){"1.38", 1.0, 3e-5, 2e-5}, vacuum, hot);
    ck_assert_double_eq_tol(least_at(&shifted.stack), NM * (LAYER_N + dn) / LAYER_N * distribution, 0.006);
    ck_assert_double_eq_tol(shifted.stack.layer[0].thickness_nm, NM / (4.0 * LAYER_N) * distribution, 1e-9);
    bc_shifted_clear(&shifted);
    /* The glass alone: R of the bare surface, ((n - 1)/(n + 1))^2. */
    w.stack.layers = 0;
    shifted = shifted_by(&w, (bc_behaviour){"1.52", 0.5, 1e-4, 1e-4}, vacuum, (bc_conditions){BC_N_WATER, 120.0});
    const double nm = NM, n = GLASS_N + 0.01;
    bc_spectrum spectrum;
    ck_assert_int_eq(bc_spectrum_compute(&shifted.stack, NULL, 1, &nm, 0.0, BC_PATH_AUTO, &spectrum, NULL), BC_OK);
    ck_assert_double_eq_tol(spectrum.R[BC_POL_S][0], (n - 1.0) * (n - 1.0) / ((n + 1.0) * (n + 1.0)), 1e-12);
    bc_spectrum_clear(&spectrum);
    bc_shifted_clear(&shifted);
    w.stack.layers = 1;
    workshop_close(&w);
}
END_TEST

START_TEST(conditions_out_of_range_are_refused)
{
    const bc_behaviour wrong[] = {{"1.38", 0.0, 0.0, 0.0},  {"1.38", 1.1, 0.0, 0.0},  {"1.38", 0.5, NAN, 0.0},
                                  {"1.38", 1.0, -1.0, 0.0}, {"1.38", 1.0, 0.0, -1.0}, {"1.38", NAN, 0.0, 0.0}};
    const bc_conditions hot = {1.0, 120.0};
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52");
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        bc_shifted shifted;
        bc_error error;
        ck_assert_int_eq(bc_shift(&w.stack, 1, &wrong[i], &vacuum, &hot, &shifted, &error), BC_ERROR_INPUT);
        ck_assert_ptr_nonnull(strstr(error.message, "1.38: "));
        ck_assert_ptr_null(shifted.table);
    }
    workshop_close(&w);
}
END_TEST

/* Every row of a table moves by as much, k stays. */
START_TEST(a_table_moves_as_a_whole)
{
    double nm[3] = {300.0, 532.5, 1900.0}, n[2][3], k[2][3];
    workshop w;
    workshop_open(&w, "air", "TiO2", "1.52");
    const bc_dispersion *table = w.stack.layer[0].material.dispersion;
    bc_dispersion_row(table, 0, &nm[0], &n[0][0], &k[0][0]);
    bc_shifted wet = shifted_by(&w, (bc_behaviour){"TiO2", 0.85, 0.0, 0.0}, vacuum, humid);
    ck_assert_ptr_ne(wet.stack.layer[0].material.dispersion, table);
    ck_assert_int_eq(bc_dispersion_index(table, 3, nm, n[0], k[0], NULL), BC_OK);
    ck_assert_int_eq(bc_dispersion_index(wet.stack.layer[0].material.dispersion, 3, nm, n[1], k[1], NULL), BC_OK);
    ck_assert_double_gt(k[0][0], 0.0);
    for (int i = 0; i < 3; i++) {
        ck_assert_double_eq_tol(n[1][i], n[0][i] + 0.15 * (BC_N_WATER - 1.0), 1e-9);
        ck_assert_double_eq_tol(k[1][i], k[0][i], 1e-12);
    }
    bc_shifted_clear(&wet);
    workshop_close(&w);
}
END_TEST

TCase *conditions_case(void)
{
    TCase *tests = tcase_create("conditions");
    tcase_add_test(tests, pores_that_fill_move_a_quarter_wave);
    tcase_add_test(tests, warmth_moves_a_quarter_wave);
    tcase_add_test(tests, a_table_moves_as_a_whole);
    tcase_add_test(tests, conditions_out_of_range_are_refused);
    return tests;
}
