/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exceptions.h"
#include <bloomcoat/draft.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LAYER_EFFORT 0.01 /* of a draft with one more layer material, times the quote's effort */
#define LEAST_EFFORT 0.001
#define MOST_EFFORT  1000.0
#define RUNGS_TRIED  4 /* from the best on down */

/* The callouts for another glass: rows that name the glass it stands for name it. */
static bc_status rename_rows(const bc_design_problem *problem, const char *glass, bc_callouts *callouts,
                             bc_error *error)
{
    *callouts = (bc_callouts){.count = problem->callouts->count,
                              .callout = malloc(problem->callouts->count * sizeof(bc_callout))};
    if (callouts->callout == NULL)
        return bc_fail_memory(error);
    for (size_t c = 0; c < callouts->count; c++) {
        bc_callout *row = &callouts->callout[c];
        *row = problem->callouts->callout[c];
        if (row->substrate[0] != '\0' && strcmp(row->substrate, problem->substrate[0].name) == 0)
            memcpy(row->substrate, glass, strlen(glass) + 1);
    }
    return BC_OK;
}

static bc_status finish(const bc_try *attempt, const bc_design_problem *problem, bc_found *best, bc_error *error)
{
    bool good = false;
    bc_status status = BC_OK;
    if (bc_found_good(best))
        status = bc_try_verify(attempt, problem, &best->stack, &good, error);
    attempt->exception->found = status == BC_OK && good;
    if (attempt->exception->found)
        attempt->exception->stack = best->stack;
    else
        bc_stack_clear(&best->stack);
    return status;
}

static bc_status try_glass(const bc_try *attempt, bc_error *error)
{
    bc_exception *exception = attempt->exception;
    bc_design_problem problem = *attempt->pool->problem;
    bc_callouts callouts = {0};
    bc_found best = {0};
    bc_status status = BC_OK;
    problem.substrates = 1;
    problem.substrate = exception->other;
    if (exception->kind == BC_EXCEPT_GLASS) {
        status = rename_rows(attempt->pool->problem, exception->other->name, &callouts, error);
        problem.callouts = &callouts;
    }
    if (status == BC_OK)
        status = bc_try_designs(attempt, &problem, true, &best, error);
    if (status == BC_OK)
        status = finish(attempt, &problem, &best, error);
    free(callouts.callout);
    return status;
}

/* The designs of a short search, the lowest limit_used first, then refined and looked at as all are. */
static bc_status try_rungs(const bc_try *attempt, const bc_design_problem *problem, const bc_draft_result *draft,
                           bc_found *best, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t r = draft->rungs, tried = 0; status == BC_OK && r-- > 0 && tried < RUNGS_TRIED; tried++)
        if (draft->rung[r].stack.layers > 0)
            status = bc_try_start(attempt, problem, &draft->rung[r].stack, best, error);
    return status;
}

static bc_status try_layer(const bc_try *attempt, bc_error *error)
{
    const bc_quote_request *request = attempt->pool->request;
    const bc_draft_options options = {.aim = BC_AIM_BEST,
                                      .seed = request->seed,
                                      .effort = fmin(fmax(LAYER_EFFORT * request->effort, LEAST_EFFORT), MOST_EFFORT),
                                      .threads = 1,
                                      .progress = bc_thread_goes_on,
                                      .progress_context = attempt->watch};
    bc_design_problem problem = *attempt->pool->problem;
    bc_medium *layer = malloc((problem.materials + 1) * sizeof *layer);
    bc_draft_result draft;
    bc_found best = {0};
    bc_status status;
    if (layer == NULL)
        return bc_fail_memory(error);
    memcpy(layer, problem.material, problem.materials * sizeof *layer);
    layer[problem.materials++] = *attempt->exception->other;
    problem.material = layer;
    status = bc_draft(&problem, &options, &draft, error);
    if (status == BC_OK) {
        status = try_rungs(attempt, &problem, &draft, &best, error);
        bc_draft_result_clear(&draft);
        if (status == BC_OK)
            status = finish(attempt, &problem, &best, error);
        else
            bc_stack_clear(&best.stack);
    }
    free(layer);
    return status;
}

bc_status bc_try_material(const bc_try *attempt, bc_error *error)
{
    return attempt->exception->kind == BC_EXCEPT_LAYER ? try_layer(attempt, error) : try_glass(attempt, error);
}
