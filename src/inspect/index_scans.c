/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "index_fit.h"
#include "noise.h"
#include <math.h>
#include <stdlib.h>

#define FEWEST_POINTS 20
#define LEAST_NOISE   1e-6 /* a fraction: below what any instrument resolves */

static void lay_out(bc_index_data *data, bc_arena *arena)
{
    for (size_t e = 0; e < data->entries; e++) {
        bc_index_entry *entry = &data->entry[e];
        double **const array[] = {&entry->wavelength_nm,
                                  &entry->value,
                                  &entry->noise,
                                  &entry->curve,
                                  &entry->fitted,
                                  &entry->by_n,
                                  &entry->by_k,
                                  &entry->by_thickness,
                                  &entry->by_shape,
                                  &entry->n0,
                                  &entry->k0,
                                  &entry->ns,
                                  &entry->ks};
        for (size_t a = 0; a < sizeof array / sizeof *array; a++)
            *array[a] = bc_arena_take(arena, entry->count, sizeof(double));
    }
    data->layer_n = bc_arena_take(arena, BC_INDEX_SLICES * data->most_points, sizeof(double));
    data->layer_k = bc_arena_take(arena, BC_INDEX_SLICES * data->most_points, sizeof(double));
    data->shifted_um = bc_arena_take(arena, data->most_points, sizeof(double));
    data->n = bc_arena_take(arena, data->most_points, sizeof(double));
    data->k = bc_arena_take(arena, data->most_points, sizeof(double));
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

/* The noise of each point; a value's own uncertainty joins it. */
static void weigh(const bc_measurement *measurement, const bc_measured *measured, double *sigma, double *scratch)
{
    bc_noise_of_measured(measurement->count, measurement->wavelength_nm, measured, measurement->repeats, sigma,
                         scratch);
    for (size_t i = 0; i < measurement->count; i++) {
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

bc_status bc_index_refuse_setup(const bc_layer_index_setup *setup, bc_error *error)
{
    size_t points = 0;
    if (setup->scans == 0 || setup->pieces == 0 || !(setup->coverage_factor > 0.0))
        return bc_fail(error, BC_ERROR_INPUT, "an index needs a scan, a piece and a coverage factor above 0");
    for (size_t s = 0; s < setup->scans; s++) {
        const bc_measurement *measurement = setup->scan[s].measurement;
        points += measurement->count;
        if (setup->scan[s].piece >= setup->pieces)
            return bc_fail(error, BC_ERROR_INPUT, "scan %zu is of piece %zu; expected one of %zu", s + 1,
                           setup->scan[s].piece + 1, setup->pieces);
    }
    for (size_t p = 0; p < setup->pieces; p++)
        if (!(setup->thickness_nm[p] > 0.0 && isfinite(setup->thickness_nm[p])))
            return bc_fail(error, BC_ERROR_INPUT, "a thickness of %g nm; expected more than 0", setup->thickness_nm[p]);
    return points >= FEWEST_POINTS ? BC_OK
                                   : bc_fail(error, BC_ERROR_INPUT, "found %zu measured points; expected at least %d",
                                             points, FEWEST_POINTS);
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
    for (size_t e = 0; e < data->entries; e++)
        bc_index_drop_workspace(&data->entry[e]);
    free(data->entry);
    free(data->arena.memory);
    *data = (bc_index_data){0};
}
