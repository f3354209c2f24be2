/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a fit of single layers says: thickness, n and k with their uncertainties, and what is left of the scans.
 */
#include "arena.h"
#include "layer_index.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define OPAQUE        1e-3
#define MOST_MISFIT   5.0   /* times the noise, and */
#define MOST_RESIDUAL 0.005 /* rms, beyond which a fit explains nothing */
#define UNKNOWN_N     0.2   /* a standard uncertainty of n beyond which there is no index to speak of */
#define TABLE_ROWS    61

/* The fit that was chosen, and what it was made to. */
typedef struct fitted {
    const bc_index_data *data;
    const bc_index_fit *best;
} fitted;

static void lay_out(const fitted *f, bc_layer_index_result *result, bc_arena *arena)
{
    double **const table[] = {&result->wavelength_nm, &result->n, &result->n_sigma, &result->k, &result->k_sigma};
    result->thickness_nm = bc_arena_take(arena, f->data->pieces, sizeof(double));
    result->thickness_sigma_nm = bc_arena_take(arena, f->data->pieces, sizeof(double));
    for (size_t t = 0; t < sizeof table / sizeof *table; t++)
        *table[t] = bc_arena_take(arena, TABLE_ROWS, sizeof(double));
    result->curve = bc_arena_take(arena, f->data->entries, sizeof *result->curve);
    for (size_t e = 0; e < f->data->entries; e++) {
        const bc_index_entry *entry = &f->data->entry[e];
        const double *const from[] = {entry->wavelength_nm, entry->value, entry->fitted, entry->noise};
        double *to[4];
        for (size_t a = 0; a < 4; a++) {
            to[a] = bc_arena_take(arena, entry->count, sizeof(double));
            if (to[a] != NULL)
                memcpy(to[a], from[a], entry->count * sizeof(double));
        }
        if (result->curve != NULL)
            result->curve[e] =
                (bc_layer_curve){entry->which, entry->quantity, entry->count, to[0], to[1], to[2], to[3]};
    }
}

/* How n or k at one wavelength follows the variables: by differences. */
static void slopes(const fitted *f, double x_um, bool of_n, double *slope)
{
    bc_index_fit fit = *f->best;
    const size_t from = bc_index_n_from(&fit), to = bc_index_shape_from(&fit);
    for (size_t v = 0; v < fit.variables; v++) {
        const double at = fit.variable[v], step = 1e-6 * fmax(fabs(at), 1e-3);
        double side[2];
        slope[v] = 0.0;
        if (v < from || v >= to)
            continue;
        for (int up = 0; up < 2; up++) {
            fit.variable[v] = at + (up == 1 ? step : -step);
            const double *n = fit.variable + from, *k = n + bc_n_variables(fit.n);
            side[up] = of_n ? bc_n_at(fit.n, n, &f->data->range, x_um) : bc_k_at(fit.k, k, &f->data->range, x_um);
        }
        fit.variable[v] = at;
        slope[v] = (side[1] - side[0]) / (2.0 * step);
    }
}

static double product(const fitted *f, const double *one, const double *other)
{
    const size_t count = f->best->variables;
    double sum = 0.0;
    for (size_t v = 0; v < count; v++)
        for (size_t w = 0; w < count; w++)
            sum += one[v] * f->best->covariance[v * count + w] * other[w];
    return sum;
}

static void fill_table(const fitted *f, double spread, bc_layer_index_result *result)
{
    const bc_index_range *range = &f->data->range;
    const double *n = f->best->variable + bc_index_n_from(f->best), *k = n + bc_n_variables(f->best->n);
    double slope[64], along[64] = {0};
    result->count = TABLE_ROWS;
    for (size_t i = 0; i < TABLE_ROWS; i++) {
        const double x = i + 1 == TABLE_ROWS
                             ? range->to_um
                             : range->from_um + (range->to_um - range->from_um) * (double)i / (TABLE_ROWS - 1);
        const double thickness = result->thickness_nm[0];
        result->wavelength_nm[i] = 1000.0 * x;
        result->n[i] = bc_n_at(f->best->n, n, range, x);
        result->k[i] = bc_k_at(f->best->k, k, range, x);
        slopes(f, x, true, slope);
        result->n_sigma[i] = sqrt(spread * product(f, slope, slope));
        slopes(f, x, false, slope);
        result->k_sigma[i] = sqrt(spread * product(f, slope, slope));
        result->transmitted =
            fmax(result->transmitted, exp(-4.0 * M_PI * result->k[i] * thickness / result->wavelength_nm[i]));
    }
    slopes(f, range->middle_um, true, slope);
    along[0] = 1.0;
    result->correlation =
        product(f, slope, along) / sqrt(fmax(product(f, slope, slope) * product(f, along, along), 1e-300));
}

/* Of the first piece's thickness, n and k at a few of the table's wavelengths: a row each. */
static void fill_covariance(const fitted *f, double spread, bc_layer_index_result *result)
{
    double row[BC_LAYER_COVARIANCE][64] = {{0}};
    row[0][0] = 1.0;
    for (size_t p = 0; p < BC_LAYER_POINTS; p++) {
        const double x = result->wavelength_nm[bc_layer_point(result, p)] / 1000.0;
        slopes(f, x, true, row[1 + p]);
        slopes(f, x, false, row[1 + BC_LAYER_POINTS + p]);
    }
    for (size_t a = 0; a < BC_LAYER_COVARIANCE; a++)
        for (size_t b = 0; b < BC_LAYER_COVARIANCE; b++)
            result->covariance[a][b] = spread * product(f, row[a], row[b]);
}

static void measure_residual(const fitted *f, bc_layer_index_result *result)
{
    double weighted = 0.0, plain = 0.0, noise = 0.0;
    for (size_t e = 0; e < f->data->entries; e++)
        for (size_t i = 0; i < f->data->entry[e].count; i++) {
            const bc_index_entry *entry = &f->data->entry[e];
            const double off = entry->value[i] - entry->fitted[i];
            plain += off * off;
            noise += entry->noise[i] * entry->noise[i];
            weighted += off * off / (entry->noise[i] * entry->noise[i]);
        }
    result->misfit = sqrt(weighted / (double)f->data->points);
    result->residual = sqrt(plain / (double)f->data->points);
    result->noise = sqrt(noise / (double)f->data->points);
}

bc_status bc_layer_index_fill(const bc_index_data *data, const bc_index_fit *best, bc_layer_model chosen, double spread,
                              bc_layer_index_result *result, bc_error *error)
{
    const fitted both = {data, best}, *f = &both;
    const double *instrument;
    const double *n = best->variable + bc_index_n_from(best);
    bc_arena arena = {0};
    bc_status status;
    lay_out(f, result, &arena);
    status = bc_arena_open(&arena, error);
    if (status != BC_OK)
        return status;
    lay_out(f, result, &arena);
    result->memory = arena.memory;
    result->curves = f->data->entries;
    result->chosen = chosen;
    result->pieces = f->data->pieces;
    for (size_t p = 0; p < f->data->pieces; p++) {
        result->thickness_nm[p] = f->best->variable[p];
        result->thickness_sigma_nm[p] = sqrt(spread * f->best->covariance[p * f->best->variables + p]);
    }
    if (f->best->shape != BC_LAYER_HOMOGENEOUS) {
        const size_t v = bc_index_shape_from(f->best);
        const double sigma = sqrt(spread * f->best->covariance[v * f->best->variables + v]);
        const bool graded = f->best->shape == BC_LAYER_GRADED;
        *(graded ? &result->gradient : &result->rough_nm) = graded ? f->best->variable[v] : fabs(f->best->variable[v]);
        *(graded ? &result->gradient_sigma : &result->rough_sigma_nm) = sigma;
    }
    instrument = f->best->variable + bc_index_instrument_from(f->best);
    memcpy(result->offset, instrument, sizeof result->offset);
    result->scale = instrument[2];
    result->wavelength_shift_nm = instrument[3];
    result->n_coefficients = bc_n_coefficients(f->best->n, n, &f->data->range, result->n_coefficient);
    result->k_coefficients =
        bc_k_coefficients(f->best->k, n + bc_n_variables(f->best->n), &f->data->range, result->k_coefficient);
    fill_table(f, spread, result);
    fill_covariance(f, spread, result);
    result->fringes = 2.0 * result->n[TABLE_ROWS / 2] * result->thickness_nm[0] *
                      (1.0 / result->wavelength_nm[0] - 1.0 / result->wavelength_nm[TABLE_ROWS - 1]);
    measure_residual(f, result);
    return BC_OK;
}

bc_status bc_layer_index_refuse(const bc_layer_index_result *result, bc_error *error)
{
    const double n_sigma = result->n_sigma[result->count / 2];
    if (result->misfit > MOST_MISFIT && result->residual > MOST_RESIDUAL)
        return bc_fail(
            error, BC_ERROR_INPUT,
            "no layer within half and twice the stated thickness explains the scans: the best leaves %.2g %% "
            "rms, %.0f times the noise; expected one layer on the stated substrate, seen as stated",
            100.0 * result->residual, result->misfit);
    if (result->transmitted < OPAQUE)
        return bc_fail(error, BC_ERROR_INPUT,
                       "the layer is opaque over the whole scan (%.2g of the light crosses it at best), so that its "
                       "thickness is not seen; expected a thinner layer",
                       result->transmitted);
    if (!(n_sigma < UNKNOWN_N))
        return bc_fail(error, BC_ERROR_INPUT,
                       "the scans leave n open by +-%.2g and the thickness by +-%.3g nm (one standard deviation): "
                       "only their product is seen, with %.2g fringes in the range; expected a wider range, T beside "
                       "R, or a thicker layer",
                       n_sigma, result->thickness_sigma_nm[0], result->fringes);
    return BC_OK;
}

size_t bc_layer_point(const bc_layer_index_result *result, size_t point)
{
    return point * (result->count - 1) / (BC_LAYER_POINTS - 1);
}

void bc_layer_index_result_clear(bc_layer_index_result *result)
{
    free(result->memory);
    memset(result, 0, sizeof *result);
}
