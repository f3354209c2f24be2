/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rough.h"
#include "multistart.h"
#include "offers.h"
#include "polish.h"
#include <math.h>
#include <string.h>

#define SEARCHED       2 /* numbers of layers, at least */
#define NEIGHBOURHOODS 2 /* the seeds are good already */
/* How many times lower the search of one number of layers may bring limit_used. Measured where it mattered, in the
 * offers for examples/concave-callouts.csv: 1.42 to 1.48 by two of them together. */
#define MOST_GAIN 1.22

/* Into a task; false where it does not fit the problem. */
static bool take_seed(const bc_design_problem *problem, const bc_stack *seed, bc_task *task)
{
    if (seed->layers == 0 || seed->layers > problem->max_layers)
        return false;
    for (size_t j = 0; j < seed->layers; j++) {
        unsigned m = 0;
        while (m < problem->materials && problem->material[m].dispersion != seed->layer[j].material.dispersion)
            m++;
        if (m == problem->materials)
            return false;
        task->recipe.material[j] = m;
        task->recipe.thickness_nm[j] = seed->layer[j].thickness_nm;
        task->recipe.fixed[j] = seed->layer[j].fixed;
    }
    task->recipe.layers = seed->layers;
    task->rough = false;
    task->grow = -1;
    task->give_up = INFINITY;
    return true;
}

/* Refined, and known to every search. Returns the most layers among them. */
static size_t begin_with(bc_multistart *d, size_t seeds, const bc_stack *const *seed)
{
    size_t most = 0;
    for (size_t next = 0; next < seeds && !bc_multistart_stopped(d);) {
        size_t tasks = 0;
        for (; tasks < BC_BATCH && next < seeds; next++)
            tasks += take_seed(d->problem, seed[next], bc_search_task(d->search, tasks));
        bc_multistart_run(d, &d->own[0], d->problem->max_layers, tasks);
        for (size_t t = 0; t < tasks; t++) {
            const bc_recipe *recipe = &bc_search_task(d->search, t)->recipe;
            most = recipe->layers > most && isfinite(recipe->limit_used) ? recipe->layers : most;
            for (size_t i = 1; i < d->searches; i++)
                bc_best_offer(&d->own[i], recipe);
        }
    }
    return most;
}

static bool is_out_of_reach(const bc_multistart *d, const bc_rough_aim *aim, size_t searches_left)
{
    const double best = bc_best_limit_used(&d->best, d->problem->max_layers);
    return best > aim->wanted * pow(MOST_GAIN, (double)searches_left);
}

static bc_status take_best(const bc_multistart *d, size_t layers, bc_rough *result, bc_error *error)
{
    const bc_best_of_count *of = &d->best.of[layers];
    bc_rung rung = {0};
    bc_status status;
    if (of->count == 0 || !(of->design[0].limit_used < bc_best_limit_used(&d->best, layers - 1)))
        return BC_OK;
    bc_round_layers(d->problem, &of->design[0]);
    status = bc_offer_from(d->problem, &of->design[0], &rung, error);
    if (status == BC_OK)
        result->stack[result->count++] = rung.stack;
    return status;
}

bc_status bc_draft_rough(const bc_design_problem *problem, const bc_draft_options *options, size_t seeds,
                         const bc_stack *const *seed, const bc_rough_aim *aim, bc_rough *result, bc_error *error)
{
    const size_t most = problem->max_layers, top = most > SEARCHED ? most - SEARCHED + 1 : 1;
    bc_multistart multistart = {0};
    bc_status status;
    memset(result, 0, sizeof *result);
    status = bc_design_validate(problem, error);
    if (status == BC_OK)
        status = bc_multistart_open(problem, options, &multistart, error);
    if (status != BC_OK)
        return status;
    multistart.neighbourhoods = NEIGHBOURHOODS;
    const size_t known = begin_with(&multistart, seeds, seed), first = known + 1 < top ? known + 1 : top;
    for (size_t layers = first; layers <= most && !multistart.failed && !bc_multistart_stopped(&multistart); layers++) {
        if ((layers > first || aim->seeds_tell) && is_out_of_reach(&multistart, aim, most + 1 - layers))
            break;
        bc_multistart_search(&multistart, layers);
    }
    if (multistart.failed)
        status = bc_fail_memory(error);
    for (size_t layers = most; status == BC_OK && layers > 0 && result->count < BC_ROUGH_LAYERS; layers--)
        status = take_best(&multistart, layers, result, error);
    bc_multistart_close(&multistart);
    if (status != BC_OK)
        bc_rough_clear(result);
    return status;
}

void bc_rough_clear(bc_rough *result)
{
    for (size_t i = 0; i < result->count; i++)
        bc_stack_clear(&result->stack[i]);
    result->count = 0;
}
