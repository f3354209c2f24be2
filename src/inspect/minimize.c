/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fit_variables.h"
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <math.h>

#define STEP_TOLERANCE  1e-8
#define SLOPE_TOLERANCE 1e-10

/* Nothing to choose: only the residuals are wanted. */
static bc_status evaluate(bc_fit_layout *at, const gsl_vector *x, bc_fit_point *point, bc_error *error)
{
    gsl_vector *f = gsl_vector_alloc(at->rows);
    if (f == NULL)
        return bc_fail_memory(error);
    bc_fit_residuals(x, at, f);
    bc_fit_scatter(at, x, f, NULL, point);
    gsl_vector_free(f);
    return BC_OK;
}

/* What a start brings, and what comes out of it. */
typedef struct result {
    double *theta, *theta_sigma;
    bc_fit_point *point;
} result;

/* J P = Q R: the covariance (J^T J)^-1 is P R^-1 R^-T P^T. What follows a zero on R's diagonal is undetermined. */
static void find_sigma(gsl_matrix *r, const gsl_permutation *order, size_t wanted, double *sigma)
{
    size_t rank = 0;
    while (rank < r->size2 && gsl_matrix_get(r, rank, rank) != 0.0)
        rank++;
    if (rank > 0) {
        gsl_matrix_view told = gsl_matrix_submatrix(r, 0, 0, rank, rank);
        gsl_linalg_tri_invert(CblasUpper, CblasNonUnit, &told.matrix);
    }
    for (size_t k = 0; k < r->size2; k++) {
        double variance = 0.0;
        for (size_t j = k; j < rank; j++)
            variance += gsl_matrix_get(r, k, j) * gsl_matrix_get(r, k, j);
        if (gsl_permutation_get(order, k) < wanted)
            sigma[gsl_permutation_get(order, k)] = sqrt(variance);
    }
}

/* GSL has a function for this, which does not look whether it got the memory it asks for. */
static bc_status find_errors(const bc_fit_layout *at, const gsl_multifit_nlinear_workspace *workspace, double *sigma,
                             bc_error *error)
{
    gsl_matrix *r = gsl_matrix_alloc(at->rows, at->size);
    gsl_vector *tau = gsl_vector_alloc(at->size), *norm = gsl_vector_alloc(at->size);
    gsl_permutation *order = gsl_permutation_alloc(at->size);
    const bool enough = r != NULL && tau != NULL && norm != NULL && order != NULL;
    if (enough) {
        int sign;
        gsl_matrix_memcpy(r, gsl_multifit_nlinear_jac(workspace));
        gsl_linalg_QRPT_decomp(r, tau, order, &sign, norm);
        find_sigma(r, order, at->family->free, sigma);
    }
    gsl_matrix_free(r);
    gsl_vector_free(tau);
    gsl_vector_free(norm);
    gsl_permutation_free(order);
    return enough ? BC_OK : bc_fail_memory(error);
}

static bc_status descend(bc_fit_layout *at, const gsl_vector *x, unsigned steps, const result *out, bc_error *error)
{
    gsl_multifit_nlinear_parameters parameters = gsl_multifit_nlinear_default_parameters();
    gsl_multifit_nlinear_fdf system = {
        .f = bc_fit_residuals, .df = bc_fit_jacobian, .n = at->rows, .p = at->size, .params = at};
    gsl_multifit_nlinear_workspace *workspace =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &parameters, at->rows, at->size);
    bc_status status = BC_OK;
    if (workspace == NULL)
        return bc_fail_memory(error);
    if (gsl_multifit_nlinear_init(x, &system, workspace) == GSL_SUCCESS) {
        int info;
        /* That it makes no progress any more is no failure: it is where it can get. */
        gsl_multifit_nlinear_driver(steps, STEP_TOLERANCE, SLOPE_TOLERANCE, 0.0, NULL, NULL, &info, workspace);
    }
    bc_fit_scatter(at, gsl_multifit_nlinear_position(workspace), gsl_multifit_nlinear_residual(workspace), out->theta,
                   out->point);
    if (out->theta_sigma != NULL)
        status = find_errors(at, workspace, out->theta_sigma, error);
    gsl_multifit_nlinear_free(workspace);
    return status;
}

bc_status bc_fit_minimize(bc_fit *fit, const bc_family *family, double *theta, double *theta_sigma, unsigned steps,
                          bc_fit_point *point, bc_error *error)
{
    const result out = {theta, theta_sigma, point};
    bc_fit_layout at = bc_fit_lay_out(fit, family);
    gsl_vector *x;
    gsl_vector_view view;
    bc_status status;
    gsl_set_error_handler_off();
    fit->fits++;
    x = gsl_vector_calloc(at.size + 1); /* GSL has no vectors of none */
    if (x == NULL)
        return bc_fail_memory(error);
    view = gsl_vector_subvector(x, 0, at.size == 0 ? 1 : at.size);
    bc_fit_gather(&at, theta, point, &view.vector);
    status = at.size == 0 ? evaluate(&at, x, point, error) : descend(&at, &view.vector, steps, &out, error);
    gsl_vector_free(x);
    return status;
}
