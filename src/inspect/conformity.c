/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "conformity.h"
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdbool.h>

#define FARTHEST   9.0 /* standard deviations beyond which a normal number is not looked for */
#define MOST_STEPS 40
#define CLOSE      1e-5 /* of a standard deviation */
#define HALVINGS   40
#define INTERVALS  64

static double normal_below(double x)
{
    return 0.5 * erfc(-x * 0.70710678118654752440);
}

static double normal_density(double x)
{
    return 0.39894228040143267794 * exp(-0.5 * x * x);
}

/* Either measured values against a limit, or a limit's own spectrum against an excess. */
typedef struct question {
    const bc_slacks *slacks;
    double shift;
    bool excess;  /* every slack is -shift */
    double scale; /* of the random part */
} question;

/* The share of noise that leaves every value on the good side when b is known. Falls as b grows. */
static double given_offset(const question *q, double b)
{
    const bc_slacks *s = q->slacks;
    double product = 1.0;
    for (size_t i = 0; i < s->count && product > 0.0; i++) {
        const double slack = (q->excess ? 0.0 : s->slack[i]) - q->shift - b * s->systematic[i];
        const double random = q->scale * s->random[i];
        if (slack >= FARTHEST * random)
            continue;
        product *= random > 0.0 ? normal_below(slack / random) : 0.0;
    }
    return product;
}

/* Where given_offset() falls through `level`, between -FARTHEST and FARTHEST. */
static double falls_through(const question *q, double level)
{
    double low = -FARTHEST, high = FARTHEST;
    for (int i = 0; i < HALVINGS && high - low > 1e-12; i++) {
        const double middle = 0.5 * (low + high);
        if (given_offset(q, middle) > level)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

/* E over b. The integrand is the normal density up to where the product leaves 1, and nothing beyond where it reaches
 * 0; Simpson's rule in between. */
static double over_offsets(const question *q)
{
    bool shared = false;
    double from, to, sum = 0.0;
    for (size_t i = 0; i < q->slacks->count; i++)
        shared = shared || q->slacks->systematic[i] > 0.0;
    if (!shared)
        return given_offset(q, 0.0);
    from = falls_through(q, 1.0 - 1e-10);
    to = falls_through(q, 1e-10);
    for (int i = 0; i <= INTERVALS; i++) {
        const double b = from + (to - from) * i / INTERVALS;
        const double weight = i == 0 || i == INTERVALS ? 1.0 : i % 2 == 1 ? 4.0 : 2.0;
        sum += weight * normal_density(b) * given_offset(q, b);
    }
    return fmin(1.0, normal_below(from) + sum * (to - from) / (3.0 * INTERVALS));
}

/* E over the error of the noise estimate, its logarithm taken as normal with variance 1 / (2 freedom): Gauss-Hermite
 * with five nodes (Abramowitz and Stegun, table 25.10, in terms of the standard normal). */
static double answer(question *q)
{
    static const double node[] = {-2.8569700138728056, -1.3556261799742659, 0.0, 1.3556261799742659,
                                  2.8569700138728056};
    static const double weight[] = {0.011257411327720689, 0.22207592200561264, 0.53333333333333333, 0.22207592200561264,
                                    0.011257411327720689};
    double sum = 0.0;
    q->scale = 1.0;
    if (!(q->slacks->freedom < 1e6))
        return over_offsets(q);
    for (int i = 0; i < 5; i++) {
        q->scale = exp(node[i] / sqrt(2.0 * fmax(q->slacks->freedom, 1.0)));
        sum += weight[i] * over_offsets(q);
    }
    return sum;
}

double bc_conformity(const bc_slacks *slacks, double shift)
{
    question q = {slacks, shift, false, 1.0};
    return answer(&q);
}

double bc_excess_probability(const bc_slacks *slacks, double excess)
{
    question q = {slacks, -excess, true, 1.0};
    return excess > 0.0 ? 1.0 - answer(&q) : 1.0;
}

/* A probability in standard deviations: nearly a straight line in the shift. */
static double deviate(double probability)
{
    return gsl_cdf_ugaussian_Pinv(fmin(fmax(probability, 1e-15), 1.0 - 1e-15));
}

/* The Illinois variant of false position (Dowell and Jarratt, BIT 11, 168 (1971)). */
double bc_conformity_margin(const bc_slacks *slacks, double confidence)
{
    const double target = deviate(confidence);
    double least = INFINITY, widest = 0.0, low, high, at_low, at_high;
    int side = 0;
    for (size_t i = 0; i < slacks->count; i++) {
        least = fmin(least, slacks->slack[i]);
        widest = fmax(widest, slacks->random[i] + slacks->systematic[i]);
    }
    if (!(widest > 0.0))
        return least;
    low = least - 4.0 * FARTHEST * widest;
    high = least + widest;
    at_low = deviate(bc_conformity(slacks, low)) - target;
    at_high = deviate(bc_conformity(slacks, high)) - target;
    for (int i = 0; i < MOST_STEPS && high - low > CLOSE * widest && at_low > at_high; i++) {
        const double middle =
            fmin(fmax((low * at_high - high * at_low) / (at_high - at_low), low + 0.5 * CLOSE * widest),
                 high - 0.5 * CLOSE * widest);
        const double at_middle = deviate(bc_conformity(slacks, middle)) - target;
        if (at_middle >= 0.0) {
            low = middle;
            at_low = at_middle;
            at_high *= side > 0 ? 0.5 : 1.0;
            side = 1;
        } else {
            high = middle;
            at_high = at_middle;
            at_low *= side < 0 ? 0.5 : 1.0;
            side = -1;
        }
    }
    return low;
}
