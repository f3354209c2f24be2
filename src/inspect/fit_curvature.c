/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fit_variables.h"
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>

/* By Cholesky's factors, whose errors no scale of a variable changes (van der Sluis, Numer. Math. 14, 14 (1969); from
 * memory). */
static bc_status invert(size_t size, double *matrix, bc_error *error)
{
    gsl_matrix_view view = gsl_matrix_view_array(matrix, size, size);
    if (gsl_linalg_cholesky_decomp1(&view.matrix) != GSL_SUCCESS ||
        gsl_linalg_cholesky_invert(&view.matrix) != GSL_SUCCESS)
        return bc_fail(error, BC_ERROR_INPUT, "the scan leaves the thicknesses undetermined; expected more points");
    return BC_OK;
}

/* J^T J of the first `rows` rows. */
static void sum_products(const gsl_matrix *J, size_t rows, size_t size, double *out)
{
    for (size_t i = 0; i < size; i++)
        for (size_t k = 0; k <= i; k++) {
            double sum = 0.0;
            for (size_t row = 0; row < rows; row++)
                sum += gsl_matrix_get(J, row, i) * gsl_matrix_get(J, row, k);
            out[i * size + k] = out[k * size + i] = sum;
        }
}

/* The Jacobian at a minimum, priors and all: `rows` of it are those of the layout. */
static bc_status jacobian_at(bc_fit_layout *at, const bc_fit_point *point, gsl_matrix **J, bc_error *error)
{
    gsl_vector *x = gsl_vector_calloc(at->size + 1);
    *J = gsl_matrix_alloc(at->rows, at->size + 1);
    if (x != NULL && *J != NULL) {
        gsl_vector_view view = gsl_vector_subvector(x, 0, at->size == 0 ? 1 : at->size);
        bc_fit_gather(at, NULL, point, &view.vector);
        bc_fit_jacobian(&view.vector, at, *J);
    }
    gsl_vector_free(x);
    return x == NULL || *J == NULL ? bc_fail_memory(error) : BC_OK;
}

bc_status bc_fit_linearize(bc_fit *fit, const bc_fit_point *point, double *J, double *f, bc_error *error)
{
    const bc_family family = {.free = fit->layers, .index = fit->has_index};
    bc_fit_layout at = bc_fit_lay_out(fit, &family);
    gsl_vector_view rest = gsl_vector_view_array(f, at.rows);
    gsl_vector *x = gsl_vector_calloc(at.size + 1);
    gsl_matrix *slopes;
    const bc_status status = jacobian_at(&at, point, &slopes, error);
    if (status == BC_OK && x != NULL) {
        gsl_vector_view view = gsl_vector_subvector(x, 0, at.size == 0 ? 1 : at.size);
        bc_fit_gather(&at, NULL, point, &view.vector);
        bc_fit_residuals(&view.vector, &at, &rest.vector);
        for (size_t row = 0; row < at.rows; row++)
            for (size_t v = 0; v < at.size; v++)
                J[row * at.size + v] = gsl_matrix_get(slopes, row, v);
    }
    gsl_matrix_free(slopes);
    gsl_vector_free(x);
    return status == BC_OK && x == NULL ? bc_fail_memory(error) : status;
}

bc_status bc_fit_covariance(bc_fit *fit, const bc_fit_point *point, double *information, double *covariance,
                            bc_error *error)
{
    const bc_family family = {.free = fit->layers, .index = fit->has_index};
    bc_fit_layout at = bc_fit_lay_out(fit, &family);
    gsl_matrix *J;
    bc_status status = jacobian_at(&at, point, &J, error);
    if (status == BC_OK) {
        if (information != NULL)
            sum_products(J, fit->rows, at.size, information);
        sum_products(J, at.rows, at.size, covariance);
        if (at.size > 0)
            status = invert(at.size, covariance, error);
    }
    gsl_matrix_free(J);
    return status;
}

/* sum log of the diagonal of R of J = QR is half of log det(J^T J). */
static bc_status half_log_determinant(bc_fit_layout *at, const gsl_matrix *J, double *half, bc_error *error)
{
    gsl_matrix *qr = gsl_matrix_alloc(at->rows, at->size);
    gsl_vector *tau = gsl_vector_alloc(at->size);
    *half = 0.0;
    if (qr != NULL && tau != NULL) {
        gsl_matrix_const_view used = gsl_matrix_const_submatrix(J, 0, 0, at->rows, at->size);
        gsl_matrix_memcpy(qr, &used.matrix);
        gsl_linalg_QR_decomp(qr, tau);
        for (size_t v = 0; v < at->size; v++)
            *half += log(fmax(fabs(gsl_matrix_get(qr, v, v)), 1e-300));
    }
    gsl_matrix_free(qr);
    gsl_vector_free(tau);
    return qr == NULL || tau == NULL ? bc_fail_memory(error) : BC_OK;
}

bc_status bc_fit_evidence(bc_fit *fit, const bc_fit_point *point, double *evidence, bc_error *error)
{
    const bc_family family = {.free = fit->layers, .index = fit->has_index};
    bc_fit_layout at = bc_fit_lay_out(fit, &family);
    gsl_matrix *J;
    double half = 0.0;
    bc_status status;
    *evidence = -0.5 * point->cost;
    if (at.size == 0)
        return BC_OK;
    status = jacobian_at(&at, point, &J, error);
    if (status == BC_OK)
        status = half_log_determinant(&at, J, &half, error);
    gsl_matrix_free(J);
    *evidence -= half;
    for (size_t j = 0; j < fit->layers; j++)
        *evidence -= log(fit->prior_sigma[j]);
    for (size_t m = 0; fit->has_index && m < fit->materials; m++)
        *evidence -= log(fit->index_sigma[m]);
    return status;
}
