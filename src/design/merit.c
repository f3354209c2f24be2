/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "budget.h"
#include "merit_arrays.h"
#include "sums.h"
#include <bloomcoat/colour.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static void lay_out(bc_merit *merit, bc_arena *arena)
{
    const size_t longest = merit->scenario[0].longest;
    const size_t widest = merit->constraints > longest ? merit->constraints : longest;
    merit->factor = bc_arena_take(arena, merit->scenarios, merit->max_layers * sizeof(double));
    merit->thickness_nm = bc_arena_take(arena, merit->max_layers, sizeof(double));
    merit->zone_nm = bc_arena_take(arena, merit->max_layers, sizeof(double));
    merit->u = bc_arena_take(arena, merit->constraints, sizeof(double));
    merit->slope = bc_arena_take(arena, merit->kept_layers, merit->constraints * sizeof(double));
    merit->weight = bc_arena_take(arena, widest, sizeof(double));
    for (int p = 0; p < 2; p++) {
        merit->drho[p] = bc_arena_take(arena, longest, sizeof(double));
        merit->plane_weight[p] = bc_arena_take(arena, longest, sizeof(double));
    }
    merit->gram = bc_arena_take(arena, merit->kept_layers + 1, (widest + 8) * sizeof(double));
    bc_merit_lay_out_near(merit, arena);
}

static bc_status open_scenarios(bc_merit *merit, const bc_design_problem *problem, const bc_sampling_extras *extras,
                                bc_error *error)
{
    merit->scenario = calloc(merit->scenarios, sizeof *merit->scenario);
    if (merit->scenario == NULL)
        return bc_fail_memory(error);
    for (size_t s = 0; s < merit->scenarios; s++) {
        const bc_status status = bc_segments_alloc(problem, merit->max_layers, extras, &merit->scenario[s], error);
        if (status != BC_OK)
            return status;
    }
    merit->each = merit->scenario[0].constraints;
    merit->constraints = merit->each * merit->scenarios;
    lay_out(merit, &merit->arena);
    return bc_arena_open(&merit->arena, error);
}

static bc_status open_merit(const bc_design_problem *problem, size_t max_layers, const bc_sampling_extras *extras,
                            size_t scenarios, bc_merit **out, bc_error *error)
{
    bc_merit *merit = calloc(1, sizeof *merit);
    bc_status status;
    *out = NULL;
    if (merit == NULL)
        return bc_fail_memory(error);
    merit->max_layers = max_layers == 0 ? 1 : max_layers;
    merit->kept_layers = extras->values_only ? 0 : merit->max_layers;
    merit->scenarios = scenarios;
    status = bc_looks_bytes(problem, merit->max_layers, extras, &merit->bytes, error);
    merit->bytes *= (double)scenarios;
    if (status == BC_OK)
        status = bc_refuse_bytes(merit->bytes, merit->max_layers, error);
    if (status == BC_OK)
        status = open_scenarios(merit, problem, extras, error);
    if (status != BC_OK) {
        bc_merit_free(merit);
        return status;
    }
    lay_out(merit, &merit->arena);
    for (size_t f = 0; f < merit->scenarios * merit->max_layers; f++)
        merit->factor[f] = 1.0;
    *out = merit;
    return BC_OK;
}

bc_status bc_merit_alloc_scenarios(const bc_design_problem *problem, bc_density density, size_t max_layers,
                                   bc_fringes fringes, size_t scenarios, bc_merit **out, bc_error *error)
{
    const bc_sampling_extras extras = {.density = density, .fringes = fringes};
    return open_merit(problem, max_layers, &extras, scenarios, out, error);
}

bc_status bc_merit_alloc_spots(const bc_design_problem *problem, bc_density density, size_t max_layers,
                               bc_fringes fringes, size_t extra_samples, const bc_extra_sample *extra_sample,
                               bc_merit **out, bc_error *error)
{
    const bc_sampling_extras extras = {
        .density = density, .fringes = fringes, .extra_samples = extra_samples, .extra_sample = extra_sample};
    return open_merit(problem, max_layers, &extras, 1, out, error);
}

bc_status bc_merit_alloc_values(const bc_design_problem *problem, bc_density density, size_t max_layers,
                                bc_fringes fringes, bc_merit **out, bc_error *error)
{
    const bc_sampling_extras extras = {.density = density, .fringes = fringes, .values_only = true};
    return open_merit(problem, max_layers, &extras, 1, out, error);
}

double bc_merit_bytes(const bc_merit *merit)
{
    return merit->bytes;
}

void bc_merit_free(bc_merit *merit)
{
    if (merit != NULL) {
        for (size_t s = 0; merit->scenario != NULL && s < merit->scenarios; s++)
            bc_segments_clear(&merit->scenario[s]);
        free(merit->scenario);
        free(merit->arena.memory);
        free(merit);
    }
}

static void shift_index(const bc_segments *segments, unsigned material, double dn)
{
    for (size_t s = 0; s < segments->count; s++) {
        bc_surface_shift_index(segments->segment[s].surface, material, dn);
        if (segments->segment[s].part != NULL)
            bc_part_shift_index(segments->segment[s].part, material, dn);
    }
}

void bc_merit_set_scenario(bc_merit *merit, size_t scenario, size_t layers, const double *error, size_t materials,
                           const double *dn)
{
    for (size_t j = 0; j < layers; j++)
        merit->factor[scenario * merit->max_layers + j] = 1.0 + error[j];
    merit->base_layers = 0;
    for (size_t m = 0; m < materials; m++)
        shift_index(&merit->scenario[scenario], (unsigned)m, dn[m]);
}

size_t bc_merit_constraints(const bc_merit *merit)
{
    return merit->constraints;
}

static size_t samples_of(const bc_segments *segments, const bc_row *row)
{
    size_t samples = row->members == 0 ? segments->segment[row->segment].count : 0;
    for (size_t m = 0; m < row->members; m++)
        samples += segments->segment[row->member[m]].count;
    return samples;
}

size_t bc_merit_samples(const bc_merit *merit)
{
    size_t samples = 0;
    for (size_t r = 0; r < merit->scenario[0].rows; r++)
        samples += samples_of(&merit->scenario[0], &merit->scenario[0].row[r]);
    return samples * merit->scenarios;
}

const double *bc_merit_u(const bc_merit *merit)
{
    return merit->u;
}

const double *bc_merit_slope(const bc_merit *merit, size_t layer)
{
    return merit->slope + layer * merit->constraints;
}

size_t bc_merit_evaluations(const bc_merit *merit)
{
    return merit->evaluations;
}

double bc_merit_largest(const bc_merit *merit)
{
    return bc_largest(merit->constraints, merit->u);
}

const bc_segments *bc_merit_segments(const bc_merit *merit)
{
    return &merit->scenario[0];
}

void bc_merit_shift_index(bc_merit *merit, unsigned material, double dn)
{
    for (size_t s = 0; s < merit->scenarios; s++)
        shift_index(&merit->scenario[s], material, dn);
    merit->base_layers = 0;
}

/* A colour's value, and in the row's gradient what it changes with R or T at each wavelength. */
static double colour_of(const bc_row *row, const bc_segment *segment, const double *value)
{
    const double *weight = segment->colour;
    double share[3] = {0.0, 0.0, 0.0}, slope[3], colour;
    for (size_t c = 0; c < 3; c++)
        for (size_t i = 0; i < segment->count; i++)
            share[c] += weight[c * segment->count + i] * value[i];
    colour = bc_colour_callout_value(row->callout, share, slope);
    for (size_t i = 0; i < segment->count; i++)
        row->gradient[i] =
            slope[0] * weight[i] + slope[1] * weight[segment->count + i] + slope[2] * weight[2 * segment->count + i];
    return colour;
}

/* Turn per-wavelength values (or slopes) of one quantity into those of the row's constraints. */
static void reduce(const bc_row *row, const bc_segment *segment, bool slope, const double *value, double *target)
{
    const double offset = slope ? 0.0 : row->offset;
    if (row->callout->statistic == BC_EXTREME) {
        for (size_t i = 0; i < segment->count; i++)
            target[i] = offset + row->factor * value[i];
    } else if (row->gradient != NULL && !slope) {
        target[0] = offset + row->factor * colour_of(row, segment, value);
    } else {
        const double *weight = bc_row_weights(row, segment);
        double mean = 0.0;
        for (size_t i = 0; i < segment->count; i++)
            mean += weight[i] * value[i];
        target[0] = offset + row->factor * mean;
    }
}

static const double *R_of(const bc_segment *segment, bc_plane plane, bool slope, size_t layer)
{
    if (segment->part != NULL)
        return slope ? bc_part_dR(segment->part, plane, layer) : bc_part_R(segment->part, plane);
    return slope ? bc_surface_dR(segment->surface, plane, layer) : bc_surface_R(segment->surface, plane);
}

static const double *T_of(const bc_segment *segment, bc_plane plane, bool slope, size_t layer)
{
    if (segment->part != NULL)
        return slope ? bc_part_dT(segment->part, plane, layer) : bc_part_T(segment->part, plane);
    return slope ? bc_surface_dT(segment->surface, plane, layer) : bc_surface_T(segment->surface, plane);
}

/* R (sign of R, T in A = 1 - R - T) of one plane, or its slope with `layer`. */
static void quantity(const bc_segment *segment, const bc_row *row, bc_plane plane, bool slope, size_t layer,
                     double share, double *target)
{
    const double *R = R_of(segment, plane, slope, layer), *T = T_of(segment, plane, slope, layer);
    const double one = slope ? 0.0 : share;
    for (size_t i = 0; i < segment->count; i++) {
        if (row->callout->quantity == BC_R)
            target[i] += share * R[i];
        else if (row->callout->quantity == BC_T)
            target[i] += share * T[i];
        else
            target[i] += one - share * (R[i] + T[i]);
    }
}

double bc_row_ratio_slope(double s, double p, double ds, double dp)
{
    const double ratio = bc_ratio_s_p(s, p);
    return p > 0.0 && ratio < BC_RATIO_MOST ? (ds - ratio * dp) / p : 0.0;
}

/* The ratio s / p of R or T, or its slope. */
static void ratio(const bc_segment *segment, const bc_row *row, bool slope, size_t layer, double *target)
{
    const double *(*of)(const bc_segment *, bc_plane, bool, size_t) = row->callout->quantity == BC_R ? R_of : T_of;
    const double *s = of(segment, BC_S, false, 0), *p = of(segment, BC_P, false, 0);
    const double *ds = slope ? of(segment, BC_S, true, layer) : s, *dp = slope ? of(segment, BC_P, true, layer) : p;
    for (size_t i = 0; i < segment->count; i++)
        target[i] = slope ? bc_row_ratio_slope(s[i], p[i], ds[i], dp[i]) : bc_ratio_s_p(s[i], p[i]);
}

/* The quantity of a row, or its slope with `layer`, at every wavelength of its segment. */
static void collect(const bc_segments *segments, const bc_row *row, bool slope, size_t layer, double *value)
{
    if (row->ratio) {
        ratio(&segments->segment[row->segment], row, slope, layer, value);
        return;
    }
    memset(value, 0, segments->segment[row->segment].count * sizeof(double));
    for (size_t m = 0; m < (row->members == 0 ? 1 : row->members); m++) {
        const bc_segment *segment = &segments->segment[row->members == 0 ? row->segment : row->member[m]];
        const double share = row->members == 0 ? 1.0 : row->member_share[m];
        for (unsigned p = 0; p < 2; p++)
            if (row->share[p] > 0.0)
                quantity(segment, row, (bc_plane)p, slope, layer, share * row->share[p], value);
    }
}

bool bc_row_is_plain(const bc_row *row)
{
    return row->callout->statistic == BC_EXTREME && row->callout->quantity != BC_A && row->members == 0 && !row->ratio;
}

/* What collect() and reduce() do to such a row, to the same bits, in one pass. */
void bc_constrain_plain(const bc_segment *segment, const bc_row *row, bool slope, size_t layer, size_t from, size_t to,
                        double *target)
{
    const double *(*of)(const bc_segment *, bc_plane, bool, size_t) = row->callout->quantity == BC_R ? R_of : T_of;
    const double offset = slope ? 0.0 : row->offset, factor = row->factor, s = row->share[BC_S], p = row->share[BC_P];
    if (s > 0.0 && p > 0.0) {
        const double *in_s = of(segment, BC_S, slope, layer), *in_p = of(segment, BC_P, slope, layer);
        for (size_t i = from; i < to; i++)
            target[i] = offset + factor * (s * in_s[i] + p * in_p[i]);
    } else {
        const bc_plane plane = s > 0.0 ? BC_S : BC_P;
        const double *value = of(segment, plane, slope, layer), share = row->share[plane];
        for (size_t i = from; i < to; i++)
            target[i] = offset + factor * (share * value[i]);
    }
}

static void constrain(bc_merit *merit, const bc_segments *segments, const bc_row *row, bool slope, size_t layer,
                      double *target)
{
    const bc_segment *segment = &segments->segment[row->segment];
    if (bc_row_is_plain(row)) {
        bc_constrain_plain(segment, row, slope, layer, 0, segment->count, target);
    } else {
        collect(segments, row, slope, layer, merit->weight);
        reduce(row, segment, slope, merit->weight, target);
    }
}

void bc_merit_curve(const bc_merit *merit, size_t row, double *value)
{
    const bc_row *asked = &merit->scenario[0].row[row];
    collect(&merit->scenario[0], asked, false, 0, value);
}

/* The layers of the scenario at hand as they are at the segment's zone. */
static const double *at_zone(bc_merit *merit, const bc_segment *segment)
{
    if (segment->thickness_factor == 1.0)
        return merit->thickness_nm;
    for (size_t j = 0; j < merit->layers; j++)
        merit->zone_nm[j] = segment->thickness_factor * merit->thickness_nm[j];
    return merit->zone_nm;
}

void bc_merit_enter(bc_merit *merit, size_t scenario, const double *thickness_nm)
{
    for (size_t j = 0; j < merit->layers; j++)
        merit->thickness_nm[j] = merit->factor[scenario * merit->max_layers + j] * thickness_nm[j];
}

void bc_merit_run_engine(bc_merit *merit, const bc_segment *segment, const unsigned *material, bool slopes,
                         size_t blocks, const unsigned *block)
{
    const double *thickness_nm = at_zone(merit, segment);
    const bc_want want = slopes ? BC_WANT_GRADIENT : BC_WANT_VALUES;
    bc_surface_keep_fields(segment->surface, merit->keeps_fields);
    if (segment->part != NULL)
        bc_part_evaluate(segment->part, merit->layers, material, thickness_nm, slopes);
    if (block != NULL)
        bc_surface_evaluate_blocks(segment->surface, merit->layers, material, thickness_nm, want, blocks, block);
    else if (segment->part == NULL || slopes)
        bc_surface_evaluate(segment->surface, merit->layers, material, thickness_nm, want);
}

double bc_row_grows(const bc_merit *merit, size_t scenario, const bc_row *row, size_t layer)
{
    return merit->factor[scenario * merit->max_layers + layer] *
           merit->scenario[scenario].segment[row->segment].thickness_factor;
}

void bc_constrain_row(bc_merit *merit, size_t scenario, const bc_row *row, bool slopes)
{
    const bc_segments *segments = &merit->scenario[scenario];
    const size_t first = scenario * merit->each + row->first;
    constrain(merit, segments, row, false, 0, merit->u + first);
    for (size_t j = 0; slopes && j < merit->layers; j++) {
        const double grows = bc_row_grows(merit, scenario, row, j);
        double *slope = merit->slope + j * merit->constraints + first;
        constrain(merit, segments, row, true, j, slope);
        for (size_t c = 0; grows != 1.0 && c < row->count; c++)
            slope[c] *= grows;
    }
}

static void evaluate_scenario(bc_merit *merit, size_t scenario, const unsigned *material, const double *thickness_nm,
                              bool slopes)
{
    const bc_segments *segments = &merit->scenario[scenario];
    bc_merit_enter(merit, scenario, thickness_nm);
    for (size_t s = 0; s < segments->count; s++)
        bc_merit_run_engine(merit, &segments->segment[s], material, slopes, 0, NULL);
    for (size_t r = 0; r < segments->rows; r++)
        bc_constrain_row(merit, scenario, &segments->row[r], slopes);
}

void bc_merit_evaluate(bc_merit *merit, size_t layers, const unsigned *material, const double *thickness_nm,
                       bool slopes)
{
    merit->keeps_fields = true;
    bc_merit_evaluate_all(merit, layers, material, thickness_nm, slopes);
}

void bc_merit_evaluate_all(bc_merit *merit, size_t layers, const unsigned *material, const double *thickness_nm,
                           bool slopes)
{
    merit->layers = layers;
    merit->evaluations++;
    merit->near = false;
    merit->base_layers = 0;
    for (size_t s = 0; s < merit->scenarios; s++)
        evaluate_scenario(merit, s, material, thickness_nm, slopes);
}
