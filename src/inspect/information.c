/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspection.h"
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>

/* What is fitted besides the layers and shared with the data: indices, offsets, scale, wavelength; not the process'
 * common numbers, which only say where the layers are expected. */
static size_t nuisances(const bc_fit *fit)
{
    return bc_fit_place(fit, BC_SHARED_RUN) - fit->layers;
}

/* J_LL - J_LN (J_NN + P)^-1 J_NL, with P the priors of what is integrated over. */
static bc_status integrate(const bc_fit *fit, const bc_solution *solution, double *out, bc_error *error)
{
    const size_t layers = fit->layers, others = nuisances(fit), size = solution->size;
    gsl_matrix *inner = gsl_matrix_alloc(others + 1, others + 1);
    gsl_vector *column = gsl_vector_alloc(others + 1);
    bc_status status = inner == NULL || column == NULL ? bc_fail_memory(error) : BC_OK;
    for (size_t j = 0; j < layers; j++)
        for (size_t k = 0; k < layers; k++)
            out[j * layers + k] = solution->information[j * size + k];
    if (status == BC_OK && others > 0) {
        gsl_matrix_view used = gsl_matrix_submatrix(inner, 0, 0, others, others);
        gsl_vector_view solved = gsl_vector_subvector(column, 0, others);
        for (size_t i = 0; i < others; i++)
            for (size_t k = 0; k < others; k++) {
                const double width = fit->has_index && i < fit->materials ? fit->index_sigma[i] : 1.0;
                gsl_matrix_set(&used.matrix, i, k,
                               solution->information[(layers + i) * size + layers + k] +
                                   (i == k ? 1.0 / (width * width) : 0.0));
            }
        gsl_linalg_cholesky_decomp1(&used.matrix);
        for (size_t j = 0; j < layers; j++) {
            for (size_t i = 0; i < others; i++)
                gsl_vector_set(&solved.vector, i, solution->information[j * size + layers + i]);
            gsl_linalg_cholesky_svx(&used.matrix, &solved.vector);
            for (size_t k = 0; k < layers; k++)
                for (size_t i = 0; i < others; i++)
                    out[j * layers + k] -=
                        gsl_vector_get(&solved.vector, i) * solution->information[k * size + layers + i];
        }
    }
    gsl_matrix_free(inner);
    gsl_vector_free(column);
    return status;
}

/* At the minimum the data pull as hard as the priors: J (x - x_data) = -(x - prior) / sigma^2, so J x_data is known
 * even where x_data is not. */
bc_status bc_keep_information(bc_inspection *inspection, bc_error *error)
{
    const bc_fit *fit = &inspection->fit;
    const bc_fit_point *point = &inspection->solution.point;
    bc_inspect_result *result = inspection->result;
    if (fit->layers == 0)
        return BC_OK;
    const bc_status status = integrate(fit, &inspection->solution, result->information, error);
    for (size_t j = 0; j < fit->layers; j++) {
        const double expected = fit->prior_nm[j] + fit->prior_bias[0][j] * point->shared[BC_SHARED_RUN] +
                                fit->prior_bias[1][j] * point->shared[BC_SHARED_COMMON];
        double pull = (point->thickness_nm[j] - expected) / (fit->prior_sigma[j] * fit->prior_sigma[j]);
        for (size_t k = 0; k < fit->layers; k++)
            pull += result->information[j * fit->layers + k] * point->thickness_nm[k];
        result->pull[j] = pull;
    }
    return status;
}
