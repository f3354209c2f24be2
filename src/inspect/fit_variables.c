/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fit_variables.h"
#include <gsl/gsl_errno.h>
#include <math.h>

/* What layers have in common is a prior of theirs: a family with a map has none. */
static bool is_fitted(const bc_fit *fit, const bc_family *family, size_t s)
{
    return fit->has[s] && (family->map == NULL || (s != BC_SHARED_RUN && s != BC_SHARED_COMMON));
}

bc_fit_layout bc_fit_lay_out(bc_fit *fit, const bc_family *family)
{
    bc_fit_layout at = {.fit = fit, .family = family};
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

static bool has(const bc_fit_layout *at, size_t s)
{
    return at->shared[s + 1] > at->shared[s];
}

static double shared_at(const bc_fit_layout *at, const gsl_vector *x, size_t s)
{
    return has(at, s) ? gsl_vector_get(x, at->shared[s]) : 0.0;
}

/* Thicknesses are folded at 0, so that every vector is a stack. */
static void set_point(const bc_fit_layout *at, const gsl_vector *x, bc_fit_point *point)
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
static double layer_residual(const bc_fit_layout *at, const bc_fit_point *point, size_t v)
{
    const bc_fit *fit = at->fit;
    if (at->family->map != NULL)
        return 0.0;
    return (point->thickness_nm[v] - fit->prior_nm[v] - fit->prior_bias[0][v] * point->shared[BC_SHARED_RUN] -
            fit->prior_bias[1][v] * point->shared[BC_SHARED_COMMON]) /
           fit->prior_sigma[v];
}

/* One row for every variable: its prior, or nothing. What is shared is normal already. */
static void prior_residuals(const bc_fit_layout *at, const gsl_vector *x, const bc_fit_point *point, gsl_vector *f)
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

int bc_fit_residuals(const gsl_vector *x, void *context, gsl_vector *f)
{
    const bc_fit_layout *at = context;
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
static double slope_of(const bc_fit_layout *at, size_t v, size_t row)
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

static void prior_slopes(const bc_fit_layout *at, gsl_matrix *J)
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

int bc_fit_jacobian(const gsl_vector *x, void *context, gsl_matrix *J)
{
    const bc_fit_layout *at = context;
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

void bc_fit_gather(const bc_fit_layout *at, const double *theta, const bc_fit_point *point, gsl_vector *x)
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

void bc_fit_scatter(const bc_fit_layout *at, const gsl_vector *x, const gsl_vector *f, double *theta,
                    bc_fit_point *point)
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
