/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "worst.h"
#include <gsl/gsl_randist.h>
#include <gsl/gsl_sort.h>
#include <math.h>
#include <stdlib.h>

#define SEED  314159
#define DRAWS 2000

typedef struct drawing {
    const bc_worst_question *question;
    bc_arena arena;
    gsl_rng *random;
    double *normal, *off, *value, *worst; /* [size], [count], [count], [DRAWS] */
    bc_band band;
} drawing;

static void lay_out(drawing *d, bc_arena *arena)
{
    const size_t count = d->question->curve->count, room = bc_band_room(count);
    d->normal = bc_arena_take(arena, d->question->smooth->size, sizeof(double));
    d->off = bc_arena_take(arena, count, sizeof(double));
    d->value = bc_arena_take(arena, count, sizeof(double));
    d->worst = bc_arena_take(arena, DRAWS, sizeof(double));
    d->band.wavelength_nm = bc_arena_take(arena, room, sizeof(double));
    d->band.value = bc_arena_take(arena, room, sizeof(double));
    d->band.random = bc_arena_take(arena, room, sizeof(double));
    d->band.systematic = bc_arena_take(arena, room, sizeof(double));
}

/* How far the worst of value[] in the band lies beyond a level. */
static double beyond(drawing *d, double level)
{
    const bc_worst_question *question = d->question;
    bc_curve curve = *question->curve;
    double most = -INFINITY;
    curve.value = d->value;
    bc_band_points(&curve, question->callout, question->step_limit_nm, &d->band);
    for (size_t i = 0; i < d->band.count; i++)
        most = fmax(most, question->callout->sense == BC_AT_MOST ? d->band.value[i] - level : level - d->band.value[i]);
    return most;
}

/* value[]: where the true curve may be, about `about` (NULL: 0). */
static void draw(drawing *d)
{
    const bc_worst_question *question = d->question;
    const double freedom = question->smooth->freedom;
    const double scale = sqrt(freedom / gsl_ran_chisq(d->random, freedom));
    const double b = gsl_ran_ugaussian(d->random);
    for (size_t v = 0; v < question->smooth->size; v++)
        d->normal[v] = gsl_ran_ugaussian(d->random);
    bc_smooth_draw(question->smooth, question->callout->quantity, d->normal, scale, d->off);
    for (size_t i = 0; i < question->curve->count; i++)
        d->off[i] = question->stretch[i] * d->off[i] + b * question->curve->systematic[i];
}

static void look(drawing *d, bc_worst *worst)
{
    const bc_curve *curve = d->question->curve;
    const double limit = d->question->callout->limit;
    double excess;
    size_t meet = 0, as_far = 0;
    for (size_t i = 0; i < curve->count; i++)
        d->value[i] = curve->value[i];
    excess = beyond(d, limit);
    for (size_t n = 0; n < DRAWS; n++) {
        draw(d);
        for (size_t i = 0; i < curve->count; i++)
            d->value[i] = curve->value[i] + d->off[i];
        d->worst[n] = beyond(d, limit);
        meet += d->worst[n] <= 0.0;
        for (size_t i = 0; i < curve->count; i++)
            d->value[i] = d->off[i];
        as_far += beyond(d, 0.0) >= excess;
    }
    gsl_sort(d->worst, 1, DRAWS);
    worst->probability = (double)meet / DRAWS;
    worst->excess_probability = excess > 0.0 ? (double)as_far / DRAWS : 1.0;
    worst->margin = -d->worst[(size_t)ceil(d->question->confidence * DRAWS) - 1];
}

bc_status bc_worst_of(const bc_worst_question *question, bc_worst *worst, bc_error *error)
{
    drawing d = {.question = question};
    bc_status status;
    *worst = (bc_worst){NAN, NAN, NAN};
    lay_out(&d, &d.arena);
    status = bc_arena_open(&d.arena, error);
    if (status != BC_OK)
        return status;
    lay_out(&d, &d.arena);
    d.random = gsl_rng_alloc(gsl_rng_mt19937);
    if (d.random != NULL) {
        gsl_rng_set(d.random, SEED);
        look(&d, worst);
    } else {
        status = bc_fail_memory(error);
    }
    gsl_rng_free(d.random);
    free(d.arena.memory);
    return status;
}
