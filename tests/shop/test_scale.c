/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "many_or_few.h"
#include "workshop.h"
#include <math.h>

static void open_layer(workshop *w)
{
    workshop_open(w, "air", "1.38", "1.52");
    workshop_ask(w, 0.0135, 550.0, 550.0, 0.0);
    w->stack.layer[0].thickness_nm = 550.0 / (4.0 * 1.38);
    w->options.sigma_for_yield = true;
    w->options.runs = 1000;
}

/* A quarter wave passes within the same distance on both sides: 95 % do when that is 1.959964 standard deviations
 * (elementary). 5000 runs tell the scale to 1.4 %. */
START_TEST(scale_of_a_quarter_wave)
{
    static const double sigma[] = {0.2, 0.05, 0.02, 0.004};
    double inside = 0.0, outside = 0.5;
    bc_yield_result result;
    workshop w;
    open_layer(&w);
    workshop_errors(&w, "*", 0.6 * sigma[_i], 0.8 * sigma[_i], 0.0);
    for (int step = 0; step < 60; step++) {
        const double middle = 0.5 * (inside + outside);
        if (one_layer(1.38, 1.52, w.stack.layer[0].thickness_nm * (1.0 + middle), 550.0) <= 0.0135)
            inside = middle;
        else
            outside = middle;
    }
    result = workshop_run(&w);
    ck_assert_double_eq_tol(result.scale_for_95 * sigma[_i], inside / 1.959964, 0.056 * inside / 1.959964);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

/* The process made better or worse by that factor has a yield of 95 %: all kinds of error at once. */
START_TEST(the_scaled_process_yields_95)
{
    static const double start[] = {1.0, 0.3, 5.0};
    bc_yield_result result;
    workshop w;
    double scale;
    workshop_open(&w, "air", "1.38,2.1,1.38,2.1", "1.52");
    w.stack.layer[0].thickness_nm = 97.787;
    w.stack.layer[1].thickness_nm = 133.11;
    w.stack.layer[2].thickness_nm = 35.081;
    w.stack.layer[3].thickness_nm = 15.658;
    workshop_ask(&w, 0.0042, 420.0, 680.0, 0.0);
    w.options.sigma_for_yield = true;
    w.options.runs = 1000;
    w.options.seed = (unsigned long)_i + 1;
    workshop_errors(&w, "*", 0.01 * start[_i], 0.005 * start[_i], 0.005 * start[_i]);
    result = workshop_run(&w);
    scale = result.scale_for_95;
    bc_yield_result_clear(&result);
    ck_assert(isfinite(scale) && scale > 0.0);
    w.row[0].thickness_sigma *= scale;
    w.row[0].run_thickness_sigma *= scale;
    w.row[0].index_sigma *= scale;
    w.options.sigma_for_yield = false;
    w.options.runs = 5000; /* the very runs the scale was found with */
    result = workshop_run(&w);
    ck_assert_double_eq_tol(result.yield, 0.95, 0.001);
    bc_yield_result_clear(&result);
    w.options.runs = MANY_OR_FEW(40000, 8000);
    w.options.seed = 77; /* and others */
    result = workshop_run(&w);
    ck_assert_double_eq_tol(result.yield, 0.95,
                            4.0 * sqrt(0.95 * 0.05 * (1.0 / 5000.0 + 1.0 / (double)w.options.runs)) + 0.002);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

START_TEST(no_scale_helps_or_harms)
{
    bc_yield_result result;
    workshop w;
    open_layer(&w);
    workshop_errors(&w, "*", 1e-4, 1e-4, 0.0);
    result = workshop_run(&w);
    ck_assert(isinf(result.scale_for_95));
    bc_yield_result_clear(&result);
    w.callout[0].limit = 0.01; /* below what a quarter wave leaves: ((1.38^2 - 1.52)/(1.38^2 + 1.52))^2 = 1.26 % */
    result = workshop_run(&w);
    ck_assert(result.scale_for_95 == 0.0);
    bc_yield_result_clear(&result);
    w.options.sigma_for_yield = false;
    result = workshop_run(&w);
    ck_assert(isnan(result.scale_for_95));
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

TCase *scale_case(void)
{
    TCase *tests = tcase_create("scale");
    tcase_add_loop_test(tests, scale_of_a_quarter_wave, 0, 4);
    tcase_add_loop_test(tests, the_scaled_process_yields_95, 0, 3);
    tcase_add_test(tests, no_scale_helps_or_harms);
    return tests;
}
