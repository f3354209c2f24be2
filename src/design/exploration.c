/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exploration.h"
#include "crossing.h"
#include "neighbours.h"
#include "starts.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define GIVE_UP_WIDE 1.5  /* as BC_GIVE_UP, in a wide exploration */
#define PARENTS      12.0 /* ends of searches crossed, each with each, at effort 1: as many pairs as effort */
#define MOST_LOOKS   80.0 /* designs explored at effort 1, ... */
#define FEW_LOOKS    8.0  /* ... with a number of layers that does not decide */
#define EVERY_NTH    3    /* looks at designs of one layer less */
#define NEAR         0.05 /* of the total thickness: designs that differ less have the same neighbours */
#define WORTH_IT     2.0  /* times the best limit_used: what is above it is not explored */

#define MANY_LAYERS 10   /* from so many on, designs of fewer layers are crossed with them, too, ... */
#define RATING      0.15 /* ... where this of the work may go into the choice of what to cross, ... */
#define QUIET_TURNS 12   /* ... and so many turns without anything better are the end, ... */
#define HARDLY      1e-4 /* ... where a smaller gain is none (relative) */

typedef struct exploration_limits {
    size_t looks;      /* designs explored */
    double from, work; /* of the whole search (bc_search_work()) at which it begins and ends */
    double expected;   /* of it, for the progress */
} exploration_limits;

bool bc_explore(bc_multistart *d, const bc_recipe *design, bool wide, size_t layers, bc_best *own)
{
    const double give_up = (wide ? GIVE_UP_WIDE : BC_GIVE_UP) * bc_best_limit_used(own, layers);
    bool better = false, more = design->layers > 0;
    bc_recipe_copy(design, &d->explored);
    for (size_t number = 0; more && !bc_multistart_stopped(d);) {
        size_t tasks = 0;
        while (tasks < BC_BATCH && more) {
            bc_task *task = bc_search_task(d->search, tasks);
            task->rough = false;
            task->give_up = give_up;
            more = bc_neighbour(bc_search_palette(d->search), &d->explored, wide, number++, task);
            tasks += more;
        }
        better = bc_multistart_run(d, own, layers, tasks) || better;
        bc_multistart_report(d);
    }
    return better;
}

static bool was_explored(const bc_recipes *looked_at, const bc_recipe *design)
{
    for (size_t k = 0; k < looked_at->count; k++)
        if (bc_recipe_is_near(design, &looked_at->recipe[k], NEAR))
            return true;
    return false;
}

/* The best design of so many layers whose neighbours were not looked at; NULL when there is none. */
static const bc_recipe *find_next(const bc_recipes *looked_at, const bc_best *best, size_t layers, double most)
{
    const bc_best_of_count *of = &best->of[layers];
    for (size_t k = 0; k < of->count && of->design[k].limit_used <= most; k++)
        if (!was_explored(looked_at, &of->design[k]))
            return &of->design[k];
    return NULL;
}

/* Look at one design more of `layers` layers, or of one less. Returns whether there was one. */
static bool look_at_next(bc_multistart *d, size_t layers, size_t looks)
{
    const double most = WORTH_IT * bc_best_limit_used(&d->best, layers);
    const size_t fewer = layers > 1 ? layers - 1 : layers;
    const size_t first = looks % EVERY_NTH == EVERY_NTH - 1 ? fewer : layers;
    const bc_recipe *next = find_next(&d->looked_at, &d->best, first, most);
    if (next == NULL)
        next = find_next(&d->looked_at, &d->best, first == layers ? fewer : layers, most);
    if (next == NULL || next->layers == 0)
        return false;
    if (bc_recipes_add(&d->looked_at, next) != BC_OK) {
        d->failed = true;
        return false;
    }
    bc_explore(d, &d->looked_at.recipe[d->looked_at.count - 1], true, layers, &d->best);
    return true;
}

/* Whether the limits leave room for more; says so to the progress. */
static bool may_go_on(bc_multistart *d, size_t looks, const exploration_limits *limits)
{
    const double used = (bc_search_work(d->search) - limits->from) / (limits->work - limits->from);
    d->exploring = limits->expected * fmin(1.0, fmax(used, (double)looks / (double)limits->looks));
    return looks < limits->looks && bc_search_work(d->search) < limits->work && !bc_multistart_stopped(d);
}

/* Explore designs of `layers` layers, and of one less, until none is left within reach or a limit is met. */
static void explore_within(bc_multistart *d, size_t layers, const exploration_limits *limits)
{
    for (size_t looks = 0; may_go_on(d, looks, limits) && look_at_next(d, layers, looks); looks++)
        ;
}

/* Cross designs and explore them by turns: a better design of either is worth crossing, and exploring. */
static bc_status cross_and_explore(bc_multistart *d, size_t layers, const exploration_limits *limits)
{
    bc_crossing *crossing;
    bc_status status = bc_crossing_alloc(d, layers, RATING * (limits->work - limits->from), &crossing);
    bool any = true;
    size_t quiet = 0;
    for (size_t turn = 0; status == BC_OK && any && quiet < QUIET_TURNS && may_go_on(d, turn, limits); turn++) {
        const double before = bc_best_limit_used(&d->best, layers);
        any = bc_crossing_turn(crossing) > 0;
        any = look_at_next(d, layers, turn) || any;
        status = bc_crossing_take_up(crossing);
        quiet = bc_best_limit_used(&d->best, layers) < before * (1.0 - HARDLY) ? 0 : quiet + 1;
    }
    bc_crossing_free(crossing);
    return status;
}

/* The outer layers of each of the best designs upon the inner layers of each other: searches that ended in different
 * valleys often got different ends of the stack right. */
static bc_status cross_ends(bc_multistart *d, size_t layers)
{
    const size_t most = (size_t)fmax(2.0, round(PARENTS * sqrt(fmax(d->options->effort, BC_LEAST_EFFORT))));
    bc_best kept = {0};
    const bc_status status = bc_best_alloc(layers, most, &kept, NULL);
    if (status != BC_OK)
        return status;
    for (size_t i = 0; i < d->searches; i++)
        if (d->own[i].of[layers].count > 0)
            bc_best_offer(&kept, &d->own[i].of[layers].design[0]);
    const size_t parents = kept.of[layers].count, cuts = layers - 1, all = parents * parents * cuts;
    for (size_t number = 0; number < all && !bc_multistart_stopped(d);) {
        const double give_up = GIVE_UP_WIDE * bc_best_limit_used(&d->best, layers);
        size_t tasks = 0;
        for (; tasks < BC_BATCH && number < all; number++) {
            const size_t outer = number / cuts % parents, inner = number / cuts / parents;
            bc_task *task = bc_search_task(d->search, tasks);
            if (outer == inner)
                continue;
            bc_recipe_copy(&kept.of[layers].design[outer], &task->recipe);
            bc_cross(&kept.of[layers].design[inner], 1 + number % cuts, layers, &task->recipe);
            task->rough = false;
            task->grow = -1;
            task->give_up = give_up;
            tasks++;
        }
        bc_multistart_run(d, &d->best, layers, tasks);
        bc_multistart_report(d);
    }
    bc_best_clear(&kept);
    return BC_OK;
}

void bc_explore_all(bc_multistart *d, size_t layers, bool decides, double work, double expected)
{
    const double effort = fmax(d->options->effort, BC_LEAST_EFFORT), from = bc_search_work(d->search);
    const exploration_limits limits = {.looks = (size_t)ceil((decides ? MOST_LOOKS : FEW_LOOKS) * effort),
                                       .from = from,
                                       .work = from + work,
                                       .expected = expected};
    bc_status status = BC_OK;
    if (decides && layers >= MANY_LAYERS) {
        status = cross_and_explore(d, layers, &limits);
    } else {
        if (decides)
            status = cross_ends(d, layers);
        if (status == BC_OK)
            explore_within(d, layers, &limits);
    }
    d->failed = d->failed || status != BC_OK;
}
