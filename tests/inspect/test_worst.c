/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How likely the worst value of a curve meets a limit, against closed forms: a normal number, Student's t, independent
 * points.
 */
#include "witness.h"
#include "worst.h"
#include <gsl/gsl_cdf.h>
#include <math.h>

#define COUNT   3
#define SHARE   0.045 /* four standard errors of a share of 2000 draws, at most */
#define MANY    1e9   /* degrees of freedom: the noise is known */
#define STRETCH 1.25

static const double nm[COUNT] = {500.0, 510.0, 520.0};

/* R of three points, each off by `sigma` of its own, and by `shared` all together. */
static bc_worst worst_of(const double *R, double sigma, double shared, double freedom, const bc_callout *callout)
{
    double value[COUNT], random[COUNT] = {0.0}, systematic[COUNT], angle[COUNT] = {0.0}, stretch[COUNT],
                         root[COUNT * COUNT] = {0.0};
    for (size_t i = 0; i < COUNT; i++) {
        value[i] = R[i];
        systematic[i] = shared;
        stretch[i] = STRETCH;
        root[i * COUNT + i] = sigma / STRETCH;
    }
    const bc_smooth smooth = {.count = COUNT, .size = COUNT, .value = {value}, .root = {root}, .freedom = freedom};
    const bc_curve curve = {COUNT, nm, value, random, systematic, angle, INFINITY};
    const bc_worst_question question = {.smooth = &smooth,
                                        .callout = callout,
                                        .curve = &curve,
                                        .stretch = stretch,
                                        .step_limit_nm = 1e6,
                                        .confidence = 0.9};
    bc_worst worst;
    ck_assert_int_eq(bc_worst_of(&question, &worst, NULL), BC_OK);
    return worst;
}

static bc_callout ask_for(bc_sense sense, double from_nm, double to_nm)
{
    return (bc_callout){.quantity = BC_R, .sense = sense, .limit = 0.005, .from_nm = from_nm, .to_nm = to_nm};
}

/* One wavelength: a normal number with both variances; beyond the limit, how far an estimate of a curve at the limit
 * would come. */
START_TEST(one_point)
{
    static const double step[] = {-1.5, -0.4, 0.0, 0.6, 1.3}, part[] = {0.0, 0.6, 1.0};
    const double sigma = 2e-4;
    for (int sense = 0; sense < 2; sense++)
        for (size_t p = 0; p < sizeof part / sizeof *part; p++)
            for (size_t i = 0; i < sizeof step / sizeof *step; i++) {
                const bc_callout callout = ask_for(sense == 0 ? BC_AT_MOST : BC_AT_LEAST, 510.0, 510.0);
                const double room = step[i] * sigma, R = callout.limit + (sense == 0 ? -room : room);
                const bc_worst worst = worst_of((double[]){9.0, R, -9.0}, sigma * sqrt(1.0 - part[p] * part[p]),
                                                sigma * part[p], MANY, &callout);
                ck_assert_double_eq_tol(worst.probability, gsl_cdf_ugaussian_P(step[i]), SHARE);
                ck_assert_double_eq_tol(worst.margin, room - sigma * gsl_cdf_ugaussian_Pinv(0.9), 0.16 * sigma);
                ck_assert_double_eq_tol(worst.excess_probability, step[i] < 0.0 ? gsl_cdf_ugaussian_P(step[i]) : 1.0,
                                        SHARE);
            }
}
END_TEST

/* Noise that was estimated from few points: Student's t. */
START_TEST(noise_known_by_few_points)
{
    const bc_callout callout = ask_for(BC_AT_MOST, 510.0, 510.0);
    const double sigma = 2e-4;
    const bc_worst worst = worst_of((double[]){0.0, callout.limit - 2.0 * sigma, 0.0}, sigma, 0.0, 3.0, &callout);
    ck_assert_double_eq_tol(worst.probability, gsl_cdf_tdist_P(2.0, 3.0), 0.02); /* a normal number: 0.977 for 0.930 */
    ck_assert_double_eq_tol(worst.margin, sigma * (2.0 - gsl_cdf_tdist_Pinv(0.9, 3.0)), 0.2 * sigma);
}
END_TEST

/* Points that are off by themselves all meet the limit with the product of their probabilities; all off together, with
 * that of the worst. */
START_TEST(three_points)
{
    const bc_callout callout = ask_for(BC_AT_MOST, 500.0, 520.0);
    const double sigma = 2e-4, L = callout.limit;
    const double R[COUNT] = {L - 0.5 * sigma, L - 1.2 * sigma, L - 0.8 * sigma};
    const double apart = gsl_cdf_ugaussian_P(0.5) * gsl_cdf_ugaussian_P(1.2) * gsl_cdf_ugaussian_P(0.8);
    ck_assert_double_eq_tol(worst_of(R, sigma, 0.0, MANY, &callout).probability, apart, SHARE);
    ck_assert_double_eq_tol(worst_of(R, 0.0, sigma, MANY, &callout).probability, gsl_cdf_ugaussian_P(0.5), SHARE);
}
END_TEST

TCase *worst_case(void)
{
    TCase *tests = tcase_create("worst");
    tcase_add_test(tests, one_point);
    tcase_add_test(tests, noise_known_by_few_points);
    tcase_add_test(tests, three_points);
    return tests;
}
