/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exceptions.h"
#include "relax.h"
#include <math.h>
#include <stdlib.h>

#define ROUNDS        3     /* of refinement as the limit falls */
#define CLOSE         1.004 /* times a limit that will not do: near enough */
#define SEARCH_EFFORT 0.006 /* of a draft, times the quote's */

/* The factor that a design needs, predicted. */
static bc_status predict(const bc_try *attempt, const bc_stack *stack, double *factor, bc_error *error)
{
    const bc_pool *pool = attempt->pool;
    double *of_callout = calloc(pool->problem->callouts->count, sizeof *of_callout);
    bc_forecast forecast;
    bc_status status = of_callout == NULL ? bc_fail_memory(error) : BC_OK;
    if (status == BC_OK)
        status = bc_forecast_limit(pool->problem, stack, pool->request->process, bc_try_yield(attempt), &forecast,
                                   of_callout, error);
    if (status == BC_OK)
        *factor = of_callout[attempt->exception->callout];
    free(of_callout);
    return status;
}

/* Refined for the limit that the design before needs, which leaves the other rows as much as this one: each comes
 * nearer to the least, but hardly ever there. */
static bc_status follow(const bc_try *attempt, const bc_design_problem *problem, bc_callout *row, bc_found *best,
                        bc_error *error)
{
    double factor = BC_EASIEST_FACTOR;
    bc_found trial = {0};
    bc_status status = BC_OK;
    best->forecast.factor = INFINITY;
    for (int round = 0; status == BC_OK && round < ROUNDS && isfinite(factor) && !bc_try_stopped(attempt); round++) {
        bc_relax_limits(attempt->pool->problem->callouts, attempt->exception->callout, factor, row);
        factor = INFINITY; /* of no design, or none that could be looked at */
        status = bc_try_designs(attempt, problem, round == 0 ? BC_TRY_WIDE : BC_TRY_FEW, &trial, error);
        if (status == BC_OK && trial.stack.layers > 0)
            status = predict(attempt, &trial.stack, &factor, error);
        if (!(factor < best->forecast.factor))
            break;
        bc_stack_clear(&best->stack);
        status = bc_stack_copy(&trial.stack, &best->stack, error);
        best->forecast.factor = factor;
    }
    bc_stack_clear(&trial.stack);
    return status;
}

/* Between what was asked, which will not do, and what *best needs, by halving. What does an easier limit may lie far
 * from all that does a harder one: where the first attempt fails, designs are searched for anew. */
static bc_status halve(const bc_try *attempt, const bc_design_problem *problem, bc_callout *row, bc_found *best,
                       bc_error *error)
{
    double too_low = 1.0;
    bool searched = false;
    bc_status status = BC_OK;
    while (status == BC_OK && best->forecast.factor > CLOSE * too_low && !bc_try_stopped(attempt)) {
        const double middle = sqrt(too_low * best->forecast.factor);
        double factor = INFINITY;
        bc_found trial = {0};
        bc_relax_limits(attempt->pool->problem->callouts, attempt->exception->callout, middle, row);
        status = bc_stack_copy(&best->stack, &trial.stack, error);
        if (status == BC_OK)
            status = bc_try_designs(attempt, problem, BC_TRY_FEW, &trial, error);
        if (status == BC_OK && !searched && !bc_found_good(&trial)) {
            searched = true;
            status = bc_try_search(attempt, problem, SEARCH_EFFORT, &trial, error);
        }
        if (status == BC_OK)
            status = predict(attempt, &trial.stack, &factor, error);
        if (factor < best->forecast.factor) {
            bc_stack_clear(&best->stack);
            best->stack = trial.stack;
            best->forecast.factor = factor;
        } else {
            bc_stack_clear(&trial.stack);
        }
        if (!(factor <= middle)) /* better than before, perhaps, but not there */
            too_low = middle;
    }
    return status;
}

bc_status bc_try_limit(const bc_try *attempt, const bc_design_problem *problem, bc_callout *row, bc_found *best,
                       bc_error *error)
{
    const bc_status status = follow(attempt, problem, row, best, error);
    return status == BC_OK && best->stack.layers > 0 ? halve(attempt, problem, row, best, error) : status;
}
