/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "ladder.h"
#include "add_layer.h"
#include "found.h"
#include "merit.h"
#include <bloomcoat/draft.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define STARTS        5      /* designs of one number of layers that are refined under errors */
#define AGAIN         2      /* and those refined once more, from where that ended */
#define RAISED        1      /* whose yield is raised, in each of two orders */
#define ROUNDS        12     /* at most */
#define PERFECT       0.9995 /* yield to which nothing need be added */
#define HOPELESS      2.0    /* the factor of a design to which a layer more would add too little */
#define BETTER        0.99   /* times the factor with fewer layers: a layer more was of use; */
#define MOST_IDLE     3      /* after so many that were not, none is added */
#define WORTH_RAISING 1.3    /* times the lowest factor with fewer layers */
#define DECIDED       0.99   /* a yield that a forecast decides */
#define REFINEMENTS   40.0   /* of one number of layers, about; */
#define STEPS         25.0   /* and of each of them */
#define GROWN_UNDER   2.0    /* standard deviations a design with a new layer is refined under */

/* Standard deviations that a refinement holds out against: first, and once more. */
static const double spreads[] = {1.8, 3.0, 4.5}, spreads_again[] = {2.4, 3.7, 6.0};
#define SPREADS       (sizeof spreads / sizeof *spreads)
#define SHARE_WITHOUT 0.9 /* of the progress, where a design is as asked */

/* Take all that are near to it; returns whether this step was made of one of them already. */
static bool take(const bc_pool *pool, size_t which, bc_made step, bool *taken)
{
    bool made = false;
    for (size_t i = 0; i < pool->count; i++)
        if (bc_pool_near(&pool->design[i].stack, &pool->design[which].stack)) {
            taken[i] = true;
            made = made || (pool->design[i].made & step) != 0;
        }
    return made;
}

/* The order of designs, whatever yield is asked for. */
typedef enum order { BY_FACTOR, BY_YIELD } order;

static bool comes_before(const bc_forecast *a, const bc_forecast *b, order by)
{
    if (by == BY_YIELD && a->yield != b->yield)
        return a->yield > b->yield;
    return a->usual_factor < b->usual_factor;
}

/* The next best design with so many layers; pool->count: none is left. */
static size_t next_best(const bc_pool *pool, size_t layers, order by, const bool *taken)
{
    size_t best = pool->count;
    for (size_t i = 0; i < pool->count; i++)
        if (!taken[i] && pool->design[i].stack.layers == layers &&
            (best == pool->count || comes_before(&pool->design[i].forecast, &pool->design[best].forecast, by)))
            best = i;
    return best;
}

/* Whether no run fails with one of the designs: then nothing need be made better. */
static bool is_perfect(const bc_pool *pool, size_t layers)
{
    for (size_t i = 0; i < pool->count; i++)
        if (pool->design[i].stack.layers == layers && pool->design[i].forecast.yield >= PERFECT)
            return true;
    return false;
}

/* Refine the best `starts` designs with so many layers under each of these spreads. */
static bc_status refine_best(bc_pool *pool, size_t layers, bc_made step, size_t starts, const double *spread,
                             bc_error *error)
{
    bool *taken = calloc(pool->count + 1, sizeof *taken);
    bc_making *making = calloc(starts * SPREADS, sizeof *making);
    size_t count = 0;
    bc_status status = taken == NULL || making == NULL ? bc_fail_memory(error) : BC_OK;
    for (size_t k = 0; status == BC_OK && k < starts; k++) {
        const size_t i = next_best(pool, layers, BY_FACTOR, taken);
        if (i == pool->count)
            break;
        if (take(pool, i, step, taken))
            continue;
        pool->design[i].made |= step;
        for (size_t s = 0; s < SPREADS; s++)
            making[count++] = (bc_making){
                .problem = pool->problem, .start = &pool->design[i].stack, .spread = spread[s], .step = step};
    }
    if (status == BC_OK)
        status = bc_pool_make(pool, count, making, NULL, error);
    free(taken);
    free(making);
    return status;
}

/* Raise the yields of the best designs with so many layers, in both orders. */
static bc_status raise_best(bc_pool *pool, size_t layers, bc_error *error)
{
    bool *taken = calloc(pool->count + 1, sizeof *taken);
    bc_making making[2 * RAISED];
    size_t count = 0;
    bc_status status = taken == NULL ? bc_fail_memory(error) : BC_OK;
    memset(making, 0, sizeof making);
    for (size_t k = 0; status == BC_OK && k < 2 * RAISED; k++) {
        const size_t i = next_best(pool, layers, k < RAISED ? BY_FACTOR : BY_YIELD, taken);
        if (i == pool->count)
            break;
        taken[i] = true;
        if ((pool->design[i].made & BC_MADE_YIELD) != 0)
            continue;
        pool->design[i].made |= BC_MADE_YIELD;
        making[count++] = (bc_making){
            .problem = pool->problem, .start = &pool->design[i].stack, .rounds = ROUNDS, .step = BC_MADE_YIELD};
    }
    if (status == BC_OK)
        status = bc_pool_make(pool, count, making, NULL, error);
    free(taken);
    return status;
}

static bc_status refine_grown(bc_pool *pool, size_t count, const bc_stack *grown, bc_error *error)
{
    bc_making *making = calloc(count, sizeof *making);
    bc_status status = making == NULL ? bc_fail_memory(error) : BC_OK;
    for (size_t g = 0; status == BC_OK && g < count; g++)
        making[g] = (bc_making){.problem = pool->problem, .start = &grown[g], .spread = GROWN_UNDER};
    if (status == BC_OK)
        status = bc_pool_make(pool, count, making, NULL, error);
    free(making);
    return status;
}

/* Designs with so many layers, from the best with one or two fewer, where these leave something to be gained. */
static bc_status grow_to(bc_pool *pool, size_t layers, size_t more, bc_error *error)
{
    static const bc_made grown_by[] = {BC_MADE_LAYER_MORE, BC_MADE_TWO_MORE};
    bool *taken = calloc(pool->count + 1, sizeof *taken);
    bc_stack *grown = calloc(bc_add_layer_most(layers, pool->problem->materials) + 1, sizeof *grown);
    size_t count = 0, from;
    bc_status status = taken == NULL || grown == NULL ? bc_fail_memory(error) : BC_OK;
    if (status == BC_OK && (from = next_best(pool, layers - more, BY_FACTOR, taken)) < pool->count &&
        !is_perfect(pool, layers - more) && pool->design[from].forecast.usual_factor < HOPELESS &&
        (pool->design[from].made & grown_by[more - 1]) == 0) {
        pool->design[from].made |= grown_by[more - 1];
        status = bc_add_layer(pool->problem, &pool->design[from].stack, more, grown, &count, error);
    }
    if (status == BC_OK && count > 0)
        status = refine_grown(pool, count, grown, error);
    while (grown != NULL && count > 0)
        bc_stack_clear(&grown[--count]);
    free(taken);
    free(grown);
    return status;
}

static double best_factor(const bc_pool *pool, size_t layers)
{
    double best = INFINITY;
    for (size_t i = 0; i < pool->count; i++)
        if (pool->design[i].stack.layers == layers)
            best = fmin(best, pool->design[i].forecast.usual_factor);
    return best;
}

/* One more step of the ladder: `grows` says whether layers are added to designs with fewer. */
static bc_status climb(bc_pool *pool, size_t layers, bool grows, double best, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t more = 1; status == BC_OK && grows && more <= 2 && more < layers; more++)
        status = grow_to(pool, layers, more, error);
    if (status == BC_OK)
        status = refine_best(pool, layers, BC_MADE_ROBUST_AGAIN, AGAIN, spreads_again, error);
    if (status == BC_OK && best_factor(pool, layers) < WORTH_RAISING * best)
        status = raise_best(pool, layers, error);
    return status;
}

/* Nothing is gained by a layer more where no run fails, and where hours, not yields, are what is preferred; a yield
 * asked for so high that a forecast cannot decide it is decided by more runs. */
static bool suffices(const bc_pool *pool, size_t layers)
{
    return pool->request->prefer != BC_PREFER_YIELD && pool->request->yield <= DECIDED && is_perfect(pool, layers);
}

/* Of all that is made of designs with so many layers: each step of a refinement evaluates every error, both ways. */
static double expected_work(const bc_pool *pool, size_t layers)
{
    const double n = (double)(layers + 1);
    return REFINEMENTS * STEPS * pool->samples * 4.0 * n * n * n;
}

static bc_status count_samples(bc_pool *pool, bc_error *error)
{
    bc_merit *merit = NULL;
    const bc_status status = bc_merit_alloc(pool->problem, BC_DENSITY_SEARCH, 1, BC_NO_FRINGES, &merit, error);
    if (status == BC_OK)
        pool->samples = (double)bc_merit_constraints(merit);
    bc_merit_free(merit);
    return status;
}

static bool has_layers(const bc_pool *pool, size_t layers)
{
    for (size_t i = 0; i < pool->count; i++)
        if (pool->design[i].stack.layers == layers)
            return true;
    return false;
}

/* Whether one number of layers more would be too much work; it is counted as done where not. */
static bool is_too_much(bc_pool *pool, size_t layers)
{
    const double most = BC_MOST_LADDER_WORK * fmax(pool->request->effort, 1.0), more = expected_work(pool, layers);
    if (!has_layers(pool, layers))
        return false;
    if (pool->work + more > most)
        return true;
    pool->work += more;
    return false;
}

static bc_status climb_to(bc_pool *pool, size_t layers, size_t *idle, double *best, bc_error *error)
{
    bc_status status = refine_best(pool, layers, BC_MADE_ROBUST, STARTS, spreads, error);
    if (status == BC_OK && !is_perfect(pool, layers)) {
        status = climb(pool, layers, *idle < MOST_IDLE && layers <= BC_MANY_LAYERS, *best, error);
        *idle = best_factor(pool, layers) < BETTER * *best ? 0 : *idle + 1;
        *best = fmin(*best, best_factor(pool, layers));
    }
    return status;
}

static bool is_as_asked(const bc_quote_request *request, const bc_forecast *forecast)
{
    return forecast->limit_used <= 1.0 && (isnan(forecast->yield) || forecast->yield >= request->yield);
}

void bc_ladder_report(bc_pool *pool, const bc_ladder_part *part, double fraction, double limit_used)
{
    double share = pool->share;
    if (share == 0.0) {
        share = BC_SHARE_WITH_EXCEPTIONS;
        for (size_t i = 0; i < pool->count; i++)
            if (is_as_asked(pool->request, &pool->design[i].forecast))
                share = SHARE_WITHOUT;
    }
    fraction = part->from + (part->to - part->from) * fraction;
    bc_watch_report(pool->watch, share * (pool->part.from + (pool->part.to - pool->part.from) * fraction), limit_used);
}

bc_status bc_ladder_climb(bc_pool *pool, size_t most, const bc_ladder_part *part, size_t *enough, bc_error *error)
{
    double best = INFINITY, all = 0.0, done = 0.0;
    size_t idle = 0;
    bc_status status = pool->samples > 0.0 ? BC_OK : count_samples(pool, error);
    *enough = 0;
    for (size_t layers = 1; layers <= most; layers++)
        all += expected_work(pool, layers);
    for (size_t layers = 1; status == BC_OK && layers <= most && *enough == 0 && !bc_watch_stopped(pool->watch);
         layers++) {
        if (!is_perfect(pool, layers)) {
            if (is_too_much(pool, layers))
                break;
            status = climb_to(pool, layers, &idle, &best, error);
            if (status == BC_OK)
                status = bc_show_designs(pool, error);
        }
        if (suffices(pool, layers))
            *enough = layers;
        done += expected_work(pool, layers);
        bc_ladder_report(pool, part, done / all, pool->watch->limit_used);
    }
    return status;
}
