/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exceptions.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LAYER_EFFORT 0.01 /* of a search with one more layer material, times the quote's effort */

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
        status = bc_try_designs(attempt, &problem, BC_TRY_WIDE, &best, error);
    if (status == BC_OK)
        status = finish(attempt, &problem, &best, error);
    free(callouts.callout);
    return status;
}

static bc_status try_layer(const bc_try *attempt, bc_error *error)
{
    bc_design_problem problem = *attempt->pool->problem;
    bc_medium *layer = malloc((problem.materials + 1) * sizeof *layer);
    bc_found best = {0};
    bc_status status;
    if (layer == NULL)
        return bc_fail_memory(error);
    memcpy(layer, problem.material, problem.materials * sizeof *layer);
    layer[problem.materials++] = *attempt->exception->other;
    problem.material = layer;
    status = bc_try_search(attempt, &problem, LAYER_EFFORT, &best, error);
    if (status == BC_OK)
        status = finish(attempt, &problem, &best, error);
    else
        bc_stack_clear(&best.stack);
    free(layer);
    return status;
}

bc_status bc_try_material(const bc_try *attempt, bc_error *error)
{
    return attempt->exception->kind == BC_EXCEPT_LAYER ? try_layer(attempt, error) : try_glass(attempt, error);
}
