/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fit.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WEAK_INDEX       0.05
#define INDEX_DIFFERENCE 1e-4

static void lay_out(bc_fit *fit, bc_arena *arena)
{
    const size_t layers = fit->layers, materials = fit->materials;
    fit->prior_nm = bc_arena_take(arena, layers, sizeof(double));
    fit->prior_sigma = bc_arena_take(arena, layers, sizeof(double));
    fit->prior_bias = bc_arena_take(arena, layers, sizeof(double));
    fit->index_sigma = bc_arena_take(arena, materials, sizeof(double));
    fit->model[0] = bc_arena_take(arena, fit->setup.count, sizeof(double));
    fit->model[1] = bc_arena_take(arena, fit->setup.count, sizeof(double));
    fit->slope = bc_arena_take(arena, fit->variables, fit->rows * sizeof(double));
    fit->thickness_nm = bc_arena_take(arena, layers, sizeof(double));
    fit->dn = bc_arena_take(arena, materials, sizeof(double));
    fit->sign = bc_arena_take(arena, layers, sizeof(double));
    fit->trial.thickness_nm = bc_arena_take(arena, layers, sizeof(double));
    fit->trial.dn = bc_arena_take(arena, materials, sizeof(double));
    fit->x = bc_arena_take(arena, fit->variables, sizeof(double));
}

static void set_priors(bc_fit *fit)
{
    fit->has_bias = false;
    for (size_t j = 0; j < fit->layers; j++) {
        const bc_layer *layer = &fit->setup.stack->layer[j];
        const bc_process_row row = bc_process_for(fit->setup.process, layer->material.name);
        const double weak = BC_WEAK_SHARE * layer->thickness_nm + BC_WEAK_NM;
        const double known = row.thickness_sigma * layer->thickness_nm;
        fit->prior_nm[j] = layer->thickness_nm;
        fit->prior_sigma[j] = known > 0.0 ? fmin(known, weak) : weak;
        fit->prior_bias[j] = row.run_thickness_sigma * layer->thickness_nm;
        fit->has_bias = fit->has_bias || fit->prior_bias[j] != 0.0;
    }
    for (size_t m = 0; m < fit->materials; m++) {
        const bc_process_row row = bc_process_for(fit->setup.process, fit->sight.medium[m]->name);
        fit->index_sigma[m] = row.index_sigma > 0.0 ? fmin(row.index_sigma, WEAK_INDEX) : WEAK_INDEX;
    }
}

bc_status bc_fit_open(const bc_fit_setup *setup, bc_fit *fit, bc_error *error)
{
    const double *wavelength_nm = setup->reading[0]->wavelength_nm + setup->first;
    bc_status status;
    memset(fit, 0, sizeof *fit);
    fit->setup = *setup;
    fit->inflation = 1.0;
    status = bc_sight_open(setup->stack, setup->back, setup->count, wavelength_nm, setup->aoi_rad, setup->polarization,
                           &fit->sight, error);
    if (status != BC_OK)
        return status;
    fit->layers = setup->stack->layers;
    fit->materials = fit->sight.materials;
    fit->rows = setup->readings * setup->count;
    fit->variables = fit->layers + fit->materials + 3;
    lay_out(fit, &fit->arena);
    status = bc_arena_open(&fit->arena, error);
    if (status != BC_OK) {
        bc_fit_close(fit);
        return status;
    }
    lay_out(fit, &fit->arena);
    set_priors(fit);
    for (size_t r = 0; r < setup->readings; r++)
        for (size_t i = 0; i < setup->count; i++)
            fit->has_offset[r] = fit->has_offset[r] || setup->reading[r]->systematic[setup->first + i] > 0.0;
    return BC_OK;
}

void bc_fit_close(bc_fit *fit)
{
    bc_sight_close(&fit->sight);
    free(fit->arena.memory);
    memset(fit, 0, sizeof *fit);
}

void bc_fit_forget_process(bc_fit *fit)
{
    fit->setup.process = NULL;
    set_priors(fit);
}

size_t bc_fit_size(const bc_fit *fit)
{
    return fit->layers + (fit->setup.fit_index ? fit->materials : 0) + fit->has_offset[0] + fit->has_offset[1] +
           fit->has_bias;
}

static void copy_model(bc_fit *fit)
{
    for (size_t r = 0; r < fit->setup.readings; r++)
        memcpy(fit->model[r], bc_sight_value(&fit->sight, fit->setup.seen_as[r]), fit->setup.count * sizeof(double));
}

/* d model / d n by central differences: the engine shifts an index at the price of one layer. */
static void index_slopes(bc_fit *fit)
{
    const size_t count = fit->setup.count;
    for (size_t m = 0; m < fit->materials; m++) {
        double *slope = fit->slope + (fit->layers + m) * fit->rows;
        for (int side = -1; side <= 1; side += 2) {
            bc_sight_shift(&fit->sight, m, fit->dn[m] + side * INDEX_DIFFERENCE);
            bc_sight_look(&fit->sight, fit->thickness_nm, false);
            for (size_t r = 0; r < fit->setup.readings; r++) {
                const double *value = bc_sight_value(&fit->sight, fit->setup.seen_as[r]);
                for (size_t i = 0; i < count; i++)
                    slope[r * count + i] =
                        side < 0 ? -value[i] : (slope[r * count + i] + value[i]) / (2.0 * INDEX_DIFFERENCE);
            }
        }
        bc_sight_shift(&fit->sight, m, fit->dn[m]);
    }
}

void bc_fit_look(bc_fit *fit, const double *thickness_nm, const double *dn, bool gradient)
{
    const size_t count = fit->setup.count;
    for (size_t j = 0; j < fit->layers; j++)
        fit->thickness_nm[j] = thickness_nm[j];
    for (size_t m = 0; m < fit->materials; m++) {
        const double wanted = dn == NULL ? 0.0 : dn[m];
        if (wanted != fit->dn[m])
            bc_sight_shift(&fit->sight, m, wanted);
        fit->dn[m] = wanted;
    }
    bc_sight_look(&fit->sight, fit->thickness_nm, gradient);
    copy_model(fit);
    for (size_t j = 0; gradient && j < fit->layers; j++)
        for (size_t r = 0; r < fit->setup.readings; r++)
            memcpy(fit->slope + j * fit->rows + r * count, bc_sight_slope(&fit->sight, fit->setup.seen_as[r], j),
                   count * sizeof(double));
    if (gradient && fit->setup.fit_index)
        index_slopes(fit);
}

double bc_fit_noise(const bc_fit *fit, size_t reading, size_t i)
{
    return fit->inflation * fmax(BC_LEAST_NOISE, fit->setup.reading[reading]->noise[fit->setup.first + i]);
}

double bc_fit_chi_squared(bc_fit *fit, const double *thickness_nm)
{
    double chi_squared = 0.0;
    bc_fit_look(fit, thickness_nm, NULL, false);
    for (size_t r = 0; r < fit->setup.readings; r++) {
        const double *value = fit->setup.reading[r]->value + fit->setup.first;
        const double *systematic = fit->setup.reading[r]->systematic + fit->setup.first;
        double square = 0.0, along = 0.0, of_offset = 1.0;
        for (size_t i = 0; i < fit->setup.count; i++) {
            const double weight = 1.0 / bc_fit_noise(fit, r, i);
            const double residual = (fit->model[r][i] - value[i]) * weight, by_offset = systematic[i] * weight;
            square += residual * residual;
            along += residual * by_offset;
            of_offset += by_offset * by_offset;
        }
        chi_squared += square - along * along / of_offset;
    }
    return chi_squared;
}

void bc_fit_remainder(bc_fit *fit, const bc_fit_point *point, size_t reading, double *out)
{
    const bc_reading *of = fit->setup.reading[reading];
    bc_fit_look(fit, point->thickness_nm, point->dn, false);
    for (size_t i = 0; i < fit->setup.count; i++) {
        const size_t at = fit->setup.first + i;
        out[i] = of->value[at] - fit->model[reading][i] - point->offset[reading] * of->systematic[at];
    }
}

void bc_fit_residual(bc_fit *fit, const bc_fit_point *point, double *rms, double *in_noise)
{
    double square = 0.0, weighted = 0.0;
    bc_fit_look(fit, point->thickness_nm, point->dn, false);
    for (size_t r = 0; r < fit->setup.readings; r++) {
        const bc_reading *of = fit->setup.reading[r];
        for (size_t i = 0; i < fit->setup.count; i++) {
            const size_t at = fit->setup.first + i;
            const double residual = of->value[at] - fit->model[r][i] - point->offset[r] * of->systematic[at];
            const double noise = fmax(BC_LEAST_NOISE, of->noise[at]);
            square += residual * residual;
            weighted += residual * residual / (noise * noise);
        }
    }
    *rms = sqrt(square / (double)fit->rows);
    *in_noise = sqrt(weighted / (double)fit->rows);
}
