/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "merit.h"
#include "arena.h"
#include "budget.h"
#include "segments.h"
#include "sums.h"
#include <bloomcoat/colour.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

struct bc_merit {
    bc_arena arena;
    size_t scenarios;
    bc_segments *scenario; /* [scenarios] with engines of their own; the first is the design itself */
    double *factor;        /* [scenarios * max_layers] what a scenario makes of a thickness */
    double *thickness_nm;  /* [max_layers] in the scenario at hand */
    double *zone_nm;       /* [max_layers] and at the zone at hand */
    size_t max_layers, layers, constraints, evaluations;
    size_t kept_layers; /* those that have slopes: max_layers or none */
    double bytes;
    size_t each; /* constraints of one scenario */
    double *u;
    double *slope;   /* [max_layers * constraints] */
    double *weight;  /* [longest] scratch of the Hessian */
    double *drho[2]; /* [longest] scratch of insertions */
    double *gram;    /* scratch of bc_add_gram() */
    double *plane_weight[2];
};

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

/* What a mean is made of, or how a colour changes. */
static const double *weights_of(const bc_row *row, const bc_segment *segment)
{
    return row->gradient != NULL ? row->gradient : segment->weight;
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
        const double *weight = weights_of(row, segment);
        double mean = 0.0;
        for (size_t i = 0; i < segment->count; i++)
            mean += weight[i] * value[i];
        target[0] = offset + row->factor * mean;
    }
}

/* R (sign of R, T in A = 1 - R - T) of one plane, or its slope with `layer`. */
static void quantity(const bc_segment *segment, const bc_row *row, bc_plane plane, bool slope, size_t layer,
                     double share, double *target)
{
    const bool part = segment->part != NULL;
    const double *R =
        part ? (slope ? bc_part_dR(segment->part, plane, layer) : bc_part_R(segment->part, plane))
             : (slope ? bc_surface_dR(segment->surface, plane, layer) : bc_surface_R(segment->surface, plane));
    const double *T =
        part ? (slope ? bc_part_dT(segment->part, plane, layer) : bc_part_T(segment->part, plane))
             : (slope ? bc_surface_dT(segment->surface, plane, layer) : bc_surface_T(segment->surface, plane));
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

/* The quantity of a row, or its slope with `layer`, at every wavelength of its segment. */
static void collect(const bc_segments *segments, const bc_row *row, bool slope, size_t layer, double *value)
{
    memset(value, 0, segments->segment[row->segment].count * sizeof(double));
    for (size_t m = 0; m < (row->members == 0 ? 1 : row->members); m++) {
        const bc_segment *segment = &segments->segment[row->members == 0 ? row->segment : row->member[m]];
        const double share = row->members == 0 ? 1.0 : row->member_share[m];
        for (unsigned p = 0; p < 2; p++)
            if (row->share[p] > 0.0)
                quantity(segment, row, (bc_plane)p, slope, layer, share * row->share[p], value);
    }
}

static void constrain(bc_merit *merit, const bc_segments *segments, const bc_row *row, bool slope, size_t layer,
                      double *target)
{
    const bc_segment *segment = &segments->segment[row->segment];
    collect(segments, row, slope, layer, merit->weight);
    reduce(row, segment, slope, merit->weight, target);
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

static void run_engines(bc_merit *merit, const bc_segments *segments, const unsigned *material, bool slopes)
{
    for (size_t s = 0; s < segments->count; s++) {
        const bc_segment *segment = &segments->segment[s];
        const double *thickness_nm = at_zone(merit, segment);
        if (segment->part != NULL)
            bc_part_evaluate(segment->part, merit->layers, material, thickness_nm, slopes);
        if (segment->part == NULL || slopes)
            bc_surface_evaluate(segment->surface, merit->layers, material, thickness_nm,
                                slopes ? BC_WANT_GRADIENT : BC_WANT_VALUES);
    }
}

static void evaluate_scenario(bc_merit *merit, size_t scenario, const unsigned *material, const double *thickness_nm,
                              bool slopes)
{
    const bc_segments *segments = &merit->scenario[scenario];
    const double *factor = merit->factor + scenario * merit->max_layers;
    for (size_t j = 0; j < merit->layers; j++)
        merit->thickness_nm[j] = factor[j] * thickness_nm[j];
    run_engines(merit, segments, material, slopes);
    for (size_t r = 0; r < segments->rows; r++) {
        const bc_row *row = &segments->row[r];
        const size_t first = scenario * merit->each + row->first;
        constrain(merit, segments, row, false, 0, merit->u + first);
        for (size_t j = 0; slopes && j < merit->layers; j++) {
            const double grows = factor[j] * segments->segment[row->segment].thickness_factor;
            double *slope = merit->slope + j * merit->constraints + first;
            constrain(merit, segments, row, true, j, slope);
            for (size_t c = 0; grows != 1.0 && c < row->count; c++)
                slope[c] *= grows;
        }
    }
}

void bc_merit_evaluate(bc_merit *merit, size_t layers, const unsigned *material, const double *thickness_nm,
                       bool slopes)
{
    merit->layers = layers;
    merit->evaluations++;
    for (size_t s = 0; s < merit->scenarios; s++)
        evaluate_scenario(merit, s, material, thickness_nm, slopes);
}

/* Whether 1/factor times u is the square |rho|^2 of the front's amplitude (T counts where nothing absorbs: 1 - T = R).
 */
static bool is_square(const bc_segments *segments, const bc_row *row)
{
    const bc_segment *segment = &segments->segment[row->segment];
    const bc_callout *callout = row->callout;
    return segment->part == NULL && row->gradient == NULL &&
           ((callout->quantity == BC_R && callout->sense == BC_AT_MOST) ||
            (callout->quantity == BC_T && callout->sense == BC_AT_LEAST && !bc_surface_absorbs(segment->surface)));
}

/* The weight of |rho|^2 at every wavelength of a segment, from all its square rows. */
static bool gather_weights(bc_merit *merit, const bc_segments *segments, size_t s, const double *z)
{
    const bc_segment *segment = &segments->segment[s];
    const bool normal = bc_surface_is_normal(segment->surface);
    const double grows = segment->thickness_factor;
    bool any = false;
    memset(merit->plane_weight[0], 0, segment->count * sizeof(double));
    memset(merit->plane_weight[1], 0, segment->count * sizeof(double));
    for (size_t r = 0; r < segments->rows; r++) {
        const bc_row *row = &segments->row[r];
        const double counts = bc_row_share(row, s);
        if (counts == 0.0 || !is_square(segments, row))
            continue;
        any = true;
        for (unsigned p = 0; p < 2; p++) {
            const double factor = counts * 2.0 * fabs(row->factor) * row->share[p] * grows * grows;
            double *weight = merit->plane_weight[normal ? 0 : p];
            if (row->callout->statistic == BC_EXTREME)
                for (size_t i = 0; i < segment->count; i++)
                    weight[i] += factor * z[row->first + i];
            else
                for (size_t i = 0; i < segment->count; i++)
                    weight[i] += factor * z[row->first] * segment->weight[i];
        }
    }
    return any;
}

/* z and the slopes are those of the scenario. The factors of its thicknesses, within percents of 1, are left out: this
 * is a model of the curvature, not a derivative. */
static void add_scenario_hessian(bc_merit *merit, const bc_segments *segments, size_t first, const double *z,
                                 double *hessian)
{
    for (size_t s = 0; s < segments->count; s++) {
        const bc_surface *surface = segments->segment[s].surface;
        const size_t count = segments->segment[s].count;
        if (!gather_weights(merit, segments, s, z))
            continue;
        for (unsigned p = 0; p < (bc_surface_is_normal(surface) ? 1U : 2U); p++) {
            const double *re = bc_surface_drho_re(surface, (bc_plane)p, 0);
            const double *im = bc_surface_drho_im(surface, (bc_plane)p, 0);
            const size_t stride = (size_t)(bc_surface_drho_re(surface, (bc_plane)p, 1) - re);
            bc_add_gram(merit->layers, count, re, stride, merit->plane_weight[p], merit->gram, hessian);
            bc_add_gram(merit->layers, count, im, stride, merit->plane_weight[p], merit->gram, hessian);
        }
    }
    for (size_t r = 0; r < segments->rows; r++) {
        const bc_row *row = &segments->row[r];
        if (is_square(segments, row))
            continue;
        for (size_t i = 0; i < row->count; i++)
            merit->weight[i] = z[row->first + i] / (2.0 * fmax(merit->u[first + row->first + i], 1e-6));
        bc_add_gram(merit->layers, row->count, merit->slope + first + row->first, merit->constraints, merit->weight,
                    merit->gram, hessian);
    }
}

void bc_merit_add_hessian(bc_merit *merit, const double *z, double *hessian)
{
    for (size_t s = 0; s < merit->scenarios; s++)
        add_scenario_hessian(merit, &merit->scenario[s], s * merit->each, z + s * merit->each, hessian);
}

/* sum over one row of z du for an inserted layer, from dR of the front. */
static double row_insertion(const bc_segment *segment, const bc_row *row, const double *z, const double *dR,
                            double share)
{
    const double sign = row->callout->quantity == BC_R ? 1.0 : row->callout->quantity == BC_T ? -1.0 : 0.0;
    const double *weight = weights_of(row, segment);
    double sum = 0.0;
    for (size_t i = 0; i < segment->count; i++)
        sum += dR[i] * (row->callout->statistic == BC_EXTREME ? z[row->first + i] : z[row->first] * weight[i]);
    return sign * share * row->factor * segment->thickness_factor * sum;
}

double bc_merit_insertion(bc_merit *merit, const double *z, size_t before, unsigned material)
{
    double sum = 0.0;
    for (size_t s = 0; s < merit->scenario[0].count; s++) {
        const bc_segment *segment = &merit->scenario[0].segment[s];
        for (unsigned p = 0; p < 2; p++) {
            const double *re = bc_surface_rho_re(segment->surface, (bc_plane)p);
            const double *im = bc_surface_rho_im(segment->surface, (bc_plane)p);
            bc_surface_insertion(segment->surface, (bc_plane)p, before, material, merit->drho[0], merit->drho[1]);
            for (size_t i = 0; i < segment->count; i++)
                merit->weight[i] = 2.0 * (re[i] * merit->drho[0][i] + im[i] * merit->drho[1][i]);
            for (size_t r = 0; r < merit->scenario[0].rows; r++) {
                const bc_row *row = &merit->scenario[0].row[r];
                const double counts = bc_row_share(row, s);
                if (counts > 0.0 && row->share[p] > 0.0)
                    sum += row_insertion(segment, row, z, merit->weight, counts * row->share[p]);
            }
        }
    }
    return sum;
}
