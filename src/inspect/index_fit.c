/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "index_fit.h"
#include "noise.h"
#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_NOISE  1e-6 /* a fraction: below what any instrument resolves */
#define LEAST_NM     1.0
#define MOST_GRADING 0.5
#define MOST_ROUGH   200.0 /* nm */
#define TOLERANCE    1e-10
#define ORIGIN       1.0 /* GSL's steps are shares of a variable: none of them shall begin at 0 */

/* ---- the data ---- */

static void lay_out(bc_index_data *data, bc_arena *arena)
{
    for (size_t e = 0; e < data->entries; e++) {
        bc_index_entry *entry = &data->entry[e];
        double **const array[] = {&entry->wavelength_nm,
                                  &entry->value,
                                  &entry->noise,
                                  &entry->fitted,
                                  &entry->n0,
                                  &entry->k0,
                                  &entry->ns,
                                  &entry->ks};
        for (size_t a = 0; a < sizeof array / sizeof *array; a++)
            *array[a] = bc_arena_take(arena, entry->count, sizeof(double));
    }
    data->layer_n = bc_arena_take(arena, BC_INDEX_SLICES * data->most_points, sizeof(double));
    data->layer_k = bc_arena_take(arena, BC_INDEX_SLICES * data->most_points, sizeof(double));
    data->shifted_nm = bc_arena_take(arena, data->most_points, sizeof(double));
}

static void list_entries(const bc_layer_index_setup *setup, size_t most, bc_index_data *data)
{
    for (size_t s = 0; s < setup->scans; s++)
        for (bc_quantity quantity = BC_R; quantity <= BC_T; quantity++) {
            const bc_measurement *measurement = setup->scan[s].measurement;
            if ((quantity == BC_R ? measurement->R.value : measurement->T.value) == NULL)
                continue;
            const size_t count = measurement->count < most ? measurement->count : most;
            data->entry[data->entries++] =
                (bc_index_entry){.scan = &setup->scan[s], .which = s, .quantity = quantity, .count = count};
            data->points += count;
            data->most_points = measurement->count > data->most_points ? measurement->count : data->most_points;
        }
}

/* Noise from repeats where there are any, else from the scan's own differences; a value's own uncertainty joins it. */
static void weigh(const bc_measurement *measurement, const bc_measured *measured, double *sigma, double *scratch)
{
    const size_t count = measurement->count;
    bc_noise noise = {BC_NOISE_UNKNOWN, 0.0, INFINITY};
    if (measured->deviation != NULL)
        noise = bc_noise_of_repeats(count, measured->deviation, measurement->repeats, sigma);
    if (noise.source == BC_NOISE_UNKNOWN) {
        const double step = bc_rounding_step(count, measured->value, scratch) / sqrt(12.0);
        noise = bc_noise_of_scan(count, measurement->wavelength_nm, measured->value, scratch);
        for (size_t i = 0; i < count; i++)
            sigma[i] = fmax(noise.rms, step);
    }
    for (size_t i = 0; i < count; i++) {
        const bool has_own = measured->uncertainty != NULL && !isnan(measured->uncertainty[i]);
        sigma[i] = fmax(hypot(sigma[i], has_own ? measured->uncertainty[i] : 0.0), LEAST_NOISE);
    }
}

static bc_status fill(bc_index_data *data, bc_index_entry *entry, bc_error *error)
{
    const bc_measurement *measurement = entry->scan->measurement;
    const bc_measured *measured = entry->quantity == BC_R ? &measurement->R : &measurement->T;
    bc_status status;
    double *sigma = data->layer_n, *scratch = data->layer_k; /* not in use yet */
    weigh(measurement, measured, sigma, scratch);
    for (size_t i = 0; i < entry->count; i++) {
        const size_t from = entry->count == measurement->count
                                ? i
                                : (size_t)((double)i * (double)(measurement->count - 1) / (double)(entry->count - 1));
        entry->wavelength_nm[i] = measurement->wavelength_nm[from];
        entry->value[i] = measured->value[from];
        entry->noise[i] = sigma[from];
    }
    data->range.from_um = fmin(data->range.from_um, entry->wavelength_nm[0] / 1000.0);
    data->range.to_um = fmax(data->range.to_um, entry->wavelength_nm[entry->count - 1] / 1000.0);
    status = bc_dispersion_index(entry->scan->incident.dispersion, entry->count, entry->wavelength_nm, entry->n0,
                                 entry->k0, error);
    if (status == BC_OK)
        status = bc_dispersion_index(entry->scan->substrate.dispersion, entry->count, entry->wavelength_nm, entry->ns,
                                     entry->ks, error);
    return status;
}

bc_status bc_index_data_open(const bc_layer_index_setup *setup, size_t most, bc_index_data *data, bc_error *error)
{
    bc_status status;
    *data = (bc_index_data){.pieces = setup->pieces, .range = {INFINITY, 0.0, 0.0}};
    data->entry = calloc(2 * setup->scans, sizeof *data->entry);
    if (data->entry == NULL)
        return bc_fail_memory(error);
    list_entries(setup, most, data);
    lay_out(data, &data->arena);
    status = bc_arena_open(&data->arena, error);
    if (status == BC_OK)
        lay_out(data, &data->arena);
    for (size_t e = 0; status == BC_OK && e < data->entries; e++)
        status = fill(data, &data->entry[e], error);
    data->range.middle_um = 0.5 * (data->range.from_um + data->range.to_um);
    data->prior[0] = data->prior[1] = setup->uncertainty / setup->coverage_factor;
    data->prior[2] = setup->scale_uncertainty / setup->coverage_factor;
    data->prior[3] = setup->wavelength_uncertainty_nm / setup->coverage_factor;
    if (status != BC_OK)
        bc_index_data_close(data);
    return status;
}

void bc_index_data_close(bc_index_data *data)
{
    free(data->entry);
    free(data->arena.memory);
    *data = (bc_index_data){0};
}

/* ---- the model ---- */

size_t bc_index_fit_variables(const bc_index_data *data, bc_n_model n, bc_k_model k, bc_layer_shape shape)
{
    return data->pieces + bc_n_variables(n) + bc_k_variables(k) + (shape != BC_LAYER_HOMOGENEOUS) + BC_INSTRUMENT;
}

size_t bc_index_n_from(const bc_index_fit *fit)
{
    return fit->pieces;
}

size_t bc_index_shape_from(const bc_index_fit *fit)
{
    return fit->pieces + bc_n_variables(fit->n) + bc_k_variables(fit->k);
}

size_t bc_index_instrument_from(const bc_index_fit *fit)
{
    return fit->variables - BC_INSTRUMENT;
}

/* Half layer, half incident medium: Bruggeman's effective permittivity at equal parts. */
static double half_and_half(double n, double n0)
{
    const double a = n * n, b = n0 * n0, half = 0.25 * (a + b);
    return sqrt(half + sqrt(half * half + 0.5 * a * b));
}

typedef struct slices {
    size_t count;
    double thickness_nm[BC_INDEX_SLICES];
    bc_index index[BC_INDEX_SLICES];
} slices;

/* The layer of one entry from the incident medium to the substrate. */
static void build(const bc_index_data *data, const bc_index_fit *fit, const bc_index_entry *entry, double shift_nm,
                  slices *all)
{
    const double *n_variable = fit->variable + bc_index_n_from(fit), *k_variable = n_variable + bc_n_variables(fit->n);
    const double thickness = fit->variable[entry->scan->piece];
    const double shape = fit->shape == BC_LAYER_HOMOGENEOUS ? 0.0 : fit->variable[bc_index_shape_from(fit)];
    const size_t inner = fit->shape == BC_LAYER_GRADED ? BC_INDEX_SLICES - 1 : 1;
    const size_t sheet = fit->shape == BC_LAYER_ROUGH;
    all->count = inner + sheet;
    for (size_t j = 0; j < all->count; j++) {
        all->thickness_nm[j] = thickness / (double)inner;
        all->index[j] = (bc_index){data->layer_n + j * entry->count, data->layer_k + j * entry->count};
    }
    if (sheet == 1)
        all->thickness_nm[0] = fmin(fabs(shape), MOST_ROUGH);
    for (size_t i = 0; i < entry->count; i++) {
        data->shifted_nm[i] = entry->wavelength_nm[i] + shift_nm;
        const double x = data->shifted_nm[i] / 1000.0;
        const double n = bc_n_at(fit->n, n_variable, &data->range, x);
        const double k = bc_k_at(fit->k, k_variable, &data->range, x);
        for (size_t j = 0; j < all->count; j++) {
            const double up = fit->shape == BC_LAYER_GRADED ? 0.5 - ((double)j + 0.5) / (double)inner : 0.0;
            const bool mixed = sheet == 1 && j == 0;
            data->layer_n[j * entry->count + i] = mixed ? half_and_half(n, entry->n0[i]) : n * (1.0 + shape * up);
            data->layer_k[j * entry->count + i] = mixed ? 0.5 * k : k;
        }
    }
}

static const double *curve_of(bc_surface *surface, bc_part *part, bc_quantity quantity, bc_plane plane)
{
    if (part != NULL)
        return quantity == BC_R ? bc_part_R(part, plane) : bc_part_T(part, plane);
    return quantity == BC_R ? bc_surface_R(surface, plane) : bc_surface_T(surface, plane);
}

static void take_curve(const bc_index_entry *entry, bc_surface *surface, bc_part *part)
{
    const bc_polarization polarization = entry->scan->polarization;
    const double *s = curve_of(surface, part, entry->quantity, BC_S),
                 *p = curve_of(surface, part, entry->quantity, BC_P);
    for (size_t i = 0; i < entry->count; i++)
        entry->fitted[i] = polarization == BC_POL_S ? s[i] : polarization == BC_POL_P ? p[i] : 0.5 * (s[i] + p[i]);
}

static bc_status compute_entry(const bc_index_data *data, const bc_index_fit *fit, const bc_index_entry *entry,
                               double shift_nm, bc_error *error)
{
    slices all;
    unsigned material[BC_INDEX_SLICES];
    bc_surface *surface = NULL;
    bc_part *part = NULL;
    bc_status status;
    build(data, fit, entry, shift_nm, &all);
    for (size_t j = 0; j < all.count; j++)
        material[j] = (unsigned)j;
    bc_surface_setup setup = {.wavelengths = entry->count,
                              .wavelength_nm = data->shifted_nm,
                              .aoi_rad = entry->scan->aoi_rad,
                              .incident = {entry->n0, NULL},
                              .substrate = {entry->ns, entry->ks},
                              .materials = all.count,
                              .material = all.index,
                              .max_layers = all.count,
                              .values_only = true};
    if (entry->scan->back == BC_BACK_NONE) {
        status = bc_surface_alloc(&setup, &surface, error);
        if (status == BC_OK)
            bc_surface_evaluate(surface, all.count, material, all.thickness_nm, BC_WANT_VALUES);
    } else {
        const bc_part_setup whole = {
            .front = setup, .back = entry->scan->back, .substrate_mm = entry->scan->substrate_mm};
        status = bc_part_alloc(&whole, &part, error);
        if (status == BC_OK)
            bc_part_evaluate(part, all.count, material, all.thickness_nm, false);
    }
    if (status == BC_OK)
        take_curve(entry, surface, part);
    bc_surface_free(surface);
    bc_part_free(part);
    return status;
}

/* A variable that ran out of what a layer can be is judged at the bound it passed. */
static void keep_inside(bc_index_fit *fit)
{
    for (size_t p = 0; p < fit->pieces; p++)
        fit->variable[p] = fmax(fit->variable[p], LEAST_NM);
    if (fit->shape == BC_LAYER_GRADED) {
        double *grading = &fit->variable[bc_index_shape_from(fit)];
        *grading = fmin(fmax(*grading, -MOST_GRADING), MOST_GRADING);
    }
}

/* The fitted curves as the instrument shows them. */
static bc_status compute(const bc_index_data *data, bc_index_fit *fit, bc_error *error)
{
    const double *instrument = fit->variable + bc_index_instrument_from(fit);
    bc_status status = BC_OK;
    keep_inside(fit);
    for (size_t e = 0; status == BC_OK && e < data->entries; e++) {
        const bc_index_entry *entry = &data->entry[e];
        const bool of_R = entry->quantity == BC_R;
        status = compute_entry(data, fit, entry, instrument[3], error);
        for (size_t i = 0; status == BC_OK && i < entry->count; i++)
            entry->fitted[i] = entry->fitted[i] * (of_R ? 1.0 + instrument[2] : 1.0) + instrument[of_R ? 0 : 1];
    }
    return status;
}

bc_status bc_index_evaluate(const bc_index_data *data, bc_index_fit *fit, bc_error *error)
{
    const double *instrument = fit->variable + bc_index_instrument_from(fit);
    bc_status status = compute(data, fit, error);
    fit->chi2 = 0.0;
    for (size_t e = 0; status == BC_OK && e < data->entries; e++)
        for (size_t i = 0; i < data->entry[e].count; i++) {
            const bc_index_entry *entry = &data->entry[e];
            const double off = (entry->value[i] - entry->fitted[i]) / entry->noise[i];
            fit->chi2 += off * off;
        }
    for (size_t p = 0; p < BC_INSTRUMENT; p++)
        if (data->prior[p] > 0.0)
            fit->chi2 += instrument[p] * instrument[p] / (data->prior[p] * data->prior[p]);
    return status;
}

/* ---- the descent: variables are scaled to be of the order of one ---- */

typedef struct descent {
    const bc_index_data *data;
    bc_index_fit *fit;
    double *unit; /* [variables]; 0: held */
    bc_status status;
    bc_error *error;
} descent;

static void set_units(const descent *d)
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

static void spread(const descent *d, const gsl_vector *x)
{
    size_t next = 0;
    for (size_t v = 0; v < d->fit->variables; v++)
        if (d->unit[v] > 0.0)
            d->fit->variable[v] = d->unit[v] * (gsl_vector_get(x, next++) - ORIGIN);
}

static int residuals(const gsl_vector *x, void *context, gsl_vector *f)
{
    descent *d = context;
    const double *instrument = d->fit->variable + bc_index_instrument_from(d->fit);
    size_t row = 0;
    spread(d, x);
    d->status = compute(d->data, d->fit, d->error);
    if (d->status != BC_OK)
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

static bc_status run(descent *d, gsl_vector *x, size_t rows, size_t steps, bc_error *error)
{
    gsl_multifit_nlinear_parameters parameters = gsl_multifit_nlinear_default_parameters();
    gsl_multifit_nlinear_fdf problem = {.f = residuals, .n = rows, .p = x->size, .params = d};
    gsl_multifit_nlinear_workspace *workspace;
    gsl_matrix *matrix = NULL;
    int info;
    bc_status status = BC_OK;
    parameters.fdtype = GSL_MULTIFIT_NLINEAR_FWDIFF;
    parameters.scale = gsl_multifit_nlinear_scale_levenberg; /* the variables are scaled already */
    parameters.h_df = 1e-6;
    workspace = gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &parameters, rows, x->size);
    if (workspace == NULL)
        return bc_fail_memory(error);
    gsl_multifit_nlinear_init(x, &problem, workspace);
    if (d->status == BC_OK)
        gsl_multifit_nlinear_driver(steps, TOLERANCE, TOLERANCE, TOLERANCE, NULL, NULL, &info, workspace);
    status = d->status;
    if (status == BC_OK)
        spread(d, gsl_multifit_nlinear_position(workspace));
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
    double unit[64];
    descent d = {.data = data, .fit = fit, .unit = unit, .error = error};
    gsl_vector *x;
    size_t rows = data->points, next = 0;
    bc_status status;
    if (fit->variables > sizeof unit / sizeof *unit)
        return bc_fail(error, BC_ERROR_INPUT, "%zu pieces; expected at most %zu", fit->pieces,
                       sizeof unit / sizeof *unit - BC_INDEX_VARIABLES);
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
        if (unit[v] > 0.0)
            gsl_vector_set(x, next++, fit->variable[v] / unit[v] + ORIGIN);
        else
            fit->variable[v] = 0.0;
    status = run(&d, x, rows, steps, error);
    gsl_vector_free(x);
    return status == BC_OK ? bc_index_evaluate(data, fit, error) : status;
}
