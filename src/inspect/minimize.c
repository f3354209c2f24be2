/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fit.h"
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <math.h>

#define STEP_TOLERANCE  1e-8
#define SLOPE_TOLERANCE 1e-10

/* Where the variables of one minimization lie in its vector. */
typedef struct layout {
    bc_fit *fit;
    const bc_family *family;
    size_t dn, offset[2], common, size, rows;
} layout;

static layout lay_out(bc_fit *fit, const bc_family *family)
{
    layout at = {.fit = fit, .family = family};
    at.dn = family->free;
    at.size = at.dn + (family->index ? fit->materials : 0);
    for (size_t r = 0; r < 2; r++) {
        at.offset[r] = at.size;
        at.size += fit->has_offset[r];
    }
    at.common = at.size;
    at.size += fit->has_bias && family->map == NULL;
    at.rows = fit->rows + at.size;
    return at;
}

/* Thicknesses are folded at 0, so that every vector is a stack. */
static void set_point(const layout *at, const gsl_vector *x, double *thickness_nm, double *dn)
{
    const bc_family *family = at->family;
    for (size_t j = 0; j < at->fit->layers; j++) {
        double sum = family->map == NULL ? gsl_vector_get(x, j) : family->base[j];
        for (size_t k = 0; family->map != NULL && k < family->free; k++)
            sum += family->map[j * family->free + k] * gsl_vector_get(x, k);
        at->fit->sign[j] = sum < 0.0 ? -1.0 : 1.0;
        thickness_nm[j] = fabs(sum);
    }
    for (size_t m = 0; m < at->fit->materials; m++)
        dn[m] = family->index ? gsl_vector_get(x, at->dn + m) : 0.0;
}

static double common_of(const layout *at, const gsl_vector *x)
{
    return at->common < at->size ? gsl_vector_get(x, at->common) : 0.0;
}

/* One row for every variable: its prior, or nothing. */
static void prior_residuals(const layout *at, const gsl_vector *x, gsl_vector *f)
{
    const bc_fit *fit = at->fit;
    const size_t first = fit->rows;
    for (size_t v = 0; v < at->size; v++) {
        double residual = gsl_vector_get(x, v); /* offsets and the common number: normal already */
        if (v < at->dn)
            residual = at->family->map != NULL
                           ? 0.0
                           : (fit->trial.thickness_nm[v] - fit->prior_nm[v] - fit->prior_bias[v] * common_of(at, x)) /
                                 fit->prior_sigma[v];
        else if (v < at->offset[0])
            residual /= fit->index_sigma[v - at->dn];
        gsl_vector_set(f, first + v, residual);
    }
}

static int residuals(const gsl_vector *x, void *context, gsl_vector *f)
{
    const layout *at = context;
    bc_fit *fit = at->fit;
    const size_t count = fit->setup.count, first = fit->setup.first;
    set_point(at, x, fit->trial.thickness_nm, fit->trial.dn);
    bc_fit_look(fit, fit->trial.thickness_nm, fit->trial.dn, false);
    for (size_t r = 0; r < fit->setup.readings; r++) {
        const bc_reading *reading = fit->setup.reading[r];
        const double b = fit->has_offset[r] ? gsl_vector_get(x, at->offset[r]) : 0.0;
        for (size_t i = 0; i < count; i++)
            gsl_vector_set(f, r * count + i,
                           (fit->model[r][i] - reading->value[first + i] + b * reading->systematic[first + i]) /
                               bc_fit_noise(fit, r, i));
    }
    prior_residuals(at, x, f);
    return GSL_SUCCESS;
}

/* d model / d variable v at one point, not yet over its noise. */
static double slope_of(const layout *at, size_t v, size_t r, size_t i)
{
    const bc_fit *fit = at->fit;
    const size_t row = r * fit->setup.count + i;
    double sum = 0.0;
    if (v >= at->offset[0])
        return fit->has_offset[r] && v == at->offset[r] ? fit->setup.reading[r]->systematic[fit->setup.first + i] : 0.0;
    if (v >= at->dn)
        return fit->slope[(fit->layers + v - at->dn) * fit->rows + row];
    if (at->family->map == NULL)
        return fit->sign[v] * fit->slope[v * fit->rows + row];
    for (size_t j = 0; j < fit->layers; j++)
        sum += at->family->map[j * at->family->free + v] * fit->sign[j] * fit->slope[j * fit->rows + row];
    return sum;
}

static void prior_slopes(const layout *at, gsl_matrix *J)
{
    const bc_fit *fit = at->fit;
    for (size_t v = 0; v < at->size; v++) {
        double slope = 1.0;
        if (v < at->dn)
            slope = at->family->map != NULL ? 0.0 : fit->sign[v] / fit->prior_sigma[v];
        else if (v < at->offset[0])
            slope = 1.0 / fit->index_sigma[v - at->dn];
        for (size_t other = 0; other < at->size; other++)
            gsl_matrix_set(J, fit->rows + v, other, other == v ? slope : 0.0);
        if (v < at->dn && at->common < at->size)
            gsl_matrix_set(J, fit->rows + v, at->common, -fit->prior_bias[v] / fit->prior_sigma[v]);
    }
}

static int jacobian(const gsl_vector *x, void *context, gsl_matrix *J)
{
    const layout *at = context;
    bc_fit *fit = at->fit;
    set_point(at, x, fit->trial.thickness_nm, fit->trial.dn);
    bc_fit_look(fit, fit->trial.thickness_nm, fit->trial.dn, true);
    for (size_t r = 0; r < fit->setup.readings; r++)
        for (size_t i = 0; i < fit->setup.count; i++) {
            const double weight = 1.0 / bc_fit_noise(fit, r, i);
            for (size_t v = 0; v < at->size; v++)
                gsl_matrix_set(J, r * fit->setup.count + i, v, weight * slope_of(at, v, r, i));
        }
    prior_slopes(at, J);
    return GSL_SUCCESS;
}

static void gather(const layout *at, const double *theta, const bc_fit_point *point, gsl_vector *x)
{
    gsl_vector_set_zero(x);
    for (size_t k = 0; k < at->family->free; k++)
        gsl_vector_set(x, k, theta == NULL || at->family->map == NULL ? point->thickness_nm[k] : theta[k]);
    for (size_t m = 0; at->family->index && m < at->fit->materials; m++)
        gsl_vector_set(x, at->dn + m, point->dn[m]);
    for (size_t r = 0; r < 2; r++)
        if (at->fit->has_offset[r])
            gsl_vector_set(x, at->offset[r], point->offset[r]);
}

static void scatter(const layout *at, const gsl_vector *x, const gsl_vector *f, double *theta, bc_fit_point *point)
{
    const bc_fit *fit = at->fit;
    set_point(at, x, point->thickness_nm, point->dn);
    for (size_t k = 0; theta != NULL && k < at->family->free; k++)
        theta[k] = gsl_vector_get(x, k);
    point->cost = point->chi_squared = 0.0;
    for (size_t row = 0; row < at->rows; row++) {
        const double square = gsl_vector_get(f, row) * gsl_vector_get(f, row);
        const bool of_offset = row >= fit->rows + at->offset[0] && row < fit->rows + at->common;
        point->cost += square;
        point->chi_squared += row < fit->rows || of_offset ? square : 0.0;
    }
    for (size_t r = 0; r < 2; r++)
        point->offset[r] = fit->has_offset[r] ? gsl_vector_get(x, at->offset[r]) : 0.0;
}

/* Nothing to choose: only the residuals are wanted. */
static bc_status evaluate(layout *at, const gsl_vector *x, bc_fit_point *point, bc_error *error)
{
    gsl_vector *f = gsl_vector_alloc(at->rows);
    if (f == NULL)
        return bc_fail_memory(error);
    residuals(x, at, f);
    scatter(at, x, f, NULL, point);
    gsl_vector_free(f);
    return BC_OK;
}

/* What a start brings, and what comes out of it. */
typedef struct result {
    double *theta, *theta_sigma;
    bc_fit_point *point;
} result;

/* J P = Q R: the covariance (J^T J)^-1 is P R^-1 R^-T P^T. What stands behind a zero on R's diagonal cannot be told. */
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
        for (size_t j = k; k < rank && j < rank; j++)
            variance += gsl_matrix_get(r, k, j) * gsl_matrix_get(r, k, j);
        if (gsl_permutation_get(order, k) < wanted)
            sigma[gsl_permutation_get(order, k)] = sqrt(variance);
    }
}

/* GSL has a function for this, which does not look whether it got the memory it asks for. */
static bc_status find_errors(const layout *at, const gsl_multifit_nlinear_workspace *workspace, double *sigma,
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

static bc_status descend(layout *at, const gsl_vector *x, unsigned steps, const result *out, bc_error *error)
{
    gsl_multifit_nlinear_parameters parameters = gsl_multifit_nlinear_default_parameters();
    gsl_multifit_nlinear_fdf system = {.f = residuals, .df = jacobian, .n = at->rows, .p = at->size, .params = at};
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
    scatter(at, gsl_multifit_nlinear_position(workspace), gsl_multifit_nlinear_residual(workspace), out->theta,
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
    layout at = lay_out(fit, family);
    gsl_vector *x;
    gsl_vector_view view;
    bc_status status;
    gsl_set_error_handler_off();
    fit->fits++;
    x = gsl_vector_calloc(at.size + 1); /* GSL has no vectors of none */
    if (x == NULL)
        return bc_fail_memory(error);
    view = gsl_vector_subvector(x, 0, at.size == 0 ? 1 : at.size);
    gather(&at, theta, point, &view.vector);
    status = at.size == 0 ? evaluate(&at, x, point, error) : descend(&at, &view.vector, steps, &out, error);
    gsl_vector_free(x);
    return status;
}

/* The lower triangle of a matrix of small positive numbers, to be solved after each variable got its own scale. */
static bc_status invert(size_t size, double *matrix, bc_error *error)
{
    gsl_matrix_view view = gsl_matrix_view_array(matrix, size, size);
    gsl_vector *scale = gsl_vector_alloc(size);
    bc_status status = BC_OK;
    if (scale == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < size; i++)
        gsl_vector_set(scale, i, 1.0 / sqrt(fmax(matrix[i * size + i], 1e-300)));
    for (size_t i = 0; i < size; i++)
        for (size_t k = 0; k < size; k++)
            matrix[i * size + k] *= gsl_vector_get(scale, i) * gsl_vector_get(scale, k);
    if (gsl_linalg_cholesky_decomp1(&view.matrix) != GSL_SUCCESS ||
        gsl_linalg_cholesky_invert(&view.matrix) != GSL_SUCCESS)
        status = bc_fail(error, BC_ERROR_INPUT, "the scan leaves the thicknesses undetermined; expected more points");
    for (size_t i = 0; status == BC_OK && i < size; i++)
        for (size_t k = 0; k < size; k++)
            matrix[i * size + k] *= gsl_vector_get(scale, i) * gsl_vector_get(scale, k);
    gsl_vector_free(scale);
    return status;
}

static void sum_products(const gsl_matrix *J, size_t from, size_t to, size_t size, double *out)
{
    for (size_t i = 0; i < size; i++)
        for (size_t k = 0; k <= i; k++) {
            double sum = 0.0;
            for (size_t row = from; row < to; row++)
                sum += gsl_matrix_get(J, row, i) * gsl_matrix_get(J, row, k);
            out[i * size + k] += sum;
            if (i != k)
                out[k * size + i] += sum;
        }
}

bc_status bc_fit_covariance(bc_fit *fit, const bc_fit_point *point, double *information, double *covariance,
                            bc_error *error)
{
    const bc_family family = {.free = fit->layers, .index = fit->setup.fit_index};
    layout at = lay_out(fit, &family);
    gsl_vector *x = gsl_vector_calloc(at.size + 1);
    gsl_matrix *J = gsl_matrix_alloc(at.rows, at.size + 1);
    bc_status status = x == NULL || J == NULL ? bc_fail_memory(error) : BC_OK;
    if (status == BC_OK) {
        gsl_vector_view view = gsl_vector_subvector(x, 0, at.size == 0 ? 1 : at.size);
        gather(&at, NULL, point, &view.vector);
        jacobian(&view.vector, &at, J);
        for (size_t i = 0; i < at.size * at.size; i++)
            information[i] = covariance[i] = 0.0;
        sum_products(J, 0, fit->rows, at.size, information);
        sum_products(J, 0, at.rows, at.size, covariance);
        if (at.size > 0)
            status = invert(at.size, covariance, error);
    }
    gsl_vector_free(x);
    gsl_matrix_free(J);
    return status;
}
