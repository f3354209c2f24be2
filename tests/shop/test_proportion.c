/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop.h"
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <math.h>

/* Newcombe, Stat. Med. 17, 857 (1998), table of intervals, method of Clopper and Pearson; from memory. */
START_TEST(published_intervals)
{
    static const struct published {
        size_t good, runs;
        double low, high;
    } published[] = {
        {81, 263, 0.2527, 0.3676}, {15, 148, 0.0578, 0.1617}, {0, 20, 0.0, 0.1684}, {1, 29, 0.0009, 0.1776}};
    for (size_t i = 0; i < sizeof published / sizeof *published; i++) {
        double low, high;
        bc_proportion_interval(published[i].good, published[i].runs, 0.95, &low, &high);
        ck_assert_double_eq_tol(low, published[i].low, 0.00005001);
        ck_assert_double_eq_tol(high, published[i].high, 0.00005001);
    }
}
END_TEST

/* No failure in n: (1 - p)^n = 0.025, the two-sided kin of the rule of three (Hanley and Lippman-Hand, J. Am. Med.
 * Assoc. 249, 1743 (1983)). */
START_TEST(none_of_n)
{
    for (size_t n = 1; n <= 10000000; n *= 10) {
        const double expected = -expm1(log(0.025) / (double)n);
        double low, high;
        bc_proportion_interval(0, n, 0.95, &low, &high);
        ck_assert(low == 0.0);
        ck_assert_double_eq_tol(high, expected, 1e-12);
        bc_proportion_interval(n, n, 0.95, &low, &high);
        ck_assert(high == 1.0);
        ck_assert_double_eq_tol(low, 1.0 - expected, 1e-12);
    }
}
END_TEST

/* The bounds are quantiles of beta distributions (Brown, Cai and DasGupta, Stat. Sci. 16, 101 (2001)), here by GSL's
 * incomplete beta function; and counting the failures instead turns the interval round. */
START_TEST(bounds_are_beta_quantiles)
{
    static const size_t counts[][2] = {{1, 2}, {1, 10}, {5, 10}, {37, 40}, {930, 1000}, {18600, 20000}, {1, 100000}};
    static const double confidences[] = {0.5, 0.9, 0.95, 0.999};
    for (size_t i = 0; i < sizeof counts / sizeof *counts; i++) {
        for (size_t c = 0; c < 4; c++) {
            const double good = (double)counts[i][0], bad = (double)(counts[i][1] - counts[i][0]);
            const double tail = 0.5 * (1.0 - confidences[c]);
            double low, high, turned_low, turned_high;
            bc_proportion_interval(counts[i][0], counts[i][1], confidences[c], &low, &high);
            bc_proportion_interval(counts[i][1] - counts[i][0], counts[i][1], confidences[c], &turned_low,
                                   &turned_high);
            ck_assert_double_eq_tol(gsl_cdf_beta_P(low, good, bad + 1.0), tail, 1e-8 * tail);
            ck_assert_double_eq_tol(gsl_cdf_beta_Q(high, good + 1.0, bad), tail, 1e-8 * tail);
            ck_assert_double_eq_tol(turned_low, 1.0 - high, 1e-15);
            ck_assert_double_eq_tol(turned_high, 1.0 - low, 1e-15);
            ck_assert(low < good / (good + bad) && good / (good + bad) < high);
        }
    }
}
END_TEST

/* It is never too narrow: that is what the method promises. */
START_TEST(it_covers_the_truth_often_enough)
{
    enum { RUNS = 60, DRAWS = 20000 };
    static const double truth[] = {0.01, 0.2, 0.5, 0.93, 0.995};
    double low[RUNS + 1], high[RUNS + 1];
    gsl_rng *random = gsl_rng_alloc(gsl_rng_taus2);
    for (size_t good = 0; good <= RUNS; good++)
        bc_proportion_interval(good, RUNS, 0.95, &low[good], &high[good]);
    for (size_t i = 0; i < sizeof truth / sizeof *truth; i++) {
        size_t covered = 0;
        for (int draw = 0; draw < DRAWS; draw++) {
            const unsigned good = gsl_ran_binomial(random, truth[i], RUNS);
            covered += low[good] <= truth[i] && truth[i] <= high[good];
        }
        ck_assert_double_ge((double)covered / DRAWS, 0.95 - 4.0 * sqrt(0.95 * 0.05 / DRAWS));
    }
    gsl_rng_free(random);
}
END_TEST

/* So many runs that the distribution is normal to four digits of the width. */
START_TEST(many_runs)
{
    for (size_t n = 10000000; n <= 1000000000; n *= 10) {
        for (int tenth = 1; tenth < 10; tenth += 4) {
            const double p = 0.1 * tenth, half = 1.959964 * sqrt(p * (1.0 - p) / (double)n);
            double low, high;
            bc_proportion_interval(n / 10 * (size_t)tenth, n, 0.95, &low, &high);
            ck_assert_double_eq_tol(low, p - half, 0.002 * half);
            ck_assert_double_eq_tol(high, p + half, 0.002 * half);
        }
    }
}
END_TEST

TCase *proportion_case(void)
{
    TCase *tests = tcase_create("proportion");
    tcase_add_test(tests, published_intervals);
    tcase_add_test(tests, none_of_n);
    tcase_add_test(tests, bounds_are_beta_quantiles);
    tcase_add_test(tests, it_covers_the_truth_often_enough);
    tcase_add_test(tests, many_runs);
    return tests;
}
