/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "index_fit.h"
#include <math.h>

#define LEAST_NM     1.0
#define MOST_GRADING 0.5
#define MOST_ROUGH   200.0 /* nm */
#define DIFFERENCE   1e-6  /* of n and k, a share of a thickness */

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

/* Half layer, half incident medium: Bruggeman's effective permittivity e at equal parts, 4 e^2 = (a + b) e + 2 a b. */
static double half_and_half(double n, double n0)
{
    const double a = n * n, b = n0 * n0, half = 0.125 * (a + b);
    return sqrt(half + sqrt(half * half + 0.5 * a * b));
}

typedef struct slices {
    size_t count;
    unsigned material[BC_INDEX_SLICES];
    double thickness_nm[BC_INDEX_SLICES];
    bc_index index[BC_INDEX_SLICES];
} slices;

/* The layer of one entry from the incident medium to the substrate, with n and k as they are in data->n and data->k. */
static void build(const bc_index_data *data, const bc_index_fit *fit, const bc_index_entry *entry, double thickness_nm,
                  double shape, slices *all)
{
    const bool graded = fit->shape == BC_LAYER_GRADED;
    const size_t inner = graded ? BC_INDEX_SLICES - 1 : 1, sheet = fit->shape == BC_LAYER_ROUGH;
    all->count = inner + sheet;
    for (size_t j = 0; j < all->count; j++) {
        double *n = data->layer_n + j * entry->count, *k = data->layer_k + j * entry->count;
        const double up = graded ? 0.5 - ((double)j + 0.5) / (double)inner : 0.0;
        const bool mixed = sheet == 1 && j == 0;
        all->material[j] = (unsigned)j;
        all->thickness_nm[j] = mixed ? fmin(fabs(shape), MOST_ROUGH) : thickness_nm / (double)inner;
        all->index[j] = (bc_index){n, k};
        for (size_t i = 0; i < entry->count; i++) {
            n[i] = mixed ? half_and_half(data->n[i], entry->n0[i]) : data->n[i] * (1.0 + shape * up);
            k[i] = mixed ? 0.5 * data->k[i] : data->k[i];
        }
    }
}

void bc_index_drop_workspace(bc_index_entry *entry)
{
    bc_surface_free(entry->surface);
    bc_part_free(entry->part);
    entry->surface = NULL;
    entry->part = NULL;
    entry->slices = 0;
}

/* A workspace lasts as long as its grid, its slices and the back that is seen. */
static bc_status make_workspace(bc_index_entry *entry, const slices *all, double shift_nm, double *scratch,
                                bc_error *error)
{
    bc_status status;
    if (entry->slices == all->count && entry->shift_nm == shift_nm && entry->back == entry->scan->back)
        return BC_OK;
    bc_index_drop_workspace(entry);
    for (size_t i = 0; i < entry->count; i++)
        scratch[i] = entry->wavelength_nm[i] + shift_nm;
    const bc_surface_setup setup = {.wavelengths = entry->count,
                                    .wavelength_nm = scratch,
                                    .aoi_rad = entry->scan->aoi_rad,
                                    .incident = {entry->n0, NULL},
                                    .substrate = {entry->ns, entry->ks},
                                    .materials = all->count,
                                    .material = all->index,
                                    .max_layers = all->count,
                                    .values_only = true};
    const bc_part_setup whole = {.front = setup, .back = entry->scan->back, .substrate_mm = entry->scan->substrate_mm};
    status = entry->scan->back == BC_BACK_NONE ? bc_surface_alloc(&setup, &entry->surface, error)
                                               : bc_part_alloc(&whole, &entry->part, error);
    if (status != BC_OK)
        return status;
    entry->slices = all->count;
    entry->shift_nm = shift_nm;
    entry->back = entry->scan->back;
    return BC_OK;
}

static const double *curve_of(const bc_index_entry *entry, bc_plane plane)
{
    if (entry->part != NULL)
        return entry->quantity == BC_R ? bc_part_R(entry->part, plane) : bc_part_T(entry->part, plane);
    return entry->quantity == BC_R ? bc_surface_R(entry->surface, plane) : bc_surface_T(entry->surface, plane);
}

/* What a right instrument would show of the layer with data->n and data->k. */
static bc_status look(const bc_index_data *data, const bc_index_fit *fit, bc_index_entry *entry, double thickness_nm,
                      double shape, double *curve, bc_error *error)
{
    const bc_polarization polarization = entry->scan->polarization;
    slices all;
    bc_status status;
    build(data, fit, entry, thickness_nm, shape, &all);
    status = make_workspace(entry, &all, fit->variable[bc_index_instrument_from(fit) + 3], curve, error);
    if (status != BC_OK)
        return status;
    for (size_t j = 0; j < all.count; j++)
        if (entry->part != NULL)
            bc_part_set_index(entry->part, (unsigned)j, &all.index[j]);
        else
            bc_surface_set_index(entry->surface, (unsigned)j, &all.index[j]);
    if (entry->part != NULL)
        bc_part_evaluate(entry->part, all.count, all.material, all.thickness_nm, false);
    else
        bc_surface_evaluate(entry->surface, all.count, all.material, all.thickness_nm, BC_WANT_VALUES);
    const double *s = curve_of(entry, BC_S), *p = curve_of(entry, BC_P);
    for (size_t i = 0; i < entry->count; i++)
        curve[i] = polarization == BC_POL_S ? s[i] : polarization == BC_POL_P ? p[i] : 0.5 * (s[i] + p[i]);
    return BC_OK;
}

static double shape_of(const bc_index_fit *fit)
{
    return fit->shape == BC_LAYER_HOMOGENEOUS ? 0.0 : fit->variable[bc_index_shape_from(fit)];
}

static void set_indices(const bc_index_data *data, const bc_index_fit *fit, const bc_index_entry *entry)
{
    const double *n_variable = fit->variable + bc_index_n_from(fit);
    const double shift_nm = fit->variable[bc_index_instrument_from(fit) + 3];
    for (size_t i = 0; i < entry->count; i++)
        data->shifted_um[i] = (entry->wavelength_nm[i] + shift_nm) / 1000.0;
    bc_n_curve(fit->n, n_variable, &data->range, entry->count, data->shifted_um, data->n);
    bc_k_curve(fit->k, n_variable + bc_n_variables(fit->n), &data->range, entry->count, data->shifted_um, data->k);
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

bc_status bc_index_compute(const bc_index_data *data, bc_index_fit *fit, bc_error *error)
{
    const double *instrument = fit->variable + bc_index_instrument_from(fit);
    bc_status status = BC_OK;
    keep_inside(fit);
    for (size_t e = 0; status == BC_OK && e < data->entries; e++) {
        bc_index_entry *entry = &data->entry[e];
        const bool of_R = entry->quantity == BC_R;
        set_indices(data, fit, entry);
        status = look(data, fit, entry, fit->variable[entry->scan->piece], shape_of(fit), entry->curve, error);
        for (size_t i = 0; status == BC_OK && i < entry->count; i++)
            entry->fitted[i] = entry->curve[i] * (of_R ? 1.0 + instrument[2] : 1.0) + instrument[of_R ? 0 : 1];
    }
    return status;
}

/* (curve there - curve here) / step. */
static void subtract(const bc_index_entry *entry, double step, double *slope)
{
    for (size_t i = 0; i < entry->count; i++)
        slope[i] = (slope[i] - entry->curve[i]) / step;
}

static void add_to(double *index, size_t count, double step)
{
    for (size_t i = 0; i < count; i++)
        index[i] += step;
}

bc_status bc_index_look_around(const bc_index_data *data, const bc_index_fit *fit, bc_index_entry *entry,
                               bc_error *error)
{
    const double thickness = fit->variable[entry->scan->piece], shape = shape_of(fit);
    const double shape_step = fit->shape == BC_LAYER_ROUGH ? 1e-3 : DIFFERENCE;
    bc_status status;
    set_indices(data, fit, entry);
    status = look(data, fit, entry, thickness * (1.0 + DIFFERENCE), shape, entry->by_thickness, error);
    subtract(entry, thickness * DIFFERENCE, entry->by_thickness);
    if (status == BC_OK && fit->shape != BC_LAYER_HOMOGENEOUS) {
        status = look(data, fit, entry, thickness, shape + shape_step, entry->by_shape, error);
        subtract(entry, shape_step, entry->by_shape);
    }
    if (status == BC_OK && fit->k != BC_K_NONE) {
        add_to(data->k, entry->count, DIFFERENCE);
        status = look(data, fit, entry, thickness, shape, entry->by_k, error);
        subtract(entry, DIFFERENCE, entry->by_k);
        set_indices(data, fit, entry);
    }
    if (status == BC_OK) {
        add_to(data->n, entry->count, DIFFERENCE);
        status = look(data, fit, entry, thickness, shape, entry->by_n, error);
        subtract(entry, DIFFERENCE, entry->by_n);
    }
    return status;
}

bc_status bc_index_evaluate(const bc_index_data *data, bc_index_fit *fit, bc_error *error)
{
    const double *instrument = fit->variable + bc_index_instrument_from(fit);
    bc_status status = bc_index_compute(data, fit, error);
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
