/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exploration.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NEAR      0.05 /* of the total thickness: designs that differ less have the same neighbours */
#define WORTH_IT  2.0  /* times the best limit_used: what is above it is not explored */
#define EVERY_NTH 3    /* looks at designs of one layer less */

static bool near_to(const bc_recipe *a, const bc_recipe *b)
{
    double differ = 0.0;
    if (a->layers != b->layers)
        return false;
    for (size_t j = 0; j < a->layers; j++) {
        if (a->material[j] != b->material[j])
            return false;
        differ += fabs(a->thickness_nm[j] - b->thickness_nm[j]);
    }
    return differ < NEAR * bc_recipe_total_nm(b);
}

static bool was_explored(const bc_exploration *e, const bc_recipe *design)
{
    for (size_t k = 0; k < e->count; k++)
        if (near_to(design, &e->done[k]))
            return true;
    return false;
}

/* The best design of so many layers whose neighbours were not looked at; NULL when there is none. */
static const bc_recipe *find_next(const bc_exploration *e, const bc_best *best, size_t layers, double most)
{
    const bc_best_of_count *of = &best->of[layers];
    for (size_t k = 0; k < of->count && of->design[k].limit_used <= most; k++)
        if (!was_explored(e, &of->design[k]))
            return &of->design[k];
    return NULL;
}

static bc_status remember(bc_exploration *e, const bc_recipe *design)
{
    bc_status status;
    if (e->count == e->capacity) {
        const size_t capacity = 2 * e->capacity + 16;
        bc_recipe *more = realloc(e->done, capacity * sizeof *more);
        if (more == NULL)
            return BC_ERROR_MEMORY;
        e->done = more;
        e->capacity = capacity;
    }
    status = bc_recipe_alloc(design->layers + 1, &e->done[e->count], NULL);
    if (status == BC_OK)
        bc_recipe_copy(design, &e->done[e->count++]);
    return status;
}

bc_status bc_explore_pool(bc_multistart *d, bc_exploration *e, size_t layers, const bc_pool_limits *limits)
{
    bc_status status = BC_OK;
    for (size_t extras = 0; status == BC_OK && extras < limits->extras && !bc_multistart_stopped(d); extras++) {
        const double most = WORTH_IT * bc_best_limit_used(&d->best, layers);
        const size_t fewer = layers > 1 ? layers - 1 : layers;
        const size_t first = extras % EVERY_NTH == EVERY_NTH - 1 ? fewer : layers;
        const bc_recipe *next = find_next(e, &d->best, first, most);
        if (next == NULL)
            next = find_next(e, &d->best, first == layers ? fewer : layers, most);
        if (next == NULL || next->layers == 0 || bc_search_work(d->search) >= limits->work)
            break;
        status = remember(e, next);
        if (status == BC_OK)
            bc_multistart_explore(d, &e->done[e->count - 1], true, layers, &d->best);
    }
    return status;
}

void bc_exploration_clear(bc_exploration *e)
{
    for (size_t k = 0; k < e->count; k++)
        bc_recipe_clear(&e->done[k]);
    free(e->done);
    memset(e, 0, sizeof *e);
}
