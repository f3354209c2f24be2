/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cause.h"
#include "differ.h"
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define FEW_STEPS    6   /* to see whether a candidate may be the one */
#define STEPS        40  /* to settle it */
#define LOOKED_AT    10  /* candidates that are settled */
#define GOOD_ENOUGH  1.2 /* times the noise */
#define LOOKS        45
#define LOWEST       0.3
#define HIGHEST      1.75
#define ANGLES       23
#define ANGLE_STEP   (2.5 * M_PI / 180.0)
#define FARTHEST     (60.0 * M_PI / 180.0)
#define NOT_POSSIBLE (-1e30)

/* One candidate being fitted. */
typedef struct trial {
    bc_stack stack;
    bc_fit fit;
    bc_fit_point point;
    bc_arena arena;
} trial;

static void close_trial(trial *t)
{
    bc_fit_close(&t->fit);
    free(t->arena.memory);
    bc_stack_clear(&t->stack);
}

static void lay_out_point(trial *t, bc_arena *arena)
{
    t->point.thickness_nm = bc_arena_take(arena, t->fit.layers, sizeof(double));
    t->point.dn = bc_arena_take(arena, t->fit.materials, sizeof(double));
}

static bc_status open_trial(const bc_inspection *inspection, const bc_candidate *c, trial *t, bc_error *error)
{
    bc_fit_setup setup = bc_fit_setup_of(inspection);
    bc_back back = *setup.back;
    bc_status status;
    memset(t, 0, sizeof *t);
    status = bc_candidate_stack(inspection, c, &t->stack, error);
    if (status != BC_OK)
        return status;
    if (c->cause.kind == BC_CAUSE_BACK_SEEN || c->cause.kind == BC_CAUSE_BARE)
        back.kind = c->cause.back;
    setup.stack = &t->stack;
    setup.back = &back;
    setup.aoi_rad = c->aoi_rad;
    setup.extra = &c->extra;
    setup.fit_index = false; /* an index that may be anything is a cause of its own */
    setup.usual_scatter = BC_USUAL_SCATTER;
    setup.weak = false;
    setup.readings = inspection->fit.setup.readings; /* without a loss that was found */
    memcpy(setup.reading, inspection->fit.setup.reading, sizeof setup.reading);
    memcpy(setup.seen_as, inspection->fit.setup.seen_as, sizeof setup.seen_as);
    status = bc_fit_open(&setup, &t->fit, error);
    if (status != BC_OK)
        return status;
    lay_out_point(t, &t->arena);
    status = bc_arena_open(&t->arena, error);
    if (status == BC_OK)
        lay_out_point(t, &t->arena);
    return status;
}

static bool is_struck(const bc_fit *fit, const bc_candidate *c, size_t j)
{
    return c->cause.kind == BC_CAUSE_LAYER             ? c->cause.layer[0] == j
           : c->cause.kind == BC_CAUSE_MATERIAL_FACTOR ? c->material == fit->simulated.material[j]
                                                       : c->cause.kind == BC_CAUSE_COMMON_FACTOR;
}

static void set_thicknesses(trial *t, const bc_candidate *c, double factor)
{
    for (size_t j = 0; j < t->fit.layers; j++)
        t->point.thickness_nm[j] = t->stack.layer[j].thickness_nm * (is_struck(&t->fit, c, j) ? factor : 1.0);
}

/* Where to begin: a factor by a look at many, random errors from the layers as they were fitted freely. */
static void set_start(const bc_inspection *inspection, trial *t, bc_candidate *c)
{
    const bool has_factor = c->cause.kind == BC_CAUSE_LAYER || c->cause.kind == BC_CAUSE_MATERIAL_FACTOR;
    double least = INFINITY, best = c->start;
    for (size_t i = 0; has_factor && i < LOOKS; i++) {
        const double factor = LOWEST + (HIGHEST - LOWEST) * (double)i / (double)(LOOKS - 1);
        double chi_squared;
        set_thicknesses(t, c, factor);
        chi_squared = bc_fit_chi_squared(&t->fit, t->point.thickness_nm);
        if (chi_squared < least) {
            least = chi_squared;
            best = factor;
        }
    }
    set_thicknesses(t, c, best);
    if (c->cause.kind == BC_CAUSE_RANDOM && c->extra.scatter > 0.0)
        memcpy(t->point.thickness_nm, inspection->solution.point.thickness_nm, t->fit.layers * sizeof(double));
    if (c->extra.common > 0.0)
        t->point.shared[BC_SHARED_COMMON] = (best - 1.0) / c->extra.common;
}

/* Fit in `steps` and weigh. */
static bc_status weigh(bc_inspection *inspection, bc_candidate *c, trial *t, unsigned steps, double inflation,
                       bc_error *error)
{
    const bc_family family = {.free = t->fit.layers, .index = t->fit.has_index};
    double evidence;
    bc_status status;
    t->fit.inflation = inflation;
    set_start(inspection, t, c);
    status = bc_fit_minimize(&t->fit, &family, NULL, NULL, steps, &t->point, error);
    if (status == BC_OK)
        status = bc_fit_evidence(&t->fit, &t->point, &evidence, error);
    if (status != BC_OK)
        return status;
    bc_fit_residual(&t->fit, &t->point, &c->cause.rms, &c->cause.residual);
    c->score = c->prior + evidence;
    inspection->result->fits += t->fit.fits;
    return BC_OK;
}

/* What no table reaches cannot be weighed, and is no failure. */
static bc_status try_candidate(bc_inspection *inspection, bc_candidate *c, unsigned steps, double inflation,
                               bc_error *error)
{
    trial t;
    bc_status status = open_trial(inspection, c, &t, error);
    if (status == BC_OK)
        status = weigh(inspection, c, &t, steps, inflation, error);
    close_trial(&t);
    if (status != BC_ERROR_INPUT)
        return status;
    c->failed = true;
    c->score = NOT_POSSIBLE;
    return BC_OK;
}

/* The angle that suits best, and the integral over it: a parabola through the evidence at three angles. */
static bc_status try_angles(bc_inspection *inspection, bc_candidate *c, unsigned steps, double inflation,
                            bc_error *error)
{
    const double said = inspection->setup->aoi_rad;
    double score[ANGLES + 1], best = NOT_POSSIBLE, width;
    size_t at = 0;
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i <= ANGLES; i++) {
        c->aoi_rad = (double)i * ANGLE_STEP;
        score[i] = NOT_POSSIBLE;
        if (fabs(c->aoi_rad - said) < ANGLE_STEP)
            continue;
        status = try_candidate(inspection, c, steps, inflation, error);
        score[i] = c->score;
        if (score[i] > best) {
            best = score[i];
            at = i;
        }
    }
    if (status != BC_OK)
        return status;
    if (best <= NOT_POSSIBLE) {
        c->failed = true;
        return BC_OK;
    }
    width = ANGLE_STEP;
    c->aoi_rad = (double)at * ANGLE_STEP;
    if (at > 0 && at < ANGLES && score[at - 1] > NOT_POSSIBLE && score[at + 1] > NOT_POSSIBLE) {
        const double bend = 2.0 * score[at] - score[at - 1] - score[at + 1];
        if (bend > 0.0) {
            c->aoi_rad += 0.5 * ANGLE_STEP * (score[at + 1] - score[at - 1]) / bend;
            width = ANGLE_STEP / sqrt(bend);
        }
    }
    status = try_candidate(inspection, c, steps, inflation, error);
    c->score += log(fmin(1.0, sqrt(2.0 * M_PI) * width / FARTHEST));
    c->cause.size = c->aoi_rad;
    c->cause.size_sigma = width;
    return status;
}

static bc_status try_one(bc_inspection *inspection, bc_candidate *c, unsigned steps, double inflation, bc_error *error)
{
    return c->cause.kind == BC_CAUSE_ANGLE ? try_angles(inspection, c, steps, inflation, error)
                                           : try_candidate(inspection, c, steps, inflation, error);
}

static int by_score(const void *one, const void *other)
{
    const double a = ((const bc_candidate *)one)->score, b = ((const bc_candidate *)other)->score;
    return (a < b) - (a > b);
}

/* What the best of all leaves is the noise of this model. */
static double inflation_of(const bc_candidates *all)
{
    double residual = INFINITY;
    for (size_t i = 0; i < all->count; i++)
        if (!all->candidate[i].failed)
            residual = fmin(residual, all->candidate[i].cause.residual);
    return residual > GOOD_ENOUGH && isfinite(residual) ? residual : 1.0;
}

/* The first `count` candidates, of which the first `settled` are fitted to the end; done: steps so far, of `steps`. */
static bc_status try_all(bc_inspection *inspection, bc_candidates *all, size_t count, size_t settled, double inflation,
                         double *done, double steps, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i < count; i++) {
        const unsigned of_this = i < settled ? STEPS : FEW_STEPS;
        status = try_one(inspection, &all->candidate[i], of_this, inflation, error);
        *done += of_this;
        bc_say_progress(inspection, BC_STAGE_CAUSE, fmin(*done / steps, 1.0));
    }
    return status;
}

static bc_status weigh_all(bc_inspection *inspection, bc_candidates *all, bc_error *error)
{
    const size_t settled = all->count < LOOKED_AT ? all->count : LOOKED_AT;
    const double first = FEW_STEPS * (double)all->count, second = STEPS * (double)settled;
    /* What the fit of all layers does not explain, no candidate does as a rule: then all are weighed once more. */
    const bool thrice = inspection->solution.residual > GOOD_ENOUGH;
    const double third = second + FEW_STEPS * (double)(all->count - settled);
    const double steps = first + second + (thrice ? third : 0.0);
    double inflation = 1.0, done = 0.0;
    bc_status status = try_all(inspection, all, all->count, 0, inflation, &done, steps, error);
    qsort(all->candidate, all->count, sizeof *all->candidate, by_score);
    if (status == BC_OK)
        status = try_all(inspection, all, settled, settled, inflation, &done, steps, error);
    inflation = inflation_of(all);
    if (status == BC_OK && inflation > 1.0)
        status = try_all(inspection, all, all->count, settled, inflation, &done, steps, error);
    qsort(all->candidate, all->count, sizeof *all->candidate, by_score);
    return status;
}

/* What the best candidate's size is, from its own fit. */
static bc_status find_size(bc_candidate *c, trial *t, bc_error *error)
{
    const bc_fit *fit = &t->fit;
    const size_t size = bc_fit_size(fit), layer = c->cause.layer[0];
    const bc_shared shared = c->cause.kind == BC_CAUSE_WAVELENGTH       ? BC_SHARED_WAVELENGTH
                             : c->cause.kind == BC_CAUSE_READING_SCALE  ? BC_SHARED_SCALE
                             : c->cause.kind == BC_CAUSE_READING_OFFSET ? BC_SHARED_CONSTANT
                                                                        : BC_SHARED_COMMON;
    double *covariance = calloc(size * size + 1, sizeof *covariance), square = 0.0;
    size_t at = bc_fit_place(fit, shared);
    bc_status status;
    if (covariance == NULL)
        return bc_fail_memory(error);
    status = bc_fit_covariance(&t->fit, &t->point, NULL, covariance, error);
    if (status == BC_OK && fit->has[shared]) {
        const double width = shared == BC_SHARED_COMMON ? c->extra.common : fit->width[shared];
        c->cause.size = width * t->point.shared[shared];
        c->cause.size_sigma = width * sqrt(covariance[at * size + at]);
    }
    if (status == BC_OK && (c->cause.kind == BC_CAUSE_LAYER || c->cause.kind == BC_CAUSE_INDEX)) {
        const double unit = c->cause.kind == BC_CAUSE_LAYER ? t->stack.layer[layer].thickness_nm : 1.0;
        at = c->cause.kind == BC_CAUSE_LAYER ? layer : fit->layers + c->material;
        c->cause.size =
            c->cause.kind == BC_CAUSE_LAYER ? t->point.thickness_nm[layer] / unit - 1.0 : t->point.dn[c->material];
        c->cause.size_sigma = sqrt(covariance[at * size + at]) / unit;
    }
    for (size_t j = 0; j < fit->layers; j++)
        square += pow(t->point.thickness_nm[j] / t->stack.layer[j].thickness_nm - 1.0, 2.0) / (double)fit->layers;
    if (c->cause.kind == BC_CAUSE_RANDOM)
        c->cause.size = sqrt(square);
    free(covariance);
    return status;
}

/* Fit the likeliest once more: its size, and its thicknesses where the layers are those of the design. */
static bc_status settle(bc_inspection *inspection, bc_candidate *c, double inflation, bool first, bc_error *error)
{
    trial t;
    bc_status status = open_trial(inspection, c, &t, error);
    if (status == BC_OK)
        status = weigh(inspection, c, &t, STEPS, inflation, error);
    if (status == BC_OK && c->cause.kind != BC_CAUSE_ANGLE)
        status = find_size(c, &t, error);
    for (size_t j = 0; status == BC_OK && first && t.fit.layers == inspection->fit.layers && j < t.fit.layers; j++)
        inspection->model_nm[j] = t.point.thickness_nm[j];
    if (status == BC_OK)
        status = bc_differ_keep(inspection, &t.stack, &t.point, t.fit.materials, first ? 0 : 1, error);
    close_trial(&t);
    return status;
}

static bool same_material(const bc_medium *one, const bc_medium *other)
{
    return one->dispersion == other->dispersion;
}

/* Whether one cause is a factor of a material, and the other the only layer of it. */
static bool is_only_layer(const bc_stack *design, const bc_cause *material, const bc_cause *layer)
{
    size_t count = 0;
    for (size_t j = 0; j < design->layers; j++)
        count += same_material(&design->layer[j].material, &material->material);
    return material->kind == BC_CAUSE_MATERIAL_FACTOR && layer->kind == BC_CAUSE_LAYER && count == 1 &&
           same_material(&design->layer[layer->layer[0]].material, &material->material);
}

/* Whether two candidates say the same: random errors of whatever size, or the only layer of a material off. */
static bool say_the_same(const bc_stack *design, const bc_cause *one, const bc_cause *other)
{
    return (one->kind == other->kind && one->kind == BC_CAUSE_RANDOM) || is_only_layer(design, one, other) ||
           is_only_layer(design, other, one);
}

static void keep(bc_inspection *inspection, bc_candidates *all)
{
    bc_inspect_result *result = inspection->result;
    const double best = all->candidate[0].score;
    for (size_t i = 0; i < all->count && result->causes < BC_CAUSES_KEPT; i++) {
        bc_candidate *c = &all->candidate[i];
        bool known = c->failed;
        for (size_t k = 0; k < result->causes; k++)
            known = known || say_the_same(inspection->setup->design, &result->cause[k], &c->cause);
        if (known)
            continue;
        all->candidate[result->causes] = *c;
        c = &all->candidate[result->causes];
        c->cause.log_odds = c->score - best;
        result->cause[result->causes++] = c->cause;
    }
}

static bool explains(const bc_inspection *inspection, const bc_cause *cause)
{
    const bc_solution like = {.residual = cause->residual, .rms = cause->rms};
    return bc_is_good_fit(inspection, &like);
}

/* The likeliest cause's priors are those of the fit from now on: what the process says does not hold where it struck.
 */
static bc_status adopt(bc_inspection *inspection, const bc_candidate *c, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    bc_fit_setup setup = inspection->fit.setup;
    bc_extra extra = c->extra;
    bc_status status;
    setup.back = &inspection->setup->back;
    setup.weak = false;
    if (c->cause.kind == BC_CAUSE_AS_DESIGNED)
        extra.scatter = 0.0;
    setup.extra = &extra;
    status = bc_fit_again(inspection, &setup, error);
    result->residual = inspection->solution.residual;
    result->good_fit = status == BC_OK && bc_is_good_fit(inspection, &inspection->solution);
    return status;
}

static bc_status conclude(bc_inspection *inspection, bc_candidates *all, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    const double inflation = inflation_of(all);
    bc_status status;
    bc_keep_accounts(inspection, all);
    keep(inspection, all);
    result->cause_odds = NAN;
    if (result->causes == 0 || !explains(inspection, &result->cause[0])) {
        result->causes = 1;
        result->cause[0] = (bc_cause){.kind = BC_CAUSE_UNEXPLAINED,
                                      .size = NAN,
                                      .size_sigma = NAN,
                                      .rms = all->candidate[0].cause.rms,
                                      .residual = all->candidate[0].cause.residual};
        result->good_fit = false;
        return BC_OK;
    }
    result->cause_odds = result->causes > 1 ? exp(fmin(700.0, -result->cause[1].log_odds)) : INFINITY;
    status = settle(inspection, &all->candidate[0], inflation, true, error);
    result->cause[0].size = all->candidate[0].cause.size;
    result->cause[0].size_sigma = all->candidate[0].cause.size_sigma;
    if (status == BC_OK && result->causes > 1) {
        status = settle(inspection, &all->candidate[1], inflation, false, error);
        result->cause[1].size = all->candidate[1].cause.size;
        result->cause[1].size_sigma = all->candidate[1].cause.size_sigma;
        if (status == BC_OK)
            status = bc_differ(inspection, error);
    }
    if (status == BC_OK && bc_keeps_layers(result->cause[0].kind))
        status = adopt(inspection, &all->candidate[0], error);
    else
        result->good_fit = false;
    return status;
}

bc_status bc_find_cause(bc_inspection *inspection, bc_error *error)
{
    bc_candidates all;
    bc_status status = bc_list_candidates(inspection, &all, error);
    if (status != BC_OK)
        return status;
    status = weigh_all(inspection, &all, error);
    if (status == BC_OK)
        status = conclude(inspection, &all, error);
    free(all.candidate);
    return status;
}
