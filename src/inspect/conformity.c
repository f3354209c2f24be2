/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "conformity.h"
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_roots.h>
#include <math.h>
#include <stdbool.h>

#define FARTHEST   9.0 /* standard deviations beyond which a normal number is not looked for */
#define MOST_STEPS 40
#define CLOSE      1e-5 /* of a standard deviation */
#define HALVINGS   40
#define INTERVALS  64

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
        product *= random > 0.0 ? gsl_cdf_ugaussian_P(slack / random) : 0.0;
    }
    return product;
}

/* Where given_offset() falls through `level`, between -FARTHEST and FARTHEST. */
static double falls_through(const question *q, double level)
{
    double low = -FARTHEST, high = FARTHEST;
    for (int i = 0; i < HALVINGS; i++) {
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
        sum += weight * gsl_ran_ugaussian_pdf(b) * given_offset(q, b);
    }
    return fmin(1.0, gsl_cdf_ugaussian_P(from) + sum * (to - from) / (3.0 * INTERVALS));
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

/* What is asked of a shift: by how much it is better than the confidence. */
typedef struct wanted {
    const bc_slacks *slacks;
    double deviate;
} wanted;

static double better(double shift, void *context)
{
    const wanted *w = context;
    return deviate(bc_conformity(w->slacks, shift)) - w->deviate;
}

bc_status bc_conformity_margin(const bc_slacks *slacks, double confidence, double *margin, bc_error *error)
{
    wanted w = {slacks, deviate(confidence)};
    gsl_function function = {better, &w};
    double least = INFINITY, widest = 0.0;
    gsl_root_fsolver *solver;
    for (size_t i = 0; i < slacks->count; i++) {
        least = fmin(least, slacks->slack[i]);
        widest = fmax(widest, slacks->random[i] + slacks->systematic[i]);
    }
    *margin = least;
    if (!(widest > 0.0))
        return BC_OK;
    gsl_set_error_handler_off();
    solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    if (solver == NULL)
        return bc_fail_memory(error);
    if (gsl_root_fsolver_set(solver, &function, least - 4.0 * FARTHEST * widest, least + widest) == GSL_SUCCESS)
        for (int i = 0; i < MOST_STEPS; i++) {
            if (gsl_root_fsolver_iterate(solver) != GSL_SUCCESS)
                break;
            *margin = gsl_root_fsolver_root(solver);
            if (gsl_root_fsolver_x_upper(solver) - gsl_root_fsolver_x_lower(solver) < CLOSE * widest)
                break;
        }
    gsl_root_fsolver_free(solver);
    return BC_OK;
}
