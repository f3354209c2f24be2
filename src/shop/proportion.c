/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/yield.h>
#include <gsl/gsl_randist.h>

#define HALVINGS   60
#define NEGLIGIBLE 1e-17 /* of the sum, a term that ends it */

/* P(at least `good` of `trials`) for p below good / trials, where the terms fall from the first one on. (GSL's beta
 * distribution would do, but its inverse does not return for some 10^6 trials and its continued fraction ends early.)
 */
static double upper_tail(size_t good, size_t trials, double p)
{
    double term = gsl_ran_binomial_pdf((unsigned)good, p, (unsigned)trials), sum = term;
    for (size_t i = good; i < trials && term > NEGLIGIBLE * sum; i++) {
        term *= (double)(trials - i) / (double)(i + 1) * p / (1.0 - p);
        sum += term;
    }
    return sum;
}

/* The p under which so many good ones, or more, come with probability `tail`. */
static double lower_bound(size_t good, size_t trials, double tail)
{
    double low = 0.0, high = (double)good / (double)trials;
    if (good == 0)
        return 0.0;
    for (int step = 0; step < HALVINGS; step++) {
        const double middle = 0.5 * (low + high);
        if (upper_tail(good, trials, middle) < tail)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

void bc_proportion_interval(size_t good, size_t trials, double confidence, double *low, double *high)
{
    const double tail = 0.5 * (1.0 - confidence);
    *low = lower_bound(good, trials, tail);
    *high = 1.0 - lower_bound(trials - good, trials, tail);
}
