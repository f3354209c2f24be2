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

static bc_status finish(const bc_try *attempt, const bc_design_problem *problem, bool found, bc_error *error)
{
    bool good = false;
    bc_status status = BC_OK;
    if (found)
        status = bc_try_verify(attempt, problem, &attempt->exception->stack, &good, error);
    attempt->exception->found = status == BC_OK && good;
    return status;
}

static bc_status try_glass(const bc_try *attempt, bc_error *error)
{
    bc_exception *exception = attempt->exception;
    bc_design_problem problem = *attempt->problem;
    bc_callouts callouts = {0};
    bool found = false;
    bc_status status = BC_OK;
    problem.substrates = 1;
    problem.substrate = exception->other;
    if (exception->kind == BC_EXCEPT_GLASS) {
        status = rename_rows(attempt->problem, exception->other->name, &callouts, error);
        problem.callouts = &callouts;
    }
    if (status == BC_OK)
        status = bc_try_designs(attempt, &problem, NULL, &exception->stack, &found, error);
    if (status == BC_OK)
        status = finish(attempt, &problem, found, error);
    free(callouts.callout);
    return status;
}

/* The designs of a short search, the best first; then refined and judged as all are. */
static bc_status try_rungs(const bc_try *attempt, const bc_design_problem *problem, const bc_draft_result *draft,
                           bool *found, bc_error *error)
{
    bc_warm warm = {0};
    const bc_try inner = {attempt->request, problem, &warm, attempt->exception};
    for (size_t r = draft->rungs; r-- > 0 && warm.count < RUNGS_TRIED;)
        if (draft->rung[r].limit_used <= 1.0)
            warm.stack[warm.count++] = &draft->rung[r].stack;
    return bc_try_designs(&inner, problem, NULL, &attempt->exception->stack, found, error);
}

static bc_status try_layer(const bc_try *attempt, bc_error *error)
{
    const bc_quote_request *request = attempt->request;
    const bc_draft_options options = {.aim = BC_AIM_BEST,
                                      .seed = request->seed,
                                      .effort = fmin(fmax(LAYER_EFFORT * request->effort, LEAST_EFFORT), MOST_EFFORT),
                                      .threads = 1};
    bc_design_problem problem = *attempt->problem;
    bc_medium *layer = malloc((problem.materials + 1) * sizeof *layer);
    bc_draft_result draft;
    bool found = false;
    bc_status status;
    if (layer == NULL)
        return bc_fail_memory(error);
    memcpy(layer, problem.material, problem.materials * sizeof *layer);
    layer[problem.materials++] = *attempt->exception->other;
    problem.material = layer;
    status = bc_draft(&problem, &options, &draft, error);
    if (status == BC_OK) {
        status = try_rungs(attempt, &problem, &draft, &found, error);
        bc_draft_result_clear(&draft);
        if (status == BC_OK)
            status = finish(attempt, &problem, found, error);
    }
    free(layer);
    return status;
}

bc_status bc_try_material(const bc_try *attempt, bc_error *error)
{
    return attempt->exception->kind == BC_EXCEPT_LAYER ? try_layer(attempt, error) : try_glass(attempt, error);
}
