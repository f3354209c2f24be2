/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "dense.h"
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <string.h>

void dense_add(dense *d, size_t run, size_t layers, const double *design_nm, const double *information,
               const double *pull, const double *y_shift)
{
    gsl_matrix *inverse = gsl_matrix_alloc(layers, layers);
    for (size_t i = 0; i < layers * layers; i++)
        gsl_matrix_set(inverse, i / layers, i % layers, information[i]);
    gsl_linalg_cholesky_decomp1(inverse);
    gsl_linalg_cholesky_invert(inverse);
    for (size_t j = 0; j < layers; j++) {
        const size_t at = d->count + j;
        ck_assert_uint_lt(at, DENSE_MOST);
        d->run[at] = run;
        d->y[at] = y_shift[j] - 1.0;
        for (size_t k = 0; k < layers; k++) {
            const double nm2 = gsl_matrix_get(inverse, j, k);
            d->y[at] += nm2 * pull[k] / design_nm[j];
            d->S[at][d->count + k] = nm2 / (design_nm[j] * design_nm[k]);
        }
    }
    d->count += layers;
    gsl_matrix_free(inverse);
}

static double prior_variance(const dense *d, const double *log_sigma, size_t unknown)
{
    return unknown < d->fixed ? 0.25 * 0.25 : exp(2.0 * log_sigma[d->materials + 1]);
}

/* S + what layers and runs scatter + what is not known of the unknowns. */
static gsl_matrix *covariance_of_all(const dense *d, const double *log_sigma)
{
    gsl_matrix *all = gsl_matrix_alloc(d->count, d->count);
    for (size_t i = 0; i < d->count; i++)
        for (size_t k = 0; k < d->count; k++) {
            double sum = d->S[i][k] + (i == k ? exp(2.0 * log_sigma[d->material[i]]) : 0.0);
            if (d->run[i] == d->run[k])
                sum += d->sign[i] * d->sign[k] * exp(2.0 * log_sigma[d->materials]);
            for (size_t u = 0; u < d->unknowns; u++)
                sum += d->X[i][u] * d->X[k][u] * prior_variance(d, log_sigma, u);
            gsl_matrix_set(all, i, k, sum);
        }
    return all;
}

double dense_objective(const dense *d, const double *log_sigma, double mean[DENSE_UNKNOWNS],
                       double covariance[DENSE_UNKNOWNS][DENSE_UNKNOWNS])
{
    gsl_matrix *all = covariance_of_all(d, log_sigma);
    gsl_vector *y = gsl_vector_alloc(d->count), *column = gsl_vector_alloc(d->count);
    gsl_permutation *order = gsl_permutation_alloc(d->count);
    double sum = 0.0;
    int sign;
    for (size_t i = 0; i < d->count; i++)
        gsl_vector_set(y, i, d->y[i]);
    gsl_linalg_LU_decomp(all, order, &sign);
    gsl_linalg_LU_solve(all, order, y, column);
    for (size_t i = 0; i < d->count; i++)
        sum += 0.5 * d->y[i] * gsl_vector_get(column, i);
    sum += 0.5 * gsl_linalg_LU_lndet(all);
    for (size_t i = 0; i < d->sigmas; i++)
        sum += 0.5 * pow((log_sigma[i] - d->centre[i]) / d->prior_log, 2.0);
    for (size_t u = 0; mean != NULL && u < d->unknowns; u++) {
        mean[u] = 0.0;
        for (size_t i = 0; i < d->count; i++)
            mean[u] += prior_variance(d, log_sigma, u) * d->X[i][u] * gsl_vector_get(column, i);
    }
    for (size_t u = 0; covariance != NULL && u < d->unknowns; u++) {
        for (size_t i = 0; i < d->count; i++)
            gsl_vector_set(y, i, d->X[i][u]);
        gsl_linalg_LU_solve(all, order, y, column);
        for (size_t v = 0; v < d->unknowns; v++) {
            covariance[u][v] = u == v ? prior_variance(d, log_sigma, u) : 0.0;
            for (size_t i = 0; i < d->count; i++)
                covariance[u][v] -= prior_variance(d, log_sigma, u) * prior_variance(d, log_sigma, v) * d->X[i][v] *
                                    gsl_vector_get(column, i);
        }
    }
    gsl_permutation_free(order);
    gsl_vector_free(y);
    gsl_vector_free(column);
    gsl_matrix_free(all);
    return sum;
}
