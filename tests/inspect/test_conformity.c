/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "conformity.h"
#include "witness.h"
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>
#include <math.h>
#include <stdlib.h>

#define MANY 8

static bc_slacks slacks_of(size_t count, const double *slack, const double *random, const double *systematic)
{
    return (bc_slacks){count, slack, random, systematic, INFINITY};
}

static double margin_of(const bc_slacks *slacks)
{
    double margin;
    bc_error error;
    ck_assert_int_eq(bc_conformity_margin(slacks, 0.95, &margin, &error), BC_OK);
    return margin;
}

/* One value: the two parts add in quadrature (JCGM 106:2012, 7.4, a normal measurand and one limit; from memory). */
START_TEST(one_value)
{
    static const double cases[][3] = {{0.3, 1.0, 0.0},  {0.3, 0.0, 1.0}, {-0.7, 0.6, 0.8},  {2.0, 1e-3, 1.0},
                                      {2.0, 1.0, 1e-3}, {0.0, 0.5, 2.0}, {1.6449, 0.8, 0.6}};
    const double slack = cases[_i][0], random = cases[_i][1], systematic = cases[_i][2];
    const bc_slacks s = slacks_of(1, &slack, &random, &systematic);
    ck_assert_double_eq_tol(bc_conformity(&s, 0.0), gsl_cdf_ugaussian_P(slack / hypot(random, systematic)), 1e-6);
    ck_assert_double_eq_tol(bc_conformity(&s, slack), 0.5, 1e-6);
    ck_assert_double_eq_tol(margin_of(&s), slack - gsl_cdf_ugaussian_Pinv(0.95) * hypot(random, systematic), 1e-4);
}
END_TEST

/* Independent values multiply; shared ones are one value, the worst. */
START_TEST(independent_and_shared)
{
    static const double slack[MANY] = {0.5, 1.0, 2.0, 0.1, 3.0, 1.5, 0.7, 2.2}, one[MANY] = {1, 1, 1, 1, 1, 1, 1, 1},
                        none[MANY] = {0};
    const bc_slacks independent = slacks_of(MANY, slack, one, none), shared = slacks_of(MANY, slack, none, one);
    double product = 1.0;
    for (int i = 0; i < MANY; i++)
        product *= gsl_cdf_ugaussian_P(slack[i]);
    ck_assert_double_eq_tol(bc_conformity(&independent, 0.0), product, 1e-12);
    ck_assert_double_eq_tol(bc_conformity(&shared, 0.0), gsl_cdf_ugaussian_P(0.1), 1e-9);
    ck_assert_double_eq_tol(bc_excess_probability(&independent, 2.0), 1.0 - pow(gsl_cdf_ugaussian_P(2.0), MANY), 1e-12);
    ck_assert_double_eq_tol(bc_excess_probability(&shared, 2.0), gsl_cdf_ugaussian_Q(2.0), 1e-9);
    ck_assert_double_eq(bc_excess_probability(&independent, 0.0), 1.0);
}
END_TEST

/* Nothing uncertain: the plain comparison, the limit itself meeting it. */
START_TEST(plain_comparison)
{
    static const double good[2] = {0.0, 1.0}, bad[2] = {-1e-12, 1.0}, none[2] = {0};
    const bc_slacks meets = slacks_of(2, good, none, none), fails = slacks_of(2, bad, none, none);
    ck_assert_double_eq(bc_conformity(&meets, 0.0), 1.0);
    ck_assert_double_eq(bc_conformity(&fails, 0.0), 0.0);
    ck_assert_double_eq(bc_excess_probability(&fails, 1e-12), 0.0);
    ck_assert_double_eq(margin_of(&meets), 0.0);
}
END_TEST

/* Both parts at once, against drawing them; and with noise that is itself only known from `freedom` squares. */
START_TEST(by_drawing)
{
    static const double slack[MANY] = {0.9, 1.3, 2.0, 1.1, 2.4, 1.5, 1.7, 1.2},
                        random[MANY] = {0.5, 0.4, 0.9, 0.3, 1.0, 0.5, 0.7, 0.6},
                        systematic[MANY] = {0.6, 0.6, 0.7, 0.7, 0.8, 0.8, 0.9, 0.9};
    const double freedom = _i == 0 ? INFINITY : 12.0;
    const bc_slacks s = {MANY, slack, random, systematic, freedom};
    const size_t trials = 200000;
    size_t hits = 0;
    gsl_rng *draw = gsl_rng_alloc(gsl_rng_mt19937);
    for (size_t t = 0; t < trials; t++) {
        const double b = gsl_ran_gaussian(draw, 1.0);
        const double scale = _i == 0 ? 1.0 : exp(gsl_ran_gaussian(draw, 1.0 / sqrt(2.0 * freedom)));
        bool all = true;
        for (int i = 0; i < MANY; i++)
            all = slack[i] - b * systematic[i] - gsl_ran_gaussian(draw, scale * random[i]) >= 0.0 && all;
        hits += all;
    }
    gsl_rng_free(draw);
    expect_share(hits, trials, bc_conformity(&s, 0.0));
}
END_TEST

/* The margin of one value whose noise is known by few squares, by halving: far out where the confidence is high. */
START_TEST(margin_of_uncertain_noise)
{
    static const double confidence[] = {0.5, 0.95, 0.999, 1.0 - 1e-6};
    const double slack = 0.3, random = 0.01, none = 0.0, freedom = 1.0;
    const bc_slacks s = {1, &slack, &random, &none, freedom};
    for (size_t c = 0; c < 4; c++) {
        double low = -1.0, high = 1.0, margin;
        for (int i = 0; i < 60; i++) {
            const double middle = 0.5 * (low + high);
            /* Abramowitz and Stegun, table 25.10: five nodes of exp(-x^2), and their weights */
            static const double x[] = {0.0, 0.958572464613819, 2.020182870456086};
            static const double w[] = {0.9453087204829419, 0.3936193231522412, 0.01995324205904591};
            double sum = 0.0;
            for (int k = -2; k <= 2; k++) {
                const double scale = exp((k < 0 ? -1.0 : 1.0) * x[abs(k)] * sqrt(2.0) / sqrt(2.0 * freedom));
                sum += w[abs(k)] / sqrt(PI) * gsl_cdf_ugaussian_P((slack - middle) / (scale * random));
            }
            if (sum > confidence[c])
                low = middle;
            else
                high = middle;
        }
        ck_assert_int_eq(bc_conformity_margin(&s, confidence[c], &margin, NULL), BC_OK);
        ck_assert_double_eq_tol(margin, low, 2e-5 * random + 1e-4 * fabs(low - slack));
    }
}
END_TEST

TCase *conformity_case(void)
{
    TCase *tests = tcase_create("conformity");
    tcase_add_loop_test(tests, one_value, 0, 7);
    tcase_add_test(tests, independent_and_shared);
    tcase_add_test(tests, plain_comparison);
    tcase_add_test(tests, margin_of_uncertain_noise);
    tcase_add_loop_test(tests, by_drawing, 0, 2);
    return tests;
}
