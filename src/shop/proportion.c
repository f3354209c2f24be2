/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/yield.h>
#include <gsl/gsl_randist.h>

#define HALVINGS   60
#define NEGLIGIBLE 1e-17 /* of the sum, a term that ends it */

/* P(at least `good` of `runs`) for p below good / runs, where the terms fall from the first one on. (GSL's beta
 * distribution would do, but its inverse does not return for some 10^6 runs and its continued fraction ends early.)
 */
static double upper_tail(size_t good, size_t runs, double p)
{
    double term = gsl_ran_binomial_pdf((unsigned)good, p, (unsigned)runs), sum = term;
    for (size_t i = good; i < runs && term > NEGLIGIBLE * sum; i++) {
        term *= (double)(runs - i) / (double)(i + 1) * p / (1.0 - p);
        sum += term;
    }
    return sum;
}

/* The p under which so many good ones, or more, come with probability `tail`. */
static double lower_bound(size_t good, size_t runs, double tail)
{
    double low = 0.0, high = (double)good / (double)runs;
    if (good == 0)
        return 0.0;
    for (int step = 0; step < HALVINGS; step++) {
        const double middle = 0.5 * (low + high);
        if (upper_tail(good, runs, middle) < tail)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

void bc_proportion_interval(size_t good, size_t runs, double confidence, double *low, double *high)
{
    const double tail = 0.5 * (1.0 - confidence);
    *low = lower_bound(good, runs, tail);
    *high = 1.0 - lower_bound(runs - good, runs, tail);
}
