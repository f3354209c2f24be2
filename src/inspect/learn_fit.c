/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "learn.h"
#include "simplex.h"
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WEAKEST     0.25 /* of a factor or a line that no scan tells */
#define LEAST_SIGMA 1e-6
#define MOST_STEPS  1000
#define STEP        0.5 /* of the logarithm, the first */
#define SETTLED     1e-4
#define DIFFERENCE  0.05 /* of the logarithm, for the curvature */

bc_status bc_learn_fit_room(bc_learn_fit *fit, bc_error *error)
{
    const size_t most = fit->most_layers;
    fit->unknowns = fit->materials * (fit->has_lines ? 2 : 1) + (fit->has_layers ? fit->columns : 0);
    fit->normal = gsl_matrix_alloc(fit->unknowns, fit->unknowns);
    fit->right = gsl_vector_alloc(fit->unknowns);
    fit->shared = gsl_vector_alloc(fit->unknowns);
    fit->inner = gsl_matrix_alloc(most, most);
    fit->memory = calloc(2 * most * most + 3 * most + 3 * most, sizeof *fit->memory);
    return fit->normal == NULL || fit->right == NULL || fit->shared == NULL || fit->inner == NULL || fit->memory == NULL
               ? bc_fail_memory(error)
               : BC_OK;
}

void bc_learn_fit_clear(bc_learn_fit *fit)
{
    gsl_matrix_free(fit->normal);
    gsl_vector_free(fit->right);
    gsl_vector_free(fit->shared);
    gsl_matrix_free(fit->inner);
    free(fit->memory);
    fit->normal = fit->inner = NULL;
    fit->right = fit->shared = NULL;
    fit->memory = NULL;
}

/* V^-1 + J for V = diag(sigma^2) + run^2 s s^T, into `inner` (its Cholesky factor); returns log |V|, NAN when it is not
 * positive. */
static double set_inner(bc_learn_fit *fit, const bc_learn_part *part, const gsl_vector *log_sigma, double *weighted)
{
    const double of_run = exp(2.0 * gsl_vector_get(log_sigma, fit->materials));
    gsl_matrix_view inner = gsl_matrix_submatrix(fit->inner, 0, 0, part->layers, part->layers);
    double all = 1.0 / of_run, log_V = log(of_run);
    for (size_t j = 0; j < part->layers; j++) {
        const double variance = exp(2.0 * gsl_vector_get(log_sigma, part->material[j]));
        weighted[j] = part->sign[j] / variance;
        all += 1.0 / variance;
        log_V += log(variance);
    }
    log_V += log(all);
    for (size_t j = 0; j < part->layers; j++)
        for (size_t k = 0; k < part->layers; k++) {
            double value = part->J[j * part->layers + k] - weighted[j] * weighted[k] / all;
            if (j == k)
                value += exp(-2.0 * gsl_vector_get(log_sigma, part->material[j]));
            gsl_matrix_set(&inner.matrix, j, k, value);
        }
    return gsl_linalg_cholesky_decomp1(&inner.matrix) == 0 ? log_V : NAN;
}

/* (V^-1 + J)^-1 of `column`, in its place. */
static void solve(bc_learn_fit *fit, size_t layers, double *column)
{
    gsl_matrix_view inner = gsl_matrix_submatrix(fit->inner, 0, 0, layers, layers);
    gsl_vector_view here = gsl_vector_view_array(column, layers);
    gsl_linalg_cholesky_svx(&inner.matrix, &here.vector);
}

/* What is known of delta once the run's own errors are integrated over: W = J - J (V^-1 + J)^-1 J and q alike of h. */
static void integrate(bc_learn_fit *fit, const bc_learn_part *part, double *W, double *q, double *column)
{
    const size_t layers = part->layers;
    for (size_t k = 0; k <= layers; k++) {
        for (size_t j = 0; j < layers; j++)
            column[j] = k < layers ? part->J[j * layers + k] : part->h[j];
        solve(fit, layers, column);
        for (size_t j = 0; j < layers; j++) {
            double value = k < layers ? part->J[j * layers + k] : part->h[j];
            for (size_t i = 0; i < layers; i++)
                value -= part->J[j * layers + i] * column[i];
            if (k < layers)
                W[j * layers + k] = value;
            else
                q[j] = value;
        }
    }
}

/* The shared unknowns that layer j depends on, and how; up to three. */
static size_t unknowns_of(const bc_learn_fit *fit, const bc_learn_part *part, size_t j, size_t at[3], double by[3])
{
    size_t count = 0;
    at[count] = part->material[j];
    by[count++] = 1.0;
    if (fit->has_lines) {
        at[count] = fit->materials + part->material[j];
        by[count++] = part->time;
    }
    if (fit->has_layers) {
        at[count] = fit->materials * (fit->has_lines ? 2 : 1) + part->column[j];
        by[count++] = 1.0;
    }
    return count;
}

static void add_equations(bc_learn_fit *fit, const bc_learn_part *part, const double *W, const double *q)
{
    for (size_t j = 0; j < part->layers; j++) {
        size_t at[3], other[3];
        double by[3], with[3];
        const size_t count = unknowns_of(fit, part, j, at, by);
        for (size_t a = 0; a < count; a++)
            *gsl_vector_ptr(fit->right, at[a]) += by[a] * q[j];
        for (size_t k = 0; k < part->layers; k++) {
            const size_t others = unknowns_of(fit, part, k, other, with);
            for (size_t a = 0; a < count; a++)
                for (size_t b = 0; b < others; b++)
                    *gsl_matrix_ptr(fit->normal, at[a], other[b]) += by[a] * with[b] * W[j * part->layers + k];
        }
    }
}

/* Adds one run; returns its log likelihood where all shared unknowns are 0. */
static double add_part(bc_learn_fit *fit, const bc_learn_part *part, const gsl_vector *log_sigma)
{
    const size_t layers = part->layers, most = fit->most_layers;
    double *W = fit->memory, *q = W + most * most, *column = q + most, *weighted = column + most;
    double log_likelihood = -0.5 * set_inner(fit, part, log_sigma, weighted);
    if (!isfinite(log_likelihood))
        return -INFINITY;
    for (size_t j = 0; j < layers; j++)
        log_likelihood -= log(gsl_matrix_get(fit->inner, j, j));
    integrate(fit, part, W, q, column); /* leaves (V^-1 + J)^-1 h in `column` */
    for (size_t j = 0; j < layers; j++)
        log_likelihood += 0.5 * part->h[j] * column[j];
    add_equations(fit, part, W, q);
    return log_likelihood;
}

/* The priors of the shared unknowns: factors and lines anything, layers N(0, between layers). Returns what they add. */
static double add_priors(bc_learn_fit *fit, const gsl_vector *log_sigma)
{
    const size_t fixed = fit->materials * (fit->has_lines ? 2 : 1);
    double sum = 0.0;
    for (size_t i = 0; i < fixed; i++)
        *gsl_matrix_ptr(fit->normal, i, i) += 1.0 / (WEAKEST * WEAKEST);
    for (size_t i = fixed; i < fit->unknowns; i++) {
        const double log_layers = gsl_vector_get(log_sigma, fit->materials + 1);
        *gsl_matrix_ptr(fit->normal, i, i) += exp(-2.0 * log_layers);
        sum -= log_layers;
    }
    for (size_t i = 0; i < log_sigma->size; i++)
        sum -= 0.5 * pow((gsl_vector_get(log_sigma, i) - fit->centre[i]) / BC_LEARN_PRIOR_LOG, 2.0);
    return sum;
}

double bc_learn_objective(const gsl_vector *log_sigma, void *context)
{
    bc_learn_fit *fit = context;
    double sum = 0.0;
    for (size_t i = 0; i < log_sigma->size; i++)
        if (gsl_vector_get(log_sigma, i) < log(LEAST_SIGMA) || gsl_vector_get(log_sigma, i) > 0.0)
            return 1e300;
    gsl_matrix_set_zero(fit->normal);
    gsl_vector_set_zero(fit->right);
    for (size_t r = 0; r < fit->parts; r++)
        sum += add_part(fit, &fit->part[r], log_sigma);
    sum += add_priors(fit, log_sigma);
    if (!isfinite(sum) || gsl_linalg_cholesky_decomp1(fit->normal) != 0)
        return 1e300;
    gsl_linalg_cholesky_solve(fit->normal, fit->right, fit->shared);
    for (size_t i = 0; i < fit->unknowns; i++)
        sum += 0.5 * gsl_vector_get(fit->right, i) * gsl_vector_get(fit->shared, i) -
               log(gsl_matrix_get(fit->normal, i, i));
    return -sum;
}

bc_status bc_learn_search(bc_learn_fit *fit, gsl_vector *log_sigma, bc_error *error)
{
    for (size_t i = 0; i < log_sigma->size; i++)
        gsl_vector_set(log_sigma, i, fit->centre[i]);
    return bc_simplex_search(&(bc_simplex){STEP, SETTLED, MOST_STEPS}, bc_learn_objective, fit, log_sigma, error);
}

/* The objective at a step along one or two of the logarithms. */
static double at_step(bc_learn_fit *fit, gsl_vector *log_sigma, size_t i, double by_i, size_t k, double by_k)
{
    double value;
    *gsl_vector_ptr(log_sigma, i) += by_i;
    *gsl_vector_ptr(log_sigma, k) += by_k;
    value = bc_learn_objective(log_sigma, fit);
    *gsl_vector_ptr(log_sigma, i) -= by_i;
    *gsl_vector_ptr(log_sigma, k) -= by_k;
    return value;
}

static void set_curvature(bc_learn_fit *fit, gsl_vector *log_sigma, gsl_matrix *curvature)
{
    const double best = bc_learn_objective(log_sigma, fit), d = DIFFERENCE;
    for (size_t i = 0; i < log_sigma->size; i++) {
        const double up = at_step(fit, log_sigma, i, d, i, 0.0), down = at_step(fit, log_sigma, i, -d, i, 0.0);
        /* Where the likelihood itself is flat, the prior is what is known. */
        gsl_matrix_set(curvature, i, i,
                       fmax((up + down - 2.0 * best) / (d * d), 1.0 / (BC_LEARN_PRIOR_LOG * BC_LEARN_PRIOR_LOG)));
        for (size_t k = 0; k < i; k++) {
            const double mixed = (at_step(fit, log_sigma, i, d, k, d) - at_step(fit, log_sigma, i, d, k, -d) -
                                  at_step(fit, log_sigma, i, -d, k, d) + at_step(fit, log_sigma, i, -d, k, -d)) /
                                 (4.0 * d * d);
            gsl_matrix_set(curvature, i, k, mixed);
            gsl_matrix_set(curvature, k, i, mixed);
        }
    }
}

bc_status bc_learn_variances(bc_learn_fit *fit, gsl_vector *log_sigma, double *variance, bc_error *error)
{
    const size_t sigmas = log_sigma->size;
    gsl_matrix *curvature = gsl_matrix_alloc(sigmas, sigmas);
    if (curvature == NULL)
        return bc_fail_memory(error);
    set_curvature(fit, log_sigma, curvature);
    for (size_t i = 0; i < sigmas; i++)
        variance[i] = 1.0 / gsl_matrix_get(curvature, i, i);
    if (gsl_linalg_cholesky_decomp1(curvature) == 0 && gsl_linalg_cholesky_invert(curvature) == 0)
        for (size_t i = 0; i < sigmas; i++)
            variance[i] = gsl_matrix_get(curvature, i, i);
    gsl_matrix_free(curvature);
    return BC_OK;
}
