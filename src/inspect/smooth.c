/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "smooth.h"
#include "residue.h"
#include <bloomcoat/sampling.h>
#include <gsl/gsl_blas.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LENGTHS_IN_FRINGE 6.0
#define BEYOND            2.0  /* lengths by which the sines reach beyond the scan, */
#define SINES_IN_LENGTH   1.75 /* and how many it takes (Riutort-Mayol and others, Stat. Comput. 33, 17 (2023)) */
#define MOST_SINES        100
#define STEPS             30
#define TAUS              9
#define MOST_TAU          3.0
#define LEAST_FREEDOM     20.0
#define LEAST_CHI         0.5 /* of a noise that was taken too large */

/* The linear problem: unknowns are those of the fit and the coefficients of the sines, whose prior is 1. */
typedef struct linear {
    const bc_inspection *inspection;
    bc_smooth *smooth;
    bc_fit fit;
    bc_fit_point point;
    size_t fitted, sines, size, rows; /* unknowns of the fit, sines of one reading, all; rows of data and priors */
    double *J, *f;
    gsl_matrix *G, *A; /* A: its Cholesky factor, of unit diagonal by `scale` */
    gsl_vector *b, *z, *scale;
    gsl_matrix *A0;
    gsl_vector *b0;
} linear;

static void close_linear(linear *l)
{
    bc_fit_close(&l->fit);
    free(l->point.thickness_nm);
    free(l->J);
    gsl_matrix_free(l->G);
    gsl_matrix_free(l->A);
    gsl_matrix_free(l->A0);
    gsl_vector_free(l->b);
    gsl_vector_free(l->b0);
    gsl_vector_free(l->z);
    gsl_vector_free(l->scale);
}

/* The layers again, under priors that bear on nothing. */
static bc_status fit_weakly(linear *l, bc_error *error)
{
    const bc_fit_setup setup = bc_fit_setup_of(l->inspection);
    const bc_fit_point *from = &l->inspection->solution.point;
    bc_status status = bc_fit_open(&setup, &l->fit, error);
    if (status != BC_OK)
        return status;
    l->point.thickness_nm = calloc(l->fit.layers + l->fit.materials + 1, sizeof(double));
    if (l->point.thickness_nm == NULL)
        return bc_fail_memory(error);
    l->point.dn = l->point.thickness_nm + l->fit.layers;
    memcpy(l->point.thickness_nm, from->thickness_nm, l->fit.layers * sizeof(double));
    memcpy(l->point.dn, l->inspection->dn, l->fit.materials * sizeof(double));
    const bc_family family = {.free = l->fit.layers, .index = l->fit.has_index};
    return bc_fit_minimize(&l->fit, &family, NULL, NULL, STEPS, &l->point, error);
}

/* In 1 / wavelength: the middle of the scan, how far the sines reach, and the length of correlation. */
typedef struct domain {
    double middle, reach, length;
} domain;

static bc_status find_domain(const linear *l, domain *d, size_t *sines, bc_error *error)
{
    const bc_readings *readings = &l->inspection->readings;
    const double first = 1.0 / readings->wavelength_nm[readings->first];
    const double last = 1.0 / readings->wavelength_nm[readings->first + readings->inside - 1];
    const double half = 0.5 * (first - last);
    double optical_nm;
    const bc_status status = bc_optical_thickness(l->inspection->setup->design, 1.0 / first, &optical_nm, error);
    d->middle = 0.5 * (first + last);
    d->length = fmin(half, 1.0 / (2.0 * optical_nm * LENGTHS_IN_FRINGE));
    d->reach = half + BEYOND * d->length;
    *sines = (size_t)fmin(ceil(SINES_IN_LENGTH * d->reach / d->length), MOST_SINES + 1.0);
    return status;
}

static void add_sines(linear *l, const domain *d)
{
    const bc_readings *readings = &l->inspection->readings;
    for (size_t r = 0; r < l->fit.setup.readings; r++)
        for (size_t k = 0; k < l->sines; k++) {
            const double omega = M_PI * (double)(k + 1) / (2.0 * d->reach);
            const double density = sqrt(2.0 * M_PI) * d->length * exp(-0.5 * d->length * d->length * omega * omega);
            const double width = l->fit.setup.reading[r]->summary.rms * sqrt(density / d->reach);
            for (size_t i = 0; i < readings->inside; i++) {
                const double x = 1.0 / readings->wavelength_nm[readings->first + i] - d->middle + d->reach;
                gsl_matrix_set(l->G, r * readings->inside + i, l->fitted + r * l->sines + k,
                               width * sin(omega * x) / bc_fit_noise(&l->fit, r, i));
            }
        }
}

static bc_status set_linear(linear *l, bc_error *error)
{
    domain d;
    bc_status status = find_domain(l, &d, &l->sines, error);
    if (status != BC_OK || l->sines > MOST_SINES) {
        l->smooth->why = BC_POINTS_FRINGES;
        return status;
    }
    l->fitted = bc_fit_size(&l->fit);
    l->size = l->fitted + l->fit.setup.readings * l->sines;
    l->rows = l->fit.rows + l->fitted;
    l->J = calloc(l->rows * (l->fitted + 1), sizeof(double));
    l->G = gsl_matrix_calloc(l->rows, l->size);
    l->A = gsl_matrix_calloc(l->size, l->size);
    l->A0 = gsl_matrix_calloc(l->size, l->size);
    l->b = gsl_vector_calloc(l->size);
    l->b0 = gsl_vector_calloc(l->size);
    l->z = gsl_vector_calloc(l->size);
    l->scale = gsl_vector_calloc(l->size);
    if (l->J == NULL || l->G == NULL || l->A == NULL || l->A0 == NULL || l->b == NULL || l->b0 == NULL ||
        l->z == NULL || l->scale == NULL)
        return bc_fail_memory(error);
    l->f = l->J + l->rows * l->fitted;
    status = bc_fit_linearize(&l->fit, &l->point, l->J, l->f, error);
    if (l->fitted > 0) {
        gsl_matrix_const_view J = gsl_matrix_const_view_array(l->J, l->rows, l->fitted);
        gsl_matrix_view of_fit = gsl_matrix_submatrix(l->G, 0, 0, l->rows, l->fitted);
        gsl_matrix_memcpy(&of_fit.matrix, &J.matrix);
    }
    add_sines(l, &d);
    gsl_vector_const_view f = gsl_vector_const_view_array(l->f, l->rows);
    gsl_blas_dsyrk(CblasLower, CblasTrans, 1.0, l->G, 0.0, l->A0);
    gsl_blas_dgemv(CblasTrans, -1.0, l->G, &f.vector, 0.0, l->b0);
    return status;
}

/* The solution with sines of that size, and the logarithm of its marginal likelihood but for a constant. */
static bool solve(linear *l, double tau, double *evidence)
{
    double quadratic, half = 0.0;
    for (size_t i = 0; i < l->size; i++) {
        const double of_i = i < l->fitted ? 1.0 : tau;
        for (size_t k = 0; k <= i; k++) {
            const double of_k = k < l->fitted ? 1.0 : tau;
            const double value = of_i * of_k * gsl_matrix_get(l->A0, i, k) + (i == k && i >= l->fitted ? 1.0 : 0.0);
            gsl_matrix_set(l->A, i, k, value);
            gsl_matrix_set(l->A, k, i, value);
        }
        gsl_vector_set(l->b, i, of_i * gsl_vector_get(l->b0, i));
    }
    if (gsl_linalg_cholesky_decomp2(l->A, l->scale) != GSL_SUCCESS ||
        gsl_linalg_cholesky_solve2(l->A, l->scale, l->b, l->z) != GSL_SUCCESS)
        return false;
    gsl_blas_ddot(l->b, l->z, &quadratic);
    for (size_t i = 0; i < l->size; i++)
        half += log(gsl_matrix_get(l->A, i, i)) - log(gsl_vector_get(l->scale, i));
    *evidence = 0.5 * quadratic - half;
    return isfinite(*evidence);
}

static bool find_tau(linear *l, double *tau)
{
    static const double tried[TAUS] = {0.0, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2, 6.4, 12.8};
    double evidence[TAUS], best = -INFINITY, sum = 0.0, square = 0.0;
    for (size_t t = 0; t < TAUS; t++) {
        if (!solve(l, tried[t], &evidence[t]))
            return false;
        best = fmax(best, evidence[t]);
    }
    for (size_t t = 0; t < TAUS; t++) {
        sum += exp(evidence[t] - best);
        square += exp(evidence[t] - best) * tried[t] * tried[t];
    }
    *tau = sqrt(square / sum);
    return true;
}

/* The curve and the root of its covariance at one point: with A = S^-1 L L^T S^-1, the row is (L^-1 S g)^T. */
static void set_curve_at(linear *l, size_t r, size_t i)
{
    bc_smooth *smooth = l->smooth;
    const size_t row = r * smooth->count + i, q = l->fit.setup.reading[r]->quantity == BC_T ? 1 : 0;
    const double noise = bc_fit_noise(&l->fit, r, i);
    const bc_reading *reading = l->fit.setup.reading[r];
    gsl_vector_view root = gsl_vector_view_array(smooth->root[q] + i * smooth->size, smooth->size);
    double away = l->f[row];
    for (size_t v = 0; v < l->size; v++) {
        const double slope = gsl_matrix_get(l->G, row, v) * (v < l->fitted ? 1.0 : smooth->tau);
        away += slope * gsl_vector_get(l->z, v);
        gsl_vector_set(&root.vector, v, slope * gsl_vector_get(l->scale, v));
    }
    gsl_blas_dtrsv(CblasLower, CblasNoTrans, CblasNonUnit, l->A, &root.vector);
    gsl_vector_scale(&root.vector, noise);
    smooth->value[q][i] = reading->value[l->fit.setup.first + i] + noise * away;
}

static void lay_out(const linear *l, bc_smooth *smooth, bc_arena *arena)
{
    for (size_t r = 0; r < l->fit.setup.readings; r++) {
        const size_t q = l->fit.setup.reading[r]->quantity == BC_T ? 1 : 0;
        smooth->value[q] = bc_arena_take(arena, smooth->count, sizeof(double));
        smooth->root[q] = bc_arena_take(arena, smooth->count, smooth->size * sizeof(double));
    }
}

/* What is left in units of the noise, and its freedom; the roots then get the noise that the rest shows. */
static bc_status look_at_rest(linear *l, bc_error *error)
{
    bc_smooth *smooth = l->smooth;
    double square = 0.0, used = 0.0, spent = 0.0, in_one = 1.0, *rest = calloc(smooth->count, sizeof *rest);
    if (rest == NULL)
        return bc_fail_memory(error);
    for (size_t r = 0; r < l->fit.setup.readings; r++) {
        const bc_reading *reading = l->fit.setup.reading[r];
        size_t kept = 0;
        for (size_t i = 0; i < smooth->count; i++) {
            const double noise = bc_fit_noise(&l->fit, r, i);
            if (reading->outlier[l->fit.setup.first + i])
                continue;
            rest[kept++] =
                (reading->value[l->fit.setup.first + i] - smooth->value[reading->quantity == BC_T ? 1 : 0][i]) / noise;
            square += rest[kept - 1] * rest[kept - 1];
            spent += pow(bc_smooth_sigma(smooth, reading->quantity, i) / noise, 2.0);
        }
        used += (double)kept;
        in_one = fmax(in_one, bc_residue_points_in_one(kept, rest));
        if (smooth->why == BC_POINTS_NOT && !bc_residue_is_noise(kept, rest))
            smooth->why = BC_POINTS_NOT_NOISE;
    }
    free(rest);
    smooth->freedom = used - spent;
    if (smooth->freedom < LEAST_FREEDOM) {
        smooth->why = BC_POINTS_FEW;
        return BC_OK;
    }
    const double chi = sqrt(fmax(LEAST_CHI, in_one * square / smooth->freedom));
    for (size_t r = 0; r < l->fit.setup.readings; r++) {
        double *root = smooth->root[l->fit.setup.reading[r]->quantity == BC_T ? 1 : 0];
        for (size_t i = 0; i < smooth->count * smooth->size; i++)
            root[i] *= chi;
    }
    return BC_OK;
}

static bc_status find_curve(linear *l, bc_error *error)
{
    bc_smooth *smooth = l->smooth;
    double evidence;
    bc_status status;
    if (!find_tau(l, &smooth->tau) || !solve(l, smooth->tau, &evidence) || smooth->tau > MOST_TAU) {
        smooth->why = BC_POINTS_NOT_NOISE;
        return BC_OK;
    }
    smooth->size = l->size;
    lay_out(l, smooth, &smooth->arena);
    status = bc_arena_open(&smooth->arena, error);
    if (status != BC_OK)
        return status;
    lay_out(l, smooth, &smooth->arena);
    for (size_t r = 0; r < l->fit.setup.readings; r++)
        for (size_t i = 0; i < smooth->count; i++)
            set_curve_at(l, r, i);
    return look_at_rest(l, error);
}

static bc_points_reason may_not(const bc_inspection *inspection)
{
    const bc_reading *const reading[] = {&inspection->readings.R, &inspection->readings.T};
    if (!inspection->result->good_fit)
        return BC_POINTS_NO_FIT;
    if (inspection->result->absorption.shape != BC_ABSORPTION_NONE)
        return BC_POINTS_LOSS;
    for (size_t q = 0; q < 2; q++)
        if (reading[q]->measured &&
            (reading[q]->summary.source == BC_NOISE_UNKNOWN || !(reading[q]->summary.rms >= BC_LEAST_NOISE)))
            return BC_POINTS_NO_NOISE;
    return BC_POINTS_NOT;
}

bc_status bc_smooth_open(const bc_inspection *inspection, bc_smooth *smooth, bc_error *error)
{
    linear l = {.inspection = inspection, .smooth = smooth};
    bc_status status;
    memset(smooth, 0, sizeof *smooth);
    smooth->why = may_not(inspection);
    smooth->count = inspection->readings.inside;
    if (smooth->why != BC_POINTS_NOT)
        return BC_OK;
    gsl_set_error_handler_off();
    status = fit_weakly(&l, error);
    if (status == BC_OK)
        status = set_linear(&l, error);
    if (status == BC_OK && smooth->why == BC_POINTS_NOT)
        status = find_curve(&l, error);
    close_linear(&l);
    return status;
}

void bc_smooth_close(bc_smooth *smooth)
{
    free(smooth->arena.memory);
    memset(smooth, 0, sizeof *smooth);
}

double bc_smooth_sigma(const bc_smooth *smooth, bc_quantity quantity, size_t i)
{
    const double *root = smooth->root[quantity == BC_T ? 1 : 0] + i * smooth->size;
    double square = 0.0;
    for (size_t v = 0; v < smooth->size; v++)
        square += root[v] * root[v];
    return sqrt(square);
}

void bc_smooth_draw(const bc_smooth *smooth, bc_quantity quantity, const double *normal, double scale, double *off)
{
    gsl_matrix_const_view root =
        gsl_matrix_const_view_array(smooth->root[quantity == BC_T ? 1 : 0], smooth->count, smooth->size);
    gsl_vector_const_view z = gsl_vector_const_view_array(normal, smooth->size);
    gsl_vector_view out = gsl_vector_view_array(off, smooth->count);
    gsl_blas_dgemv(CblasNoTrans, scale, &root.matrix, &z.vector, 0.0, &out.vector);
}
