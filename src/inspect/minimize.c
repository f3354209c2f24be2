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
    size_t dn, shared[BC_SHARED + 1], size, rows; /* what is not fitted takes no room */
} layout;

/* What layers have in common is a prior of theirs: a family with a map has none. */
static bool is_fitted(const bc_fit *fit, const bc_family *family, size_t s)
{
    return fit->has[s] && (family->map == NULL || (s != BC_SHARED_RUN && s != BC_SHARED_COMMON));
}

static layout lay_out(bc_fit *fit, const bc_family *family)
{
    layout at = {.fit = fit, .family = family};
    at.dn = family->free;
    at.size = at.dn + (family->index ? fit->materials : 0);
    for (size_t s = 0; s < BC_SHARED; s++) {
        at.shared[s] = at.size;
        at.size += is_fitted(fit, family, s);
    }
    at.shared[BC_SHARED] = at.size;
    at.rows = fit->rows + at.size;
    return at;
}

static bool has(const layout *at, size_t s)
{
    return at->shared[s + 1] > at->shared[s];
}

static double shared_at(const layout *at, const gsl_vector *x, size_t s)
{
    return has(at, s) ? gsl_vector_get(x, at->shared[s]) : 0.0;
}

/* Thicknesses are folded at 0, so that every vector is a stack. */
static void set_point(const layout *at, const gsl_vector *x, bc_fit_point *point)
{
    const bc_family *family = at->family;
    for (size_t j = 0; j < at->fit->layers; j++) {
        double sum = family->map == NULL ? gsl_vector_get(x, j) : family->base[j];
        for (size_t k = 0; family->map != NULL && k < family->free; k++)
            sum += family->map[j * family->free + k] * gsl_vector_get(x, k);
        at->fit->sign[j] = sum < 0.0 ? -1.0 : 1.0;
        point->thickness_nm[j] = fabs(sum);
    }
    for (size_t m = 0; m < at->fit->materials; m++)
        point->dn[m] = family->index ? gsl_vector_get(x, at->dn + m) : 0.0;
    for (size_t s = 0; s < BC_SHARED; s++)
        point->shared[s] = shared_at(at, x, s);
}

static void look(bc_fit *fit, const bc_fit_point *point, bool gradient)
{
    bc_fit_look(fit, point->thickness_nm, point->dn,
                point->shared[BC_SHARED_WAVELENGTH] * fit->width[BC_SHARED_WAVELENGTH], gradient);
}

/* How far layer v is from what is expected of it. */
static double layer_residual(const layout *at, const bc_fit_point *point, size_t v)
{
    const bc_fit *fit = at->fit;
    if (at->family->map != NULL)
        return 0.0;
    return (point->thickness_nm[v] - fit->prior_nm[v] - fit->prior_bias[0][v] * point->shared[BC_SHARED_RUN] -
            fit->prior_bias[1][v] * point->shared[BC_SHARED_COMMON]) /
           fit->prior_sigma[v];
}

/* One row for every variable: its prior, or nothing. What is shared is normal already. */
static void prior_residuals(const layout *at, const gsl_vector *x, const bc_fit_point *point, gsl_vector *f)
{
    const bc_fit *fit = at->fit;
    for (size_t v = 0; v < at->size; v++) {
        double residual = gsl_vector_get(x, v);
        if (v < at->dn)
            residual = layer_residual(at, point, v);
        else if (v < at->shared[0])
            residual /= fit->index_sigma[v - at->dn];
        gsl_vector_set(f, fit->rows + v, residual);
    }
}

static int residuals(const gsl_vector *x, void *context, gsl_vector *f)
{
    const layout *at = context;
    bc_fit *fit = at->fit;
    const size_t count = fit->setup.count, first = fit->setup.first;
    set_point(at, x, &fit->trial);
    look(fit, &fit->trial, false);
    for (size_t r = 0; r < fit->setup.readings; r++)
        for (size_t i = 0; i < count; i++)
            gsl_vector_set(f, r * count + i,
                           (bc_fit_expected(fit, fit->trial.shared, r, i) - fit->setup.reading[r]->value[first + i]) /
                               bc_fit_noise(fit, r, i));
    prior_residuals(at, x, &fit->trial, f);
    return GSL_SUCCESS;
}

/* d expected / d what is shared, at one point. */
static double shared_slope(const bc_fit *fit, size_t s, size_t r, size_t i, double stretch)
{
    const bc_reading *reading = fit->setup.reading[r];
    switch (s) {
    case BC_SHARED_FIRST:
    case BC_SHARED_SECOND:
        return s == BC_SHARED_FIRST + r ? reading->systematic[fit->setup.first + i] : 0.0;
    case BC_SHARED_SCALE:
        return reading->quantity == BC_R ? fit->width[s] * fit->model[r][i] : 0.0;
    case BC_SHARED_WAVELENGTH:
        return stretch * fit->width[s] * fit->along[r][i];
    case BC_SHARED_CONSTANT:
        return fit->width[s];
    default:
        return 0.0;
    }
}

/* d expected / d variable v (a layer or an index) at one point, but for the scale. */
static double slope_of(const layout *at, size_t v, size_t row)
{
    const bc_fit *fit = at->fit;
    double sum = 0.0;
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
        else if (v < at->shared[0])
            slope = 1.0 / fit->index_sigma[v - at->dn];
        for (size_t other = 0; other < at->size; other++)
            gsl_matrix_set(J, fit->rows + v, other, other == v ? slope : 0.0);
        for (size_t c = 0; v < at->dn && c < 2; c++)
            if (has(at, BC_SHARED_RUN + c))
                gsl_matrix_set(J, fit->rows + v, at->shared[BC_SHARED_RUN + c],
                               -fit->prior_bias[c][v] / fit->prior_sigma[v]);
    }
}

static int jacobian(const gsl_vector *x, void *context, gsl_matrix *J)
{
    const layout *at = context;
    bc_fit *fit = at->fit;
    double stretch;
    set_point(at, x, &fit->trial);
    look(fit, &fit->trial, true);
    stretch = 1.0 + fit->trial.shared[BC_SHARED_SCALE] * fit->width[BC_SHARED_SCALE];
    for (size_t r = 0; r < fit->setup.readings; r++)
        for (size_t i = 0; i < fit->setup.count; i++) {
            const size_t row = r * fit->setup.count + i;
            const double weight = 1.0 / bc_fit_noise(fit, r, i);
            const double stretched = fit->setup.reading[r]->quantity == BC_R ? stretch : 1.0;
            for (size_t v = 0; v < at->shared[0]; v++)
                gsl_matrix_set(J, row, v, weight * stretched * slope_of(at, v, row));
            for (size_t s = 0; s < BC_SHARED; s++)
                if (has(at, s))
                    gsl_matrix_set(J, row, at->shared[s], weight * shared_slope(fit, s, r, i, stretched));
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
    for (size_t s = 0; s < BC_SHARED; s++)
        if (has(at, s))
            gsl_vector_set(x, at->shared[s], point->shared[s]);
}

static void scatter(const layout *at, const gsl_vector *x, const gsl_vector *f, double *theta, bc_fit_point *point)
{
    const bc_fit *fit = at->fit;
    set_point(at, x, point);
    for (size_t k = 0; theta != NULL && k < at->family->free; k++)
        theta[k] = gsl_vector_get(x, k);
    point->cost = point->chi_squared = 0.0;
    for (size_t row = 0; row < at->rows; row++) {
        const double square = gsl_vector_get(f, row) * gsl_vector_get(f, row);
        const bool of_instrument = row >= fit->rows + at->shared[0] && row < fit->rows + at->shared[BC_SHARED_RUN];
        point->cost += square;
        point->chi_squared += row < fit->rows || of_instrument ? square : 0.0;
    }
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

/* The Jacobian at a minimum, priors and all: `rows` of it are those of the layout. */
static bc_status jacobian_at(layout *at, const bc_fit_point *point, gsl_matrix **J, bc_error *error)
{
    gsl_vector *x = gsl_vector_calloc(at->size + 1);
    *J = gsl_matrix_alloc(at->rows, at->size + 1);
    if (x != NULL && *J != NULL) {
        gsl_vector_view view = gsl_vector_subvector(x, 0, at->size == 0 ? 1 : at->size);
        gather(at, NULL, point, &view.vector);
        jacobian(&view.vector, at, *J);
    }
    gsl_vector_free(x);
    return x == NULL || *J == NULL ? bc_fail_memory(error) : BC_OK;
}

bc_status bc_fit_linearize(bc_fit *fit, const bc_fit_point *point, double *J, double *f, bc_error *error)
{
    const bc_family family = {.free = fit->layers, .index = fit->has_index};
    layout at = lay_out(fit, &family);
    gsl_vector_view rest = gsl_vector_view_array(f, at.rows);
    gsl_vector *x = gsl_vector_calloc(at.size + 1);
    gsl_matrix *slopes;
    const bc_status status = jacobian_at(&at, point, &slopes, error);
    if (status == BC_OK && x != NULL) {
        gsl_vector_view view = gsl_vector_subvector(x, 0, at.size == 0 ? 1 : at.size);
        gather(&at, NULL, point, &view.vector);
        residuals(&view.vector, &at, &rest.vector);
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
    layout at = lay_out(fit, &family);
    gsl_matrix *J;
    bc_status status = jacobian_at(&at, point, &J, error);
    if (status == BC_OK) {
        for (size_t i = 0; i < at.size * at.size; i++)
            information[i] = covariance[i] = 0.0;
        sum_products(J, 0, fit->rows, at.size, information);
        sum_products(J, 0, at.rows, at.size, covariance);
        if (at.size > 0)
            status = invert(at.size, covariance, error);
    }
    gsl_matrix_free(J);
    return status;
}

/* sum log of the diagonal of R of J = QR is half of log det(J^T J). */
static bc_status half_log_determinant(layout *at, const gsl_matrix *J, double *half, bc_error *error)
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
    layout at = lay_out(fit, &family);
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
