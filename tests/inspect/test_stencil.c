/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A curve between its points: the cubic through four of them is exact for every cubic.
 */
#include "stencil.h"
#include "witness.h"
#include <math.h>

#define POINTS        9
#define BEYOND        777.0 /* what lies behind the arrays */
#define SIZE_T_BEYOND ((size_t)777)

static const double uneven_nm[POINTS] = {400.0, 404.0, 409.0, 411.0, 420.0, 428.0, 431.0, 440.0, 442.0};

/* In units of 20 nm from the middle, so that all powers count alike. */
static double cubic(double nm, const double power[4])
{
    const double x = (nm - 420.0) / 20.0;
    return power[0] + x * (power[1] + x * (power[2] + x * power[3]));
}

static double slope_of(double nm, const double power[4])
{
    const double x = (nm - 420.0) / 20.0;
    return (power[1] + x * (2.0 * power[2] + x * 3.0 * power[3])) / 20.0;
}

/* Exact whatever the steps, between the points and beyond the ends, and nothing is written but what was asked for.
 * Loop: shifts in nm. */
START_TEST(a_cubic_is_seen_as_it_is)
{
    static const double shift_nm[] = {0.0, 0.3, -0.3, 6.0, -6.0, 50.0, -50.0};
    static const double power[4] = {0.7, -0.4, 0.9, -1.3};
    double value[POINTS], out[POINTS + 1], weight[BC_STENCIL * (POINTS + 1)];
    size_t at[POINTS + 1];
    for (size_t i = 0; i < POINTS; i++)
        value[i] = cubic(uneven_nm[i], power);
    at[POINTS] = SIZE_T_BEYOND;
    out[POINTS] = BEYOND;
    for (size_t k = 0; k < BC_STENCIL; k++)
        weight[BC_STENCIL * POINTS + k] = BEYOND;
    bc_stencil_set(POINTS, uneven_nm, shift_nm[_i], at, weight);
    bc_stencil_apply(POINTS, at, weight, value, out);
    for (size_t i = 0; i < POINTS; i++) {
        double sum = 0.0;
        for (size_t k = 0; k < BC_STENCIL; k++)
            sum += weight[BC_STENCIL * i + k];
        ck_assert_double_eq_tol(sum, 1.0, 1e-9);
        ck_assert_double_eq_tol(out[i], cubic(uneven_nm[i] + shift_nm[_i], power), 1e-9);
        ck_assert_uint_le(at[i], POINTS - BC_STENCIL);
        if (shift_nm[_i] == 0.0 || fabs(shift_nm[_i]) == 0.3) /* the four about it where it has two on each side */
            ck_assert(i < 2 || i > 6 || (uneven_nm[at[i]] < uneven_nm[i] && uneven_nm[at[i] + 3] > uneven_nm[i]));
    }
    ck_assert_uint_eq(at[POINTS], SIZE_T_BEYOND);
    ck_assert_double_eq(out[POINTS], BEYOND);
    for (size_t k = 0; k < BC_STENCIL; k++)
        ck_assert_double_eq(weight[BC_STENCIL * POINTS + k], BEYOND);
}
END_TEST

START_TEST(the_slope_of_a_cubic)
{
    static const double power[4] = {0.7, -0.4, 0.9, -1.3};
    double value[POINTS], out[POINTS + 1];
    for (size_t i = 0; i < POINTS; i++)
        value[i] = cubic(uneven_nm[i], power);
    out[POINTS] = BEYOND;
    bc_stencil_slope(POINTS, uneven_nm, value, out);
    for (size_t i = 0; i < POINTS; i++)
        ck_assert_double_eq_tol(out[i], slope_of(uneven_nm[i], power), 1e-10);
    ck_assert_double_eq(out[POINTS], BEYOND);
}
END_TEST

TCase *stencil_case(void)
{
    TCase *tests = tcase_create("stencil");
    tcase_add_loop_test(tests, a_cubic_is_seen_as_it_is, 0, 7);
    tcase_add_test(tests, the_slope_of_a_cubic);
    return tests;
}
