/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "index_fit.h"
#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_NM       1.0
#define MOST_VARIABLES 64
#define MODEL_STEP     1e-6
#define TOLERANCE      1e-8
#define IDLE_STEPS     3 /* in a row with a gain of less than this and this share of the sum of squares */
#define IDLE_GAIN      1e-3
#define IDLE_SHARE     1e-5
#define ORIGIN         1.0 /* GSL's steps are shares of a variable: none of them shall begin at 0 */

bc_status bc_index_fit_alloc(const bc_index_data *data, bc_index_fit *fit, bc_error *error)
{
    const size_t most = data->pieces + BC_INDEX_VARIABLES;
    *fit = (bc_index_fit){.pieces = data->pieces, .chi2 = INFINITY};
    fit->variable = calloc(most, sizeof *fit->variable);
    fit->covariance = calloc(most * most, sizeof *fit->covariance);
    return fit->variable == NULL || fit->covariance == NULL ? bc_fail_memory(error) : BC_OK;
}

void bc_index_fit_free(bc_index_fit *fit)
{
    free(fit->variable);
    free(fit->covariance);
}

void bc_index_fit_copy(const bc_index_data *data, const bc_index_fit *from, bc_index_fit *to)
{
    const size_t most = data->pieces + BC_INDEX_VARIABLES;
    double *variable = to->variable, *covariance = to->covariance;
    memcpy(variable, from->variable, most * sizeof *variable);
    memcpy(covariance, from->covariance, most * most * sizeof *covariance);
    *to = *from;
    to->variable = variable;
    to->covariance = covariance;
}

/* The variables are scaled to be of the order of one. */
typedef struct descent {
    const bc_index_data *data;
    bc_index_fit *fit;
    double unit[MOST_VARIABLES]; /* 0: held */
    double at[MOST_VARIABLES];   /* the variables that the entries' curves are of; at[0] NAN: of none */
    bc_status status;
    bc_error *error;
} descent;

static void set_units(descent *d)
{
    const bc_index_fit *fit = d->fit;
    for (size_t v = 0; v < fit->variables; v++)
        d->unit[v] = 1.0;
    for (size_t p = 0; p < fit->pieces; p++)
        d->unit[p] = fmax(fit->variable[p], LEAST_NM);
    if (fit->shape == BC_LAYER_GRADED)
        d->unit[bc_index_shape_from(fit)] = 0.05;
    if (fit->shape == BC_LAYER_ROUGH)
        d->unit[bc_index_shape_from(fit)] = 5.0;
    if (fit->n == BC_N_CAUCHY_2 || fit->n == BC_N_CAUCHY_3)
        d->unit[fit->pieces + 1] = 0.01;
    if (fit->n == BC_N_CAUCHY_3)
        d->unit[fit->pieces + 2] = 0.001;
    for (size_t i = 0; i < BC_INSTRUMENT; i++)
        d->unit[bc_index_instrument_from(fit) + i] = fit->rough ? 0.0 : d->data->prior[i];
}

static size_t free_variables(const descent *d)
{
    size_t count = 0;
    for (size_t v = 0; v < d->fit->variables; v++)
        count += d->unit[v] > 0.0;
    return count;
}

/* The curves at x, unless they are of x already. */
static bc_status move_to(descent *d, const gsl_vector *x)
{
    bc_index_fit *fit = d->fit;
    size_t next = 0;
    bool there = true;
    for (size_t v = 0; v < fit->variables; v++) {
        const double value = d->unit[v] > 0.0 ? d->unit[v] * (gsl_vector_get(x, next++) - ORIGIN) : 0.0;
        there = there && value == d->at[v];
        fit->variable[v] = d->at[v] = value;
    }
    if (!there)
        d->status = bc_index_compute(d->data, fit, d->error);
    return d->status;
}

static int residuals(const gsl_vector *x, void *context, gsl_vector *f)
{
    descent *d = context;
    const double *instrument = d->fit->variable + bc_index_instrument_from(d->fit);
    size_t row = 0;
    if (move_to(d, x) != BC_OK)
        return GSL_EFAILED;
    for (size_t e = 0; e < d->data->entries; e++)
        for (size_t i = 0; i < d->data->entry[e].count; i++, row++) {
            const bc_index_entry *entry = &d->data->entry[e];
            gsl_vector_set(f, row, (entry->fitted[i] - entry->value[i]) / entry->noise[i]);
        }
    for (size_t p = 0; p < BC_INSTRUMENT; p++)
        if (d->data->prior[p] > 0.0)
            gsl_vector_set(f, row++, instrument[p] / d->data->prior[p]);
    return GSL_SUCCESS;
}

/* d index / d variable of n (or k) into `slope`: the models are cheap beside the curves. */
static void index_slope(const descent *d, size_t v, size_t count, double *slope)
{
    const bc_index_data *data = d->data;
    const bc_index_fit *fit = d->fit;
    const size_t from = bc_index_n_from(fit);
    double *n = fit->variable + from, *k = n + bc_n_variables(fit->n);
    const bool of_n = v < from + bc_n_variables(fit->n);
    const double kept = fit->variable[v], step = MODEL_STEP * d->unit[v];
    double *const side[] = {data->k, slope};
    for (int up = 0; up < 2; up++) {
        fit->variable[v] = kept + (up == 1 ? step : -step);
        if (of_n)
            bc_n_curve(fit->n, n, &data->range, count, data->shifted_um, side[up]);
        else
            bc_k_curve(fit->k, k, &data->range, count, data->shifted_um, side[up]);
    }
    fit->variable[v] = kept;
    for (size_t i = 0; i < count; i++)
        slope[i] = (slope[i] - data->k[i]) / (2.0 * step);
}

/* d curve / d wavelength: that of the dispersion, and all phases go as thickness / wavelength. */
static void shift_slope(const descent *d, const bc_index_entry *entry, double *slope)
{
    const bc_index_data *data = d->data;
    const bc_index_fit *fit = d->fit;
    const double *n = fit->variable + bc_index_n_from(fit), *k = n + bc_n_variables(fit->n);
    const double thickness = fit->variable[entry->scan->piece];
    for (size_t i = 0; i < entry->count; i++) {
        const double x = data->shifted_um[i], step = MODEL_STEP * x;
        const double dn = bc_n_at(fit->n, n, &data->range, x + step) - bc_n_at(fit->n, n, &data->range, x - step);
        const double dk = bc_k_at(fit->k, k, &data->range, x + step) - bc_k_at(fit->k, k, &data->range, x - step);
        slope[i] = entry->by_n[i] * dn / (2000.0 * step) - thickness * entry->by_thickness[i] / (1000.0 * x);
        if (fit->k != BC_K_NONE)
            slope[i] += entry->by_k[i] * dk / (2000.0 * step);
        if (fit->shape == BC_LAYER_ROUGH)
            slope[i] -= fit->variable[bc_index_shape_from(fit)] * entry->by_shape[i] / (1000.0 * x);
    }
}

/* d curve (as the instrument shows it) / d variable v of one entry, into `slope`. */
static void entry_slope(const descent *d, const bc_index_entry *entry, size_t v, double *slope)
{
    const bc_index_fit *fit = d->fit;
    const size_t n_from = bc_index_n_from(fit), k_from = n_from + bc_n_variables(fit->n);
    const size_t shape_at = bc_index_shape_from(fit), instrument_at = bc_index_instrument_from(fit);
    const bool of_R = entry->quantity == BC_R;
    const double scale = of_R ? 1.0 + fit->variable[instrument_at + 2] : 1.0;
    for (size_t i = 0; i < entry->count; i++)
        slope[i] = 0.0;
    if (v >= n_from && v < shape_at) {
        const double *by_index = v < k_from ? entry->by_n : entry->by_k;
        index_slope(d, v, entry->count, slope);
        for (size_t i = 0; i < entry->count; i++)
            slope[i] *= scale * by_index[i];
    } else if (v == instrument_at + 3) {
        shift_slope(d, entry, slope);
        for (size_t i = 0; i < entry->count; i++)
            slope[i] *= scale;
    } else if (v >= instrument_at) {
        const bool adds = v == instrument_at + (of_R ? 0 : 1), scales = of_R && v == instrument_at + 2;
        for (size_t i = 0; i < entry->count; i++)
            slope[i] = adds ? 1.0 : scales ? entry->curve[i] : 0.0;
    } else if (v >= shape_at || v == entry->scan->piece) {
        const double *by = v >= shape_at ? entry->by_shape : entry->by_thickness;
        for (size_t i = 0; i < entry->count; i++)
            slope[i] = scale * by[i];
    }
}

/* By the chain rule: at each wavelength the curve depends on n, k, thickness and shape alone, whatever their variables
 * are. */
static int jacobian(const gsl_vector *x, void *context, gsl_matrix *J)
{
    descent *d = context;
    size_t row = 0;
    if (move_to(d, x) != BC_OK)
        return GSL_EFAILED;
    gsl_matrix_set_zero(J);
    for (size_t e = 0; e < d->data->entries; e++) {
        bc_index_entry *entry = &d->data->entry[e];
        d->status = bc_index_look_around(d->data, d->fit, entry, d->error);
        if (d->status != BC_OK)
            return GSL_EFAILED;
        for (size_t v = 0, column = 0; v < d->fit->variables; v++) {
            if (!(d->unit[v] > 0.0))
                continue;
            entry_slope(d, entry, v, d->data->n);
            for (size_t i = 0; i < entry->count; i++)
                gsl_matrix_set(J, row + i, column, d->unit[v] * d->data->n[i] / entry->noise[i]);
            column++;
        }
        row += entry->count;
    }
    for (size_t p = 0; p < BC_INSTRUMENT; p++) {
        const size_t at = bc_index_instrument_from(d->fit) + p;
        size_t column = 0;
        if (!(d->data->prior[p] > 0.0))
            continue;
        for (size_t v = 0; v < at; v++)
            column += d->unit[v] > 0.0;
        if (d->unit[at] > 0.0)
            gsl_matrix_set(J, row, column, d->unit[at] / d->data->prior[p]);
        row++;
    }
    return GSL_SUCCESS;
}

/* The covariance in the variables' own units; those that were held have none. False: undetermined. */
static bool take_covariance(const descent *d, gsl_multifit_nlinear_workspace *workspace, gsl_matrix *matrix)
{
    const size_t all = d->fit->variables;
    size_t row = 0;
    gsl_blas_dgemm(CblasTrans, CblasNoTrans, 1.0, gsl_multifit_nlinear_jac(workspace),
                   gsl_multifit_nlinear_jac(workspace), 0.0, matrix);
    if (gsl_linalg_cholesky_decomp1(matrix) != GSL_SUCCESS || gsl_linalg_cholesky_invert(matrix) != GSL_SUCCESS)
        return false;
    memset(d->fit->covariance, 0, all * all * sizeof(double));
    for (size_t v = 0; v < all; v++) {
        size_t column = 0;
        if (!(d->unit[v] > 0.0))
            continue;
        for (size_t w = 0; w < all; w++)
            if (d->unit[w] > 0.0)
                d->fit->covariance[v * all + w] = gsl_matrix_get(matrix, row, column++) * d->unit[v] * d->unit[w];
        row++;
    }
    return true;
}

static double sum_of_squares(const gsl_multifit_nlinear_workspace *workspace)
{
    const double root = gsl_blas_dnrm2(gsl_multifit_nlinear_residual(workspace));
    return root * root;
}

/* Down until nothing more is gained that a comparison of models would see. An index that the scan does not determine
 * (k of a clear layer) would go on for ever with less and less. */
static void iterate(descent *d, size_t steps, gsl_multifit_nlinear_workspace *workspace)
{
    double before = sum_of_squares(workspace);
    int idle = 0, info;
    for (size_t step = 0; d->status == BC_OK && step < steps && idle < IDLE_STEPS; step++) {
        if (gsl_multifit_nlinear_iterate(workspace) != GSL_SUCCESS ||
            gsl_multifit_nlinear_test(TOLERANCE, TOLERANCE, TOLERANCE, &info, workspace) == GSL_SUCCESS)
            return;
        const double now = sum_of_squares(workspace);
        idle = before - now > IDLE_GAIN + IDLE_SHARE * now ? 0 : idle + 1;
        before = now;
    }
}

static bc_status run(descent *d, gsl_vector *x, size_t rows, size_t steps, bc_error *error)
{
    gsl_multifit_nlinear_parameters parameters = gsl_multifit_nlinear_default_parameters();
    gsl_multifit_nlinear_fdf problem = {.f = residuals, .df = jacobian, .n = rows, .p = x->size, .params = d};
    gsl_multifit_nlinear_workspace *workspace;
    gsl_matrix *matrix = NULL;
    bc_status status = BC_OK;
    parameters.scale = gsl_multifit_nlinear_scale_levenberg; /* the variables are scaled already */
    workspace = gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &parameters, rows, x->size);
    if (workspace == NULL)
        return bc_fail_memory(error);
    gsl_multifit_nlinear_init(x, &problem, workspace);
    iterate(d, steps, workspace);
    status = d->status;
    if (status == BC_OK)
        status = move_to(d, gsl_multifit_nlinear_position(workspace));
    if (status == BC_OK && d->fit->covariance != NULL) {
        matrix = gsl_matrix_alloc(x->size, x->size);
        if (matrix == NULL)
            status = bc_fail_memory(error);
        else if (!take_covariance(d, workspace, matrix))
            d->fit->covariance[0] = NAN;
        gsl_matrix_free(matrix);
    }
    gsl_multifit_nlinear_free(workspace);
    return status;
}

bc_status bc_index_descend(const bc_index_data *data, bc_index_fit *fit, size_t steps, bc_error *error)
{
    descent d = {.data = data, .fit = fit, .at = {NAN}, .error = error};
    gsl_vector *x;
    size_t rows = data->points, next = 0;
    bc_status status;
    if (fit->variables > MOST_VARIABLES)
        return bc_fail(error, BC_ERROR_INPUT, "%zu pieces; expected at most %zu", fit->pieces,
                       (size_t)(MOST_VARIABLES - BC_INDEX_VARIABLES));
    set_units(&d);
    for (size_t p = 0; p < BC_INSTRUMENT; p++)
        rows += data->prior[p] > 0.0;
    fit->chi2 = INFINITY;
    if (rows <= free_variables(&d))
        return BC_OK;
    gsl_set_error_handler_off();
    x = gsl_vector_alloc(free_variables(&d));
    if (x == NULL)
        return bc_fail_memory(error);
    for (size_t v = 0; v < fit->variables; v++)
        if (d.unit[v] > 0.0)
            gsl_vector_set(x, next++, fit->variable[v] / d.unit[v] + ORIGIN);
        else
            fit->variable[v] = 0.0;
    status = run(&d, x, rows, steps, error);
    gsl_vector_free(x);
    return status == BC_OK ? bc_index_evaluate(data, fit, error) : status;
}
