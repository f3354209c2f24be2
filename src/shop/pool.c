/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "pool.h"
#include "jobs.h"
#include "raise_yield.h"
#include "under_errors.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NEAR         0.02 /* of the total thickness: designs that differ less are taken for one */
#define LEAST_EFFORT 0.001
#define MOST_EFFORT  1000.0 /* of a draft */

double bc_share_of_effort(double share, double effort)
{
    return fmin(fmax(share * effort, LEAST_EFFORT), MOST_EFFORT);
}

static bool same(const bc_stack *a, const bc_stack *b)
{
    if (a->layers != b->layers)
        return false;
    for (size_t j = 0; j < a->layers; j++)
        if (a->layer[j].material.dispersion != b->layer[j].material.dispersion ||
            a->layer[j].thickness_nm != b->layer[j].thickness_nm)
            return false;
    return true;
}

static bc_status make_room(bc_pool *pool, bc_error *error)
{
    const size_t room = 2 * pool->room + 64;
    bc_pooled *grown;
    if (pool->count < pool->room)
        return BC_OK;
    grown = realloc(pool->design, room * sizeof *grown);
    if (grown == NULL)
        return bc_fail_memory(error);
    pool->design = grown;
    pool->room = room;
    return BC_OK;
}

bool bc_pool_near(const bc_stack *a, const bc_stack *b)
{
    double differ = 0.0;
    if (a->layers != b->layers)
        return false;
    for (size_t j = 0; j < a->layers; j++) {
        if (a->layer[j].material.dispersion != b->layer[j].material.dispersion)
            return false;
        differ += fabs(a->layer[j].thickness_nm - b->layer[j].thickness_nm);
    }
    return differ < NEAR * bc_stack_total_nm(b);
}

bc_pooled *bc_pool_find(bc_pool *pool, const bc_stack *stack)
{
    for (size_t i = 0; i < pool->count; i++)
        if (same(&pool->design[i].stack, stack))
            return &pool->design[i];
    return NULL;
}

/* Add what was made, which is used up; *index is where it stands. */
static bc_status add(bc_pool *pool, bc_pooled *made, size_t *index, bc_error *error)
{
    const bc_pooled *there = bc_pool_find(pool, &made->stack);
    bc_status status;
    if (there != NULL) {
        *index = (size_t)(there - pool->design);
        return BC_OK;
    }
    status = make_room(pool, error);
    if (status != BC_OK)
        return status;
    *index = pool->count;
    pool->design[pool->count++] = *made;
    memset(made, 0, sizeof *made);
    return BC_OK;
}

static void clear_made(bc_pooled *made)
{
    bc_stack_clear(&made->stack);
    free(made->limit_factor);
    made->limit_factor = NULL;
}

void bc_pool_clear(bc_pool *pool)
{
    for (size_t i = 0; i < pool->count; i++) {
        clear_made(&pool->design[i]);
        free(pool->design[i].fails);
    }
    free(pool->design);
    memset(pool, 0, sizeof *pool);
}

typedef struct crew {
    const bc_pool *pool;
    bc_making *making;
    bool asks; /* they are refinements, which a stop leaves out */
} crew;

static bool keeps_bounds(const bc_design_problem *problem, const bc_stack *stack)
{
    double total = 0.0;
    if (stack->layers > problem->max_layers)
        return false;
    for (size_t j = 0; j < stack->layers; j++) {
        total += stack->layer[j].thickness_nm;
        if (stack->layer[j].thickness_nm < problem->minimum_nm && !stack->layer[j].fixed)
            return false;
    }
    return total <= problem->max_total_nm;
}

/* To 0.001 nm, as a stack is written; down where the total would be too much. */
static void round_layers(const bc_design_problem *problem, bc_stack *stack)
{
    double excess = -problem->max_total_nm;
    for (size_t j = 0; j < stack->layers; j++)
        excess += round(1e3 * stack->layer[j].thickness_nm) / 1e3;
    for (size_t j = 0; j < stack->layers; j++) {
        const double thousandths = 1e3 * stack->layer[j].thickness_nm;
        if (!stack->layer[j].fixed)
            stack->layer[j].thickness_nm =
                fmax((excess > 0.0 ? floor(thousandths) : round(thousandths)) / 1e3, problem->minimum_nm);
    }
}

static bc_status look(const bc_pool *pool, bc_making *one)
{
    return bc_forecast_limit(pool->problem, &one->made.stack, pool->request->process, pool->request->yield,
                             &one->made.forecast, one->made.limit_factor, &one->error);
}

static bc_status make(const bc_pool *pool, bc_making *one, bc_thread_watch *watch)
{
    const bc_process *process = pool->request->process;
    bc_status status = bc_stack_copy(one->start, &one->made.stack, &one->error);
    if (status != BC_OK)
        return status;
    one->made.stack.substrate = pool->problem->substrate[0];
    round_layers(one->problem, &one->made.stack);
    if (one->spread > 0.0)
        status = bc_refine_under_errors(one->problem, process, one->spread, watch, &one->made.stack, &one->error);
    if (status == BC_OK &&
        ((one->spread > 0.0 && bc_watch_stopped(pool->watch)) || !keeps_bounds(pool->problem, &one->made.stack))) {
        clear_made(&one->made);
        return BC_OK;
    }
    if (status == BC_OK &&
        (one->made.limit_factor = calloc(pool->problem->callouts->count, sizeof *one->made.limit_factor)) == NULL)
        status = bc_fail_memory(&one->error);
    if (status == BC_OK)
        status = look(pool, one);
    if (status == BC_OK && one->rounds > 0) {
        status = bc_raise_yield(pool->problem, process, pool->request->yield, one->rounds, &one->made.stack,
                                &one->made.forecast, &one->error);
        if (status == BC_OK)
            status = look(pool, one);
    }
    if (status != BC_OK)
        clear_made(&one->made);
    return status;
}

static void make_one(void *context, size_t worker, size_t i)
{
    const crew *all = context;
    bc_thread_watch watch = {all->pool->watch, worker == 0};
    all->making[i].status = make(all->pool, &all->making[i], &watch);
}

static bool ask_between(void *context, size_t done)
{
    const crew *all = context;
    (void)done;
    return !bc_watch_ask(all->pool->watch) || !all->asks;
}

bc_status bc_pool_make(bc_pool *pool, size_t count, bc_making *making, size_t *added, bc_error *error)
{
    crew all = {pool, making, false};
    const size_t before = pool->count;
    bc_status status = BC_OK;
    for (size_t i = 0; i < count; i++)
        all.asks = all.asks || making[i].spread > 0.0;
    bc_jobs_run(&(bc_jobs){.count = count,
                           .threads = bc_threads(pool->request->threads),
                           .job = make_one,
                           .between = ask_between,
                           .context = &all});
    for (size_t i = 0; i < count; i++) {
        bc_making *one = &making[i];
        size_t at = 0;
        if (status == BC_OK && one->status != BC_OK)
            status = bc_fail(error, one->status, "%s", one->error.message);
        if (status == BC_OK && one->made.stack.layers > 0) {
            status = add(pool, &one->made, &at, error);
            if (status == BC_OK)
                pool->design[at].made |= one->step;
        }
        clear_made(&one->made);
    }
    if (added != NULL)
        *added = pool->count - before;
    return status;
}
