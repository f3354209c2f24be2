/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fit.h"
#include "stencil.h"
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define WEAK_INDEX       0.05
#define INDEX_DIFFERENCE 1e-4
#define NOT_FREE         1e-9 /* the prior of an index that nothing says is off */
#define LEFT_OUT         1e6  /* the noise of a point that is not used: its value then decides nothing */

static void lay_out(bc_fit *fit, bc_arena *arena)
{
    const size_t layers = fit->layers, materials = fit->materials, count = fit->setup.count;
    fit->prior_nm = bc_arena_take(arena, layers, sizeof(double));
    fit->prior_sigma = bc_arena_take(arena, layers, sizeof(double));
    fit->index_sigma = bc_arena_take(arena, materials, sizeof(double));
    for (size_t r = 0; r < 2; r++) {
        fit->prior_bias[r] = bc_arena_take(arena, layers, sizeof(double));
        fit->weight[r] = bc_arena_take(arena, count, sizeof(double));
        fit->model[r] = bc_arena_take(arena, count, sizeof(double));
        fit->along[r] = bc_arena_take(arena, count, sizeof(double));
    }
    fit->slope = bc_arena_take(arena, layers + materials, fit->rows * sizeof(double));
    fit->scratch = bc_arena_take(arena, count, sizeof(double));
    fit->stencil = bc_arena_take(arena, count, 4 * sizeof(double));
    fit->stencil_at = bc_arena_take(arena, count, sizeof(size_t));
    fit->thickness_nm = bc_arena_take(arena, layers, sizeof(double));
    fit->dn = bc_arena_take(arena, materials, sizeof(double));
    fit->sign = bc_arena_take(arena, layers, sizeof(double));
    fit->trial.thickness_nm = bc_arena_take(arena, layers, sizeof(double));
    fit->trial.dn = bc_arena_take(arena, materials, sizeof(double));
    fit->x = bc_arena_take(arena, fit->variables, sizeof(double));
}

static double scatter_of(const bc_fit *fit, const bc_process_row *row)
{
    const bc_extra *extra = fit->setup.extra;
    if (fit->setup.weak)
        return 0.0;
    if (extra != NULL && extra->scatter > 0.0)
        return extra->scatter;
    return row->thickness_sigma > 0.0 ? row->thickness_sigma : fit->setup.usual_scatter;
}

static void set_layer_prior(bc_fit *fit, size_t j)
{
    const bc_layer *layer = &fit->setup.stack->layer[j];
    const bc_process_row row = bc_process_for(fit->setup.process, layer->material.name);
    const bc_extra *extra = fit->setup.extra;
    const double nm = layer->thickness_nm, weak = BC_WEAK_SHARE * nm + BC_WEAK_NM;
    const double known = scatter_of(fit, &row) * nm;
    fit->prior_nm[j] = nm;
    fit->prior_sigma[j] = known > 0.0 ? fmin(known, weak) : weak;
    fit->prior_bias[0][j] = fit->setup.weak ? 0.0 : row.run_thickness_sigma * nm;
    if (extra != NULL) {
        if (extra->layer > 0.0 && extra->layer_at == j)
            fit->prior_sigma[j] = hypot(fit->prior_sigma[j], extra->layer * nm + BC_WEAK_NM);
        if (extra->material == SIZE_MAX || extra->material == fit->simulated.material[j])
            fit->prior_bias[1][j] = extra->common * nm;
    }
    fit->has[BC_SHARED_RUN] = fit->has[BC_SHARED_RUN] || fit->prior_bias[0][j] != 0.0;
    fit->has[BC_SHARED_COMMON] = fit->has[BC_SHARED_COMMON] || fit->prior_bias[1][j] != 0.0;
}

static void set_priors(bc_fit *fit)
{
    const bc_fit_setup *setup = &fit->setup;
    const bc_extra none = {0}, *extra = setup->extra == NULL ? &none : setup->extra;
    for (size_t j = 0; j < fit->layers; j++)
        set_layer_prior(fit, j);
    fit->has_index = setup->fit_index;
    for (size_t m = 0; m < fit->materials; m++) {
        const bc_process_row row = bc_process_for(setup->process, fit->simulated.medium[m]->name);
        const double usual = row.has_index_sigma ? 0.0 : setup->usual_index;
        double sigma = row.index_sigma > 0.0 ? fmin(row.index_sigma, WEAK_INDEX)
                       : setup->fit_index    ? WEAK_INDEX
                                             : usual;
        if (extra->index > 0.0 && extra->material == m)
            sigma = hypot(sigma, extra->index);
        fit->has_index = fit->has_index || sigma > 0.0;
        fit->index_sigma[m] = fmax(sigma, NOT_FREE);
    }
    fit->width[BC_SHARED_SCALE] = hypot(setup->scale_sigma, extra->scale);
    fit->width[BC_SHARED_WAVELENGTH] = hypot(setup->wavelength_sigma_nm, extra->wavelength);
    fit->width[BC_SHARED_CONSTANT] = extra->constant;
    for (size_t r = 0; r < setup->readings; r++)
        fit->has[BC_SHARED_SCALE] =
            fit->has[BC_SHARED_SCALE] || (fit->width[BC_SHARED_SCALE] > 0.0 && setup->reading[r]->quantity == BC_R);
    fit->has[BC_SHARED_WAVELENGTH] = fit->width[BC_SHARED_WAVELENGTH] > 0.0 && setup->count >= BC_STENCIL;
    fit->has[BC_SHARED_CONSTANT] = fit->width[BC_SHARED_CONSTANT] > 0.0;
}

static void set_points(bc_fit *fit)
{
    for (size_t r = 0; r < fit->setup.readings; r++)
        for (size_t i = 0; i < fit->setup.count; i++) {
            const size_t at = fit->setup.first + i;
            const bc_reading *reading = fit->setup.reading[r];
            fit->weight[r][i] = reading->outlier[at] ? 0.0 : 1.0;
            fit->has[BC_SHARED_FIRST + r] = fit->has[BC_SHARED_FIRST + r] || reading->systematic[at] > 0.0;
        }
}

bc_status bc_fit_open(const bc_fit_setup *setup, bc_fit *fit, bc_error *error)
{
    const double *wavelength_nm = setup->reading[0]->wavelength_nm + setup->first;
    bc_status status;
    memset(fit, 0, sizeof *fit);
    fit->setup = *setup;
    fit->inflation = 1.0;
    status = bc_model_spectrum_open(setup->stack, setup->back, setup->count, wavelength_nm, setup->aoi_rad,
                                    setup->polarization, &fit->simulated, error);
    if (status != BC_OK)
        return status;
    fit->layers = setup->stack->layers;
    fit->materials = fit->simulated.materials;
    fit->rows = setup->readings * setup->count;
    fit->variables = fit->layers + fit->materials + BC_SHARED;
    lay_out(fit, &fit->arena);
    status = bc_arena_open(&fit->arena, error);
    if (status != BC_OK) {
        bc_fit_close(fit);
        return status;
    }
    lay_out(fit, &fit->arena);
    set_points(fit);
    set_priors(fit);
    fit->setup.back = NULL; /* the caller's, and used up */
    fit->setup.extra = NULL;
    return BC_OK;
}

void bc_fit_close(bc_fit *fit)
{
    bc_model_spectrum_close(&fit->simulated);
    free(fit->arena.memory);
    memset(fit, 0, sizeof *fit);
}

size_t bc_fit_place(const bc_fit *fit, bc_shared shared)
{
    size_t at = fit->layers + (fit->has_index ? fit->materials : 0);
    for (size_t s = 0; s < (size_t)shared; s++)
        at += fit->has[s];
    return at;
}

size_t bc_fit_size(const bc_fit *fit)
{
    return bc_fit_place(fit, BC_SHARED);
}

static void move(const bc_fit *fit, double *value)
{
    if (fit->shift_nm == 0.0)
        return;
    bc_stencil_apply(fit->setup.count, fit->stencil_at, fit->stencil, value, fit->scratch);
    memcpy(value, fit->scratch, fit->setup.count * sizeof(double));
}

static void copy_model(bc_fit *fit)
{
    const double *nm = fit->setup.reading[0]->wavelength_nm + fit->setup.first;
    for (size_t r = 0; r < fit->setup.readings; r++) {
        memcpy(fit->model[r], bc_model_spectrum_value(&fit->simulated, fit->setup.seen_as[r]),
               fit->setup.count * sizeof(double));
        if (fit->has[BC_SHARED_WAVELENGTH])
            bc_stencil_slope(fit->setup.count, nm, fit->model[r], fit->along[r]);
        move(fit, fit->model[r]);
        if (fit->has[BC_SHARED_WAVELENGTH])
            move(fit, fit->along[r]);
    }
}

/* d model / d n by central differences: the engine shifts an index at the price of one layer. */
static void index_slopes(bc_fit *fit)
{
    const size_t count = fit->setup.count;
    for (size_t m = 0; m < fit->materials; m++) {
        double *slope = fit->slope + (fit->layers + m) * fit->rows;
        for (int side = -1; side <= 1; side += 2) {
            bc_model_spectrum_shift_index(&fit->simulated, m, fit->dn[m] + side * INDEX_DIFFERENCE);
            bc_model_spectrum_compute(&fit->simulated, fit->thickness_nm, false);
            for (size_t r = 0; r < fit->setup.readings; r++) {
                const double *value = bc_model_spectrum_value(&fit->simulated, fit->setup.seen_as[r]);
                for (size_t i = 0; i < count; i++)
                    slope[r * count + i] =
                        side < 0 ? -value[i] : (slope[r * count + i] + value[i]) / (2.0 * INDEX_DIFFERENCE);
            }
        }
        for (size_t r = 0; r < fit->setup.readings; r++)
            move(fit, slope + r * count);
        bc_model_spectrum_shift_index(&fit->simulated, m, fit->dn[m]);
    }
}

static void set_shift(bc_fit *fit, double shift_nm)
{
    if (shift_nm != fit->shift_nm && shift_nm != 0.0)
        bc_stencil_set(fit->setup.count, fit->setup.reading[0]->wavelength_nm + fit->setup.first, shift_nm,
                       fit->stencil_at, fit->stencil);
    fit->shift_nm = shift_nm;
}

void bc_fit_look(bc_fit *fit, const double *thickness_nm, const double *dn, double shift_nm, bool gradient)
{
    const size_t count = fit->setup.count;
    for (size_t j = 0; j < fit->layers; j++)
        fit->thickness_nm[j] = thickness_nm[j];
    for (size_t m = 0; m < fit->materials; m++) {
        const double wanted = dn == NULL ? 0.0 : dn[m];
        if (wanted != fit->dn[m])
            bc_model_spectrum_shift_index(&fit->simulated, m, wanted);
        fit->dn[m] = wanted;
    }
    set_shift(fit, shift_nm);
    bc_model_spectrum_compute(&fit->simulated, fit->thickness_nm, gradient);
    copy_model(fit);
    for (size_t j = 0; gradient && j < fit->layers; j++)
        for (size_t r = 0; r < fit->setup.readings; r++) {
            double *slope = fit->slope + j * fit->rows + r * count;
            memcpy(slope, bc_model_spectrum_slope(&fit->simulated, fit->setup.seen_as[r], j), count * sizeof(double));
            move(fit, slope);
        }
    if (gradient && fit->has_index)
        index_slopes(fit);
}

double bc_fit_expected(const bc_fit *fit, const double *shared, size_t reading, size_t i)
{
    const bc_reading *of = fit->setup.reading[reading];
    const double scale = of->quantity == BC_R ? shared[BC_SHARED_SCALE] * fit->width[BC_SHARED_SCALE] : 0.0;
    return (1.0 + scale) * fit->model[reading][i] +
           shared[BC_SHARED_FIRST + reading] * of->systematic[fit->setup.first + i] +
           shared[BC_SHARED_CONSTANT] * fit->width[BC_SHARED_CONSTANT];
}

double bc_fit_noise(const bc_fit *fit, size_t reading, size_t i)
{
    const double weight = fit->weight[reading][i];
    if (!(weight > 0.0))
        return LEFT_OUT;
    return fit->inflation * fmax(BC_LEAST_NOISE, fit->setup.reading[reading]->noise[fit->setup.first + i]) /
           sqrt(weight);
}

double bc_fit_chi_squared(bc_fit *fit, const double *thickness_nm)
{
    double chi_squared = 0.0;
    bc_fit_look(fit, thickness_nm, NULL, 0.0, false);
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
    bc_fit_look(fit, point->thickness_nm, point->dn,
                point->shared[BC_SHARED_WAVELENGTH] * fit->width[BC_SHARED_WAVELENGTH], false);
    for (size_t i = 0; i < fit->setup.count; i++)
        out[i] = of->value[fit->setup.first + i] - bc_fit_expected(fit, point->shared, reading, i);
}

void bc_fit_residual(bc_fit *fit, const bc_fit_point *point, double *rms, double *in_noise)
{
    double square = 0.0, weighted = 0.0, used = 0.0;
    for (size_t r = 0; r < fit->setup.readings; r++) {
        const bc_reading *of = fit->setup.reading[r];
        bc_fit_look(fit, point->thickness_nm, point->dn,
                    point->shared[BC_SHARED_WAVELENGTH] * fit->width[BC_SHARED_WAVELENGTH], false);
        for (size_t i = 0; i < fit->setup.count; i++) {
            const size_t at = fit->setup.first + i;
            const double residual = of->value[at] - bc_fit_expected(fit, point->shared, r, i);
            const double noise = fmax(BC_LEAST_NOISE, of->noise[at]);
            if (of->outlier[at])
                continue;
            square += residual * residual;
            weighted += residual * residual / (noise * noise);
            used += 1.0;
        }
    }
    *rms = sqrt(square / fmax(1.0, used));
    *in_noise = sqrt(weighted / fmax(1.0, used));
}
