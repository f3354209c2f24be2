/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/quote.h>
#include <gsl/gsl_cdf.h>
#include <math.h>

#define LEAST_YIELD 1e-3 /* below it no number of loads is worth stating */
#define MOST_EXACT  20000.0
#define MOST_TRIALS 1e8

/* The fewest trials in which `wanted` succeed, each with probability p, with this confidence: P(failures <= k) of the
 * negative binomial distribution. Beyond what GSL's beta function is good for, its normal approximation. */
static double trials_for(double wanted, double p, double confidence)
{
    double low = 0.0, high = 0.0; /* failures: too few but for 0, enough */
    if (wanted > MOST_EXACT || wanted > MOST_TRIALS * p)
        return fmax(wanted, ceil((wanted + gsl_cdf_ugaussian_Pinv(confidence) * sqrt(wanted * (1.0 - p))) / p));
    while (gsl_cdf_pascal_P((unsigned)high, p, (unsigned)wanted) < confidence)
        high = 2.0 * high + 1.0;
    while (high - low > 1.0) {
        const double middle = floor(0.5 * (low + high));
        if (gsl_cdf_pascal_P((unsigned)middle, p, (unsigned)wanted) >= confidence)
            high = middle;
        else
            low = middle;
    }
    return wanted + high;
}

/* Loads of `started` batches of which `batches` pass two runs: a first run each, a second one each that passes both,
 * and a second one for those of the lost that failed only there, at this confidence. */
static double loads_of_two(double batches, double started, double yield, double confidence)
{
    const double lost = started - batches;
    const double second = yield / (1.0 + yield); /* of the lost, y (1 - y) / (1 - y^2), those that took both runs */
    const double spread = gsl_cdf_ugaussian_Pinv(confidence) * sqrt(lost * second * (1.0 - second));
    return started + batches + fmin(lost, fmax(0.0, ceil(lost * second + spread)));
}

/* 0: not to be counted. */
static size_t whole(double value)
{
    return value < 1e15 ? (size_t)value : 0;
}

bc_load_plan bc_plan_loads(size_t quantity, size_t parts_per_load, size_t runs_per_part, bc_failed_part failed_part,
                           double yield, double confidence)
{
    const double runs = (double)runs_per_part;
    const bool scrap = failed_part == BC_FAILED_SCRAP;
    bc_load_plan plan = {0, NAN, 0, 0};
    double batches, each, started;
    if (quantity == 0 || parts_per_load == 0)
        return plan;
    batches = ceil((double)quantity / (double)parts_per_load);
    plan.loads = whole(runs * batches);
    if (!(yield >= LEAST_YIELD)) /* not known, too */
        return plan;
    if (!scrap) {
        plan.expected = runs * batches / yield;
        plan.at_confidence = whole(trials_for(runs * batches, yield, confidence));
        plan.blanks = quantity;
        return plan;
    }
    each = ceil((double)quantity / batches);
    started = trials_for(batches, pow(yield, runs), confidence);
    plan.expected = runs_per_part == 1 ? batches / yield : batches * (1.0 + yield) / (yield * yield);
    plan.at_confidence = whole(runs_per_part == 1 ? started : loads_of_two(batches, started, yield, confidence));
    plan.blanks = whole((double)quantity + (started - batches) * each);
    return plan;
}
