/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exceptions.h"
#include "judge.h"
#include "options.h"
#include "rough.h"
#include "under_errors.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define VERIFY_RUNS  4000
#define VERIFY_SEED  1u    /* more than that of the quote: other errors than those of the search */
#define LOOK_MARGIN  0.003 /* of the yield, so that few offers fail the verification */
#define SPREAD       3.0   /* standard deviations a refinement holds out against */
#define FIRST_STARTS 4     /* designs of the pool that an easiest change is tried with */
#define OTHER_STARTS 1     /* and a harder one, beside the last that did */
#define SEEDS        24    /* designs of the pool, each with another number of layers, that a search begins with */
#define FIRST_SEED   1u
#define ERRORS_ADD   0.8 /* times what errors add to limit_used of the best designs: they add so much at least, and */
#define MOST_ADDED   0.5 /* at most this is believed */

bool bc_try_stopped(const bc_try *attempt)
{
    return bc_watch_stopped(attempt->watch->watch);
}

double bc_try_yield(const bc_try *attempt)
{
    return fmin(attempt->pool->request->yield + LOOK_MARGIN, 1.0);
}

bool bc_found_good(const bc_found *found)
{
    return found->stack.layers > 0 && found->forecast.factor <= 1.0;
}

void bc_found_keep(bc_stack *trial, const bc_forecast *forecast, bc_found *best)
{
    if (trial->layers > 0 && (best->stack.layers == 0 || forecast->factor < best->forecast.factor)) {
        bc_stack_clear(&best->stack);
        best->stack = *trial;
        best->forecast = *forecast;
        memset(trial, 0, sizeof *trial);
    }
    bc_stack_clear(trial);
}

static bc_status refine(const bc_try *attempt, const bc_design_problem *problem, bc_stack *trial, bc_forecast *forecast,
                        bc_error *error)
{
    const bc_quote_request *request = attempt->pool->request;
    bc_refine_result refined;
    bc_status status;
    if (!bc_yield_is_known(request)) {
        status = bc_refine_until_with_progress(problem, 1.0, bc_thread_goes_on, attempt->watch, trial, &refined, error);
        *forecast = (bc_forecast){refined.limit_used, NAN, refined.limit_used, refined.limit_used};
        return status;
    }
    status = bc_refine_under_errors(problem, request->process, SPREAD, attempt->watch, trial, error);
    return status == BC_OK
               ? bc_forecast_limit(problem, trial, request->process, bc_try_yield(attempt), forecast, NULL, error)
               : status;
}

bc_status bc_try_start(const bc_try *attempt, const bc_design_problem *problem, const bc_stack *start,
                       bc_try_extent extent, bc_found *best, bc_error *error)
{
    const bc_quote_request *request = attempt->pool->request;
    bc_stack trial = {0};
    bc_forecast forecast;
    bc_status status = bc_stack_copy(start, &trial, error);
    if (status != BC_OK)
        return status;
    trial.substrate = problem->substrate[0];
    if (bc_yield_is_known(request)) {
        status = bc_forecast_limit(problem, &trial, request->process, bc_try_yield(attempt), &forecast, NULL, error);
        if (status == BC_OK)
            bc_found_keep(&trial, &forecast, best);
        bc_stack_clear(&trial);
        if (status != BC_OK || (extent == BC_TRY_UNTIL_GOOD && bc_found_good(best)))
            return status;
        status = bc_stack_copy(start, &trial, error);
        if (status != BC_OK)
            return status;
        trial.substrate = problem->substrate[0];
    }
    status = refine(attempt, problem, &trial, &forecast, error);
    if (status == BC_OK)
        bc_found_keep(&trial, &forecast, best);
    bc_stack_clear(&trial);
    return status;
}

size_t bc_try_list_starts(const bc_pool *pool, size_t most, size_t *start)
{
    size_t count = 0;
    while (count < most) {
        size_t best = pool->count;
        for (size_t i = 0; i < pool->count; i++) {
            bool fresh = true;
            for (size_t k = 0; k < count; k++)
                fresh = fresh && pool->design[start[k]].stack.layers != pool->design[i].stack.layers;
            if (fresh && (best == pool->count || pool->design[i].forecast.factor < pool->design[best].forecast.factor))
                best = i;
        }
        if (best == pool->count)
            break;
        start[count++] = best;
    }
    return count;
}

bc_status bc_try_designs(const bc_try *attempt, const bc_design_problem *problem, bc_try_extent extent, bc_found *best,
                         bc_error *error)
{
    size_t start[FIRST_STARTS];
    const size_t count = bc_try_list_starts(attempt->pool, extent == BC_TRY_WIDE ? FIRST_STARTS : OTHER_STARTS, start);
    bc_found found = {0};
    bc_status status = BC_OK;
    if (best->stack.layers > 0)
        status = bc_try_start(attempt, problem, &best->stack, extent, &found, error);
    for (size_t k = 0;
         status == BC_OK && k < count && (extent == BC_TRY_WIDE || !bc_found_good(&found)) && !bc_try_stopped(attempt);
         k++)
        status = bc_try_start(attempt, problem, &attempt->pool->design[start[k]].stack, extent, &found, error);
    if (status == BC_OK) {
        bc_stack_clear(&best->stack);
        *best = found;
    } else {
        bc_stack_clear(&found.stack);
    }
    return status;
}

double bc_try_wanted(const bc_pool *pool)
{
    double used = INFINITY, factor = INFINITY;
    if (!bc_yield_is_known(pool->request))
        return 1.0;
    for (size_t i = 0; i < pool->count; i++) {
        used = fmin(used, pool->design[i].forecast.limit_used);
        factor = fmin(factor, pool->design[i].forecast.factor);
    }
    return isfinite(factor) ? 1.0 - fmin(ERRORS_ADD * (factor - used), MOST_ADDED) : 1.0;
}

bc_status bc_try_search(const bc_try *attempt, const bc_design_problem *problem, double effort, bc_found *best,
                        bc_error *error)
{
    const bc_pool *pool = attempt->pool;
    const bc_draft_options options = {.aim = BC_AIM_BEST,
                                      .seed = FIRST_SEED,
                                      .effort = bc_share_of_effort(effort, pool->request->effort),
                                      .threads = 1,
                                      .progress = bc_thread_goes_on,
                                      .progress_context = attempt->watch};
    size_t start[SEEDS], seeds = bc_try_list_starts(pool, SEEDS - 1, start);
    const bc_stack *seed[SEEDS];
    /* What does already is to be made better, by however little. */
    const bool any = bc_found_good(best) || pool->problem->max_layers <= BC_TRY_FEW_LAYERS;
    const bc_rough_aim aim = {any ? INFINITY : bc_try_wanted(pool), problem->materials == pool->problem->materials};
    bc_rough found;
    bc_status status;
    for (size_t i = 0; i < seeds; i++)
        seed[i] = &pool->design[start[i]].stack;
    if (best->stack.layers > 0)
        seed[seeds++] = &best->stack;
    status = bc_draft_rough(problem, &options, seeds, seed, &aim, &found, error);
    if (status != BC_OK)
        return status;
    for (size_t i = 0; status == BC_OK && i < found.count; i++)
        status = bc_try_start(attempt, problem, &found.stack[i], BC_TRY_FEW, best, error);
    bc_rough_clear(&found);
    return status;
}

bc_status bc_try_verify(const bc_try *attempt, const bc_design_problem *problem, const bc_stack *stack, bool *good,
                        bc_error *error)
{
    bc_exception *exception = attempt->exception;
    const bc_quote_request *request = attempt->pool->request;
    bc_judgment judgment;
    const unsigned long seed = request->seed + VERIFY_SEED;
    bc_status status =
        bc_quote_judge(request, problem, stack, VERIFY_RUNS, seed, 1, attempt->watch, &judgment, NULL, error);
    if (status != BC_OK)
        return status;
    *good = bc_judged_good(request, &judgment, 0.0);
    exception->limit_used = judgment.limit_used;
    exception->yield = judgment.yield;
    exception->yield_low = judgment.yield_low;
    exception->yield_high = judgment.yield_high;
    exception->runs = isnan(judgment.yield) ? 0 : VERIFY_RUNS;
    exception->seed = seed;
    return BC_OK;
}
