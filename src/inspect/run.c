/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspection.h"
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CHANCE           0.01 /* a simpler story is dropped when chance alone would speak against it as often as this */
#define STEPS            30
#define LAYERS_LOOKED_AT 8
#define NO_DIFFERENCE    1e-4 /* a design that leaves this rms at most is what was made */

/* Stories, each by the number of figures it needs: the thicknesses base + map theta. */
typedef struct teller {
    bc_inspection *inspection;
    bc_fit *fit;
    bc_arena arena;
    double *base, *map, *theta, *sigma, *design;
    bc_fit_point point;
    double free_chi_squared; /* of all layers free */
    bool found;
} teller;

static void lay_out(teller *t, bc_arena *arena)
{
    const size_t layers = t->fit->layers, most = layers + t->fit->materials + 2;
    t->design = bc_arena_take(arena, layers, sizeof(double));
    t->base = bc_arena_take(arena, layers, sizeof(double));
    t->map = bc_arena_take(arena, layers * most, sizeof(double));
    t->theta = bc_arena_take(arena, most, sizeof(double));
    t->sigma = bc_arena_take(arena, most, sizeof(double));
    t->point.thickness_nm = bc_arena_take(arena, layers, sizeof(double));
    t->point.dn = bc_arena_take(arena, t->fit->materials, sizeof(double));
}

static bc_status tell(teller *t, size_t free, bool index, bc_error *error)
{
    const bc_family family = {.free = free, .base = t->base, .map = t->map, .index = index};
    memset(t->point.shared, 0, sizeof t->point.shared);
    memset(t->point.dn, 0, t->fit->materials * sizeof(double));
    return bc_fit_minimize(t->fit, &family, t->theta, t->sigma, STEPS, &t->point, error);
}

/* Whether a story of `used` figures explains the scan as well as all layers free do. */
static bool holds(const teller *t, size_t used)
{
    const size_t all = t->fit->layers + (t->fit->has_index ? t->fit->materials : 0);
    const double worse = t->point.chi_squared - t->free_chi_squared;
    return all <= used ? worse <= 1e-6 * (1.0 + t->free_chi_squared)
                       : worse <= gsl_cdf_chisq_Qinv(CHANCE, (double)(all - used));
}

static void settle(teller *t, bc_run run)
{
    t->found = true;
    t->inspection->result->run = run;
    memcpy(t->inspection->model_nm, t->point.thickness_nm, t->fit->layers * sizeof(double));
}

static bc_status as_designed(teller *t, bc_error *error)
{
    double rms, in_noise;
    bc_status status;
    memcpy(t->base, t->design, t->fit->layers * sizeof(double));
    status = tell(t, 0, false, error);
    if (status != BC_OK)
        return status;
    bc_fit_residual(t->fit, &t->point, &rms, &in_noise);
    if (holds(t, 0) || rms <= NO_DIFFERENCE)
        settle(t, BC_RUN_AS_DESIGNED);
    return BC_OK;
}

/* The common factor is told whether or not it is the story. */
static bc_status common_factor(teller *t, double start, bc_error *error)
{
    bc_inspect_result *result = t->inspection->result;
    double in_noise, points = (double)t->fit->rows;
    bc_status status;
    memset(t->base, 0, t->fit->layers * sizeof(double));
    memcpy(t->map, t->design, t->fit->layers * sizeof(double));
    t->theta[0] = start;
    status = tell(t, 1, false, error);
    if (status != BC_OK)
        return status;
    bc_fit_residual(t->fit, &t->point, &result->scale_rms, &in_noise);
    result->scale = fabs(t->theta[0]);
    /* sigma is in terms of the noise as the fit took it; what this story leaves may be more. */
    result->scale_sigma = t->sigma[0] * fmax(1.0, sqrt(t->point.chi_squared / fmax(1.0, points - 1.0)));
    if (!t->found && holds(t, 1))
        settle(t, BC_RUN_FACTOR);
    return BC_OK;
}

/* Layer `off` free, the others the design times a factor or as they are. */
static bc_status one_layer(teller *t, size_t off, bool with_factor, bc_error *error)
{
    const size_t free = with_factor ? 2 : 1;
    for (size_t j = 0; j < t->fit->layers; j++) {
        t->base[j] = with_factor || j == off ? 0.0 : t->design[j];
        t->map[j * free] = j == off ? 1.0 : 0.0;
        if (with_factor)
            t->map[j * free + 1] = j == off ? 0.0 : t->design[j];
    }
    t->theta[0] = t->inspection->solution.point.thickness_nm[off];
    t->theta[1] = 1.0;
    return tell(t, free, false, error);
}

/* How many layers stand out more than layer `j`. */
static size_t rank_of(const teller *t, size_t j)
{
    const bc_layer_found *layer = t->inspection->result->layer;
    const double own = fabs(layer[j].beyond) * layer[j].design_nm / layer[j].sigma_nm;
    size_t rank = 0;
    for (size_t i = 0; i < t->fit->layers; i++) {
        const double other = fabs(layer[i].beyond) * layer[i].design_nm / layer[i].sigma_nm;
        rank += other > own || (other == own && i < j);
    }
    return rank;
}

static bc_status best_layer(teller *t, bool with_factor, bc_error *error)
{
    const size_t layers = t->fit->layers;
    size_t best = layers;
    double least = INFINITY;
    bc_status status = BC_OK;
    for (size_t j = 0; status == BC_OK && j < layers; j++) {
        if (rank_of(t, j) >= LAYERS_LOOKED_AT)
            continue;
        status = one_layer(t, j, with_factor, error);
        if (t->point.chi_squared < least) {
            least = t->point.chi_squared;
            best = j;
        }
    }
    if (status != BC_OK || best == layers)
        return status;
    status = one_layer(t, best, with_factor, error);
    if (status == BC_OK && holds(t, with_factor ? 2 : 1)) {
        t->inspection->result->layer_off = best;
        settle(t, BC_RUN_ONE_LAYER);
    }
    return status;
}

static bc_status by_material(teller *t, bc_error *error)
{
    const size_t layers = t->fit->layers, materials = t->fit->materials;
    bc_status status;
    memset(t->base, 0, layers * sizeof(double));
    for (size_t j = 0; j < layers; j++)
        for (size_t m = 0; m < materials; m++)
            t->map[j * materials + m] = t->fit->sight.material[j] == m ? t->design[j] : 0.0;
    for (size_t m = 0; m < materials; m++)
        t->theta[m] = t->inspection->result->material[m].factor;
    status = tell(t, materials, false, error);
    if (status == BC_OK && holds(t, materials))
        settle(t, BC_RUN_MATERIALS);
    return status;
}

static bc_status by_index(teller *t, bc_error *error)
{
    bc_status status;
    memset(t->base, 0, t->fit->layers * sizeof(double));
    memcpy(t->map, t->design, t->fit->layers * sizeof(double));
    t->theta[0] = t->inspection->result->scale;
    status = tell(t, 1, true, error);
    if (status == BC_OK && holds(t, 1 + t->fit->materials))
        settle(t, BC_RUN_INDEX);
    return status;
}

/* The stories, the ones with the fewest figures first. */
static bc_status tell_all(teller *t, bc_error *error)
{
    const size_t layers = t->fit->layers, materials = t->fit->materials;
    bc_status status = as_designed(t, error);
    if (status == BC_OK && layers > 0)
        status = common_factor(t, t->inspection->solution.scale, error);
    if (status == BC_OK && !t->found && layers > 1)
        status = best_layer(t, false, error);
    if (status == BC_OK && !t->found && layers > 2)
        status = best_layer(t, true, error);
    if (status == BC_OK && !t->found && materials < layers)
        status = by_material(t, error);
    if (status == BC_OK && !t->found && t->fit->has_index)
        status = by_index(t, error);
    if (status == BC_OK && !t->found) {
        memcpy(t->point.thickness_nm, t->inspection->solution.point.thickness_nm, layers * sizeof(double));
        settle(t, BC_RUN_LAYERS);
    }
    return status;
}

static void tell_the_others(bc_inspect_result *result)
{
    result->others_within = 0.0;
    for (size_t j = 0; j < result->layers; j++) {
        const bc_layer_found *layer = &result->layer[j];
        if (j != result->layer_off && layer->known && layer->design_nm > 0.0)
            result->others_within =
                fmax(result->others_within,
                     (fabs(layer->fitted_nm - layer->design_nm) + 1.96 * layer->sigma_nm) / layer->design_nm);
    }
}

/* All layers free, with no more than weak priors: what the simpler stories are held against. */
static bc_status free_layers(teller *t, bc_error *error)
{
    const bc_family family = {.free = t->fit->layers, .index = t->fit->has_index};
    const bc_fit_point *from = &t->inspection->solution.point;
    bc_status status;
    bc_fit_forget_process(t->fit);
    memcpy(t->point.thickness_nm, from->thickness_nm, t->fit->layers * sizeof(double));
    memcpy(t->point.dn, from->dn, t->fit->materials * sizeof(double));
    memcpy(t->point.shared, from->shared, sizeof from->shared);
    status = bc_fit_minimize(t->fit, &family, NULL, NULL, STEPS, &t->point, error);
    t->free_chi_squared = t->point.chi_squared;
    return status;
}

bc_status bc_tell_run(bc_inspection *inspection, bc_error *error)
{
    teller t = {.inspection = inspection, .fit = &inspection->fit};
    bc_status status;
    lay_out(&t, &t.arena);
    status = bc_arena_open(&t.arena, error);
    if (status != BC_OK)
        return status;
    lay_out(&t, &t.arena);
    for (size_t j = 0; j < t.fit->layers; j++)
        t.design[j] = inspection->setup->design->layer[j].thickness_nm;
    inspection->result->scale = 1.0;
    status = free_layers(&t, error);
    if (status == BC_OK)
        status = tell_all(&t, error);
    if (status == BC_OK && inspection->result->run == BC_RUN_ONE_LAYER)
        tell_the_others(inspection->result);
    if (status == BC_OK && !inspection->result->good_fit)
        inspection->result->run = BC_RUN_NO_FIT;
    free(t.arena.memory);
    return status;
}
