/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "thin.h"
#include "offers.h"
#include "polish.h"
#include <math.h>

#define ROUNDS  3    /* of starts, to find one design thinner than a bound */
#define STEPS   8    /* from thin to thinner */
#define THINNER 0.8  /* the next bound, over the total thickness found */
#define GROWTH  1.05 /* room left to the polish above what was found */
#define GIVE_UP 2.0  /* as multistart has it */

/* The thinnest design of so many layers that uses at most `acceptable`; NULL when there is none. */
static const bc_recipe *find_thinnest(const bc_best *best, size_t layers, double most_nm, double acceptable)
{
    const bc_best_of_count *of = &best->of[layers];
    const bc_recipe *found = NULL;
    for (size_t e = 0; e < of->count; e++) {
        const double total_nm = bc_recipe_total_nm(&of->design[e]);
        if (of->design[e].limit_used <= acceptable && total_nm < most_nm) {
            found = &of->design[e];
            most_nm = total_nm;
        }
    }
    return found;
}

/* Under a bound on the total: the good designs that are known, thinned until they keep it, and fresh starts. */
static void search_below(bc_multistart *d, size_t layers, double acceptable)
{
    const bc_best_of_count *of = &d->best.of[layers];
    for (size_t n = 0; n <= layers; n++)
        d->thin.of[n].count = 0;
    for (size_t round = 0; round < ROUNDS && !bc_multistart_stopped(d); round++) {
        for (size_t t = 0; t < BC_BATCH; t++) {
            bc_task *task = bc_search_task(d->search, t);
            task->rough = false;
            task->grow = -1;
            task->give_up = GIVE_UP * acceptable;
            if (round == 0 && t < BC_BATCH / 2 && t < of->count)
                bc_recipe_copy(&of->design[t], &task->recipe);
            else
                bc_multistart_random(d, layers, task);
        }
        bc_multistart_run(d, &d->thin, layers, BC_BATCH);
        if (find_thinnest(&d->thin, layers, INFINITY, acceptable) != NULL)
            break;
    }
}

static bool search_thinner(bc_multistart *d, size_t layers, double most_nm, double acceptable, bc_recipe *thin)
{
    const bc_recipe *found = find_thinnest(&d->best, layers, most_nm, acceptable);
    bool any = false;
    for (int step = 0; step < STEPS && !bc_multistart_stopped(d); step++) {
        if (found == NULL) {
            bc_search_set_most(d->search, most_nm);
            search_below(d, layers, acceptable);
            found = find_thinnest(&d->thin, layers, most_nm, acceptable);
        }
        if (found == NULL)
            break;
        bc_recipe_copy(found, thin);
        any = true;
        most_nm = THINNER * bc_recipe_total_nm(thin);
        found = NULL;
    }
    bc_search_set_most(d->search, d->problem->max_total_nm);
    return any;
}

bc_status bc_make_thinner(bc_multistart *d, double most_nm, double acceptable, bc_rung *rung, bool *thinner,
                          bc_error *error)
{
    bc_design_problem bounded = *d->problem;
    bc_recipe thin = {0};
    bc_rung found = {0};
    size_t evaluations = 0;
    bc_stop stop;
    bc_status status;
    *thinner = false;
    if (!d->from_nothing || rung->stack.layers == 0 || bc_multistart_stopped(d))
        return BC_OK;
    status = bc_recipe_alloc(rung->stack.layers + 1, &thin, error);
    if (status == BC_OK && search_thinner(d, rung->stack.layers, most_nm, acceptable, &thin)) {
        bounded.max_total_nm = fmin(most_nm, fmax(bc_recipe_total_nm(&thin) * GROWTH, d->problem->minimum_nm + 1.0));
        status = bc_polish_watched(&bounded, &d->watch, &thin, &evaluations, &stop, error);
        if (status == BC_OK && thin.limit_used <= acceptable && bc_recipe_total_nm(&thin) < most_nm)
            status = bc_offer_from(d->problem, &thin, &found, error);
        if (status == BC_OK && found.stack.layers > 0) {
            bc_offer_clear(rung);
            *rung = found;
            *thinner = true;
        }
    }
    if (status == BC_OK && d->failed)
        status = bc_fail_memory(error);
    bc_recipe_clear(&thin);
    return status;
}
