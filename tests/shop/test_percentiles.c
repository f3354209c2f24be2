/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop.h"
#include <math.h>
#include <string.h>

static const double z_of[5] = {-1.959964, -0.994458, 0.0, 0.994458, 1.959964}; /* of 2.5, 16, 50, 84 and 97.5 % */
static const double share[5] = {0.025, 0.16, 0.5, 0.84, 0.975};

static void open_layer(workshop *w)
{
    workshop_open(w, "air", "1.38", "1.52");
    w->stack.layer[0].thickness_nm = 70.0;
    w->options.percentiles = true;
    w->options.runs = 3000;
}

/* Where R falls with the thickness, the percentiles of R are those of the thickness, turned round; a sample quantile
 * has the standard error sqrt(p (1 - p) / runs) / density (Kendall and Stuart, The Advanced Theory of Statistics, vol.
 * 1, ch. 14; from memory). */
START_TEST(percentiles_of_one_layer)
{
    const double sigma = 0.01;
    bc_yield_result result;
    workshop w;
    open_layer(&w);
    workshop_ask(&w, 0.05, 500.0, 600.0, 0.0);
    workshop_errors(&w, "*", sigma, 0.0, 0.0);
    result = workshop_run(&w);
    ck_assert_uint_eq(result.curves, 1);
    ck_assert_uint_eq(result.curve_runs, 2000);
    ck_assert_uint_ge(result.curve[0].count, 201);
    ck_assert(result.curve[0].wavelength_nm[0] == 500.0);
    for (size_t i = 0; i < result.curve[0].count; i++) {
        const double nm = result.curve[0].wavelength_nm[i];
        for (int p = 0; p < 5; p++) {
            const double expected = one_layer(1.38, 1.52, 70.0 * (1.0 - sigma * z_of[p]), nm);
            const double density = exp(-0.5 * z_of[p] * z_of[p]) / sqrt(2.0 * PI);
            const double error = sqrt(share[p] * (1.0 - share[p]) / 2000.0) / density;
            const double steepness = fabs(one_layer(1.38, 1.52, 70.0 * (1.0 + sigma), nm) -
                                          one_layer(1.38, 1.52, 70.0 * (1.0 - sigma), nm)) /
                                     2.0;
            ck_assert_double_eq_tol(result.curve[0].value[p][i], expected, 4.0 * error * steepness);
        }
    }
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

START_TEST(percentiles_are_ordered)
{
    bc_yield_result result;
    workshop w;
    open_layer(&w);
    workshop_ask(&w, 0.05, 450.0, 650.0, 0.0);
    workshop_ask(&w, 0.05, 450.0, 650.0, 40.0)->polarization = BC_POL_EACH;
    workshop_errors(&w, "*", 0.02, 0.02, 0.02);
    result = workshop_run(&w);
    ck_assert_uint_eq(result.curves, 2);
    ck_assert_ptr_eq(result.curve[1].callout, &w.callout[1]);
    ck_assert_ptr_eq(result.curve[1].substrate, &w.glass[0]);
    ck_assert_double_eq_tol(result.curve[1].aoi_rad, 40.0 * PI / 180.0, 1e-15);
    ck_assert_int_eq(result.curve[1].polarization, BC_POL_S); /* reflects more than p at every angle but 0 and 90 */
    for (size_t c = 0; c < 2; c++)
        for (size_t i = 0; i < result.curve[c].count; i++)
            for (int p = 0; p < 4; p++)
                ck_assert(result.curve[c].value[p][i] < result.curve[c].value[p + 1][i]);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

/* Callouts on the same light share a curve, other glasses and quantities have their own; of a range of angles the one
 * is shown where most of the limit is used. */
START_TEST(which_curves_there_are)
{
    bc_yield_result result;
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52,1.7");
    w.options.percentiles = true;
    w.options.runs = 50;
    workshop_ask(&w, 0.05, 450.0, 650.0, 0.0);
    workshop_ask(&w, 0.05, 450.0, 650.0, 0.0)->statistic = BC_AVERAGE;
    workshop_ask(&w, 0.9, 450.0, 650.0, 0.0);
    w.callout[2].quantity = BC_T;
    w.callout[2].sense = BC_AT_LEAST;
    strcpy(w.callout[2].substrate, "1.7");
    workshop_ask(&w, 0.05, 450.0, 650.0, 0.0)->aoi_to_rad = 50.0 * PI / 180.0;
    strcpy(w.callout[3].substrate, "1.52");
    workshop_errors(&w, "*", 0.02, 0.0, 0.0);
    result = workshop_run(&w);
    ck_assert_uint_eq(result.curves, 4); /* on 1.52: R and R at 50 degrees; on 1.7: R and T */
    ck_assert_uint_eq(result.curve_runs, 50);
    ck_assert_ptr_eq(result.curve[0].callout, &w.callout[0]);
    ck_assert_ptr_eq(result.curve[1].callout, &w.callout[3]);
    ck_assert_double_eq_tol(result.curve[1].aoi_rad, 50.0 * PI / 180.0, 1e-15);
    ck_assert_ptr_eq(result.curve[2].substrate, &w.glass[1]);
    ck_assert_ptr_eq(result.curve[3].callout, &w.callout[2]);
    ck_assert_double_eq_tol(result.curve[2].value[2][7] + result.curve[3].value[2][7], 1.0, 1e-12);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

/* Of more runs than are kept the curves are those of the first 2000, to the bit. */
START_TEST(the_first_runs_are_kept)
{
    bc_yield_result result[2];
    workshop w;
    open_layer(&w);
    workshop_ask(&w, 0.05, 500.0, 600.0, 0.0);
    workshop_errors(&w, "*", 0.01, 0.0, 0.0);
    for (size_t i = 0; i < 2; i++) {
        w.options.runs = i == 0 ? 2000 : 2100;
        result[i] = workshop_run(&w);
        ck_assert_uint_eq(result[i].curve_runs, 2000);
    }
    for (int p = 0; p < 5; p++)
        for (size_t i = 0; i < result[0].curve[0].count; i++)
            ck_assert_double_eq(result[0].curve[0].value[p][i], result[1].curve[0].value[p][i]);
    bc_yield_result_clear(&result[0]);
    bc_yield_result_clear(&result[1]);
    workshop_close(&w);
}
END_TEST

TCase *percentiles_case(void)
{
    TCase *tests = tcase_create("percentiles");
    tcase_add_test(tests, percentiles_of_one_layer);
    tcase_add_test(tests, percentiles_are_ordered);
    tcase_add_test(tests, which_curves_there_are);
    tcase_add_test(tests, the_first_runs_are_kept);
    return tests;
}
