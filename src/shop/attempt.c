/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "balance.h"
#include "exceptions.h"
#include "relax.h"
#include <bloomcoat/refine.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LOOK_RUNS   900
#define VERIFY_RUNS 4000
#define VERIFY_SEED 1u   /* more than that of the search: other runs */
#define LOOK_MARGIN 0.02 /* so that few offers fail the verification */
#define BACK_STEPS  4    /* an offer that fails it is made easier so often */

/* The design nearest to what is asked so far. */
typedef struct nearest {
    bc_stack stack; /* no layers: none met its callouts on paper */
    bc_judgment judgment;
} nearest;

/* Refine and judge a copy of `from`; keep it where it is nearer. */
static bc_status try_one(const bc_try *attempt, const bc_design_problem *problem, const bc_stack *from, nearest *best,
                         bc_error *error)
{
    const bc_quote_request *request = attempt->request;
    bc_judgment judgment = {INFINITY, NAN, NAN, NAN};
    bc_refine_result refined;
    bc_stack trial;
    bc_status status = bc_stack_copy(from, &trial, error);
    if (status != BC_OK)
        return status;
    trial.substrate = problem->substrate[0];
    status = bc_refine_until(problem, 1.0, &trial, &refined, error);
    if (status == BC_OK && refined.limit_used <= 1.0)
        status = bc_quote_judge(request, problem, &trial, LOOK_RUNS, request->seed, 1, &judgment, NULL, error);
    if (status == BC_OK && judgment.limit_used <= 1.0 &&
        (best->stack.layers == 0 || judgment.yield > best->judgment.yield)) {
        bc_stack_clear(&best->stack);
        *best = (nearest){trial, judgment};
    } else {
        bc_stack_clear(&trial);
    }
    return status;
}

bc_status bc_try_designs(const bc_try *attempt, const bc_design_problem *problem, const bc_stack *previous,
                         bc_stack *stack, bool *found, bc_error *error)
{
    const bc_quote_request *request = attempt->request;
    const bool warm_start = previous != NULL && previous->layers > 0;
    nearest best = {.judgment = {INFINITY, NAN, NAN, NAN}};
    bc_status status = BC_OK;
    *found = false;
    if (warm_start)
        status = try_one(attempt, problem, previous, &best, error);
    for (size_t w = 0; status == BC_OK && w < (warm_start ? 1 : attempt->warm->count); w++)
        if (!bc_judged_good(request, &best.judgment, LOOK_MARGIN))
            status = try_one(attempt, problem, attempt->warm->stack[w], &best, error);
    if (status == BC_OK && best.stack.layers > 0)
        status = bc_balance(request, problem, LOOK_RUNS, 1, LOOK_MARGIN, &best.stack, &best.judgment, error);
    *found = status == BC_OK && best.stack.layers > 0 && bc_judged_good(request, &best.judgment, LOOK_MARGIN);
    if (*found) {
        bc_stack_clear(stack);
        *stack = best.stack;
    } else {
        bc_stack_clear(&best.stack);
    }
    return status;
}

bc_status bc_try_verify(const bc_try *attempt, const bc_design_problem *problem, const bc_stack *stack, bool *good,
                        bc_error *error)
{
    bc_exception *exception = attempt->exception;
    bc_judgment judgment;
    const unsigned long seed = attempt->request->seed + VERIFY_SEED;
    bc_status status = bc_quote_judge(attempt->request, problem, stack, VERIFY_RUNS, seed, 1, &judgment, NULL, error);
    if (status != BC_OK)
        return status;
    *good = bc_judged_good(attempt->request, &judgment, 0.0);
    exception->limit_used = judgment.limit_used;
    exception->yield = judgment.yield;
    exception->yield_low = judgment.yield_low;
    exception->yield_high = judgment.yield_high;
    exception->runs = isnan(judgment.yield) ? 0 : VERIFY_RUNS;
    exception->seed = seed;
    return BC_OK;
}

/* The callouts with one of them changed, or the zones with the outer ones left out. */
typedef struct changed {
    bc_callouts callouts;
    bc_design_problem problem;
} changed;

static bc_status open_changed(const bc_try *attempt, changed *change, bc_error *error)
{
    const bc_callouts *asked = attempt->problem->callouts;
    change->callouts = (bc_callouts){.count = asked->count, .callout = malloc(asked->count * sizeof *asked->callout)};
    if (change->callouts.callout == NULL)
        return bc_fail_memory(error);
    memcpy(change->callouts.callout, asked->callout, asked->count * sizeof *asked->callout);
    change->problem = *attempt->problem;
    change->problem.callouts = &change->callouts;
    return BC_OK;
}

/* A zone's whole hundredths of a mm: no more than was looked at. */
static void set_aperture(const bc_try *attempt, size_t step, changed *change)
{
    const bc_design_problem *asked = attempt->problem;
    change->problem.zones = bc_relax_zones(asked->zones, step);
    attempt->exception->aperture_mm = floor(200.0 * asked->zone[change->problem.zones - 1].radius_mm) / 100.0;
}

static void set_step(const bc_try *attempt, size_t step, changed *change)
{
    if (attempt->exception->kind == BC_EXCEPT_APERTURE) {
        set_aperture(attempt, step, change);
        return;
    }
    const size_t c = attempt->exception->callout;
    change->callouts.callout[c] = bc_relax(&attempt->problem->callouts->callout[c], attempt->exception->kind, step);
    attempt->exception->offered = change->callouts.callout[c];
}

/* Halve between what was asked, which will not do, and the easiest, which will. */
static bc_status bisect(const bc_try *attempt, changed *change, bc_stack *stack, size_t *step, bc_error *error)
{
    size_t too_hard = 0, easy = BC_RELAX_STEPS;
    bool found;
    bc_status status;
    set_step(attempt, easy, change);
    status = bc_try_designs(attempt, &change->problem, NULL, stack, &found, error);
    *step = found ? easy : 0;
    while (status == BC_OK && *step > 0 && easy - too_hard > 1) {
        const size_t middle = (too_hard + easy) / 2;
        set_step(attempt, middle, change);
        status = bc_try_designs(attempt, &change->problem, stack, stack, &found, error);
        if (found)
            easy = middle;
        else
            too_hard = middle;
        *step = easy;
    }
    return status;
}

/* Whether anything would do without the callout at all; no change of it helps where nothing would. */
bc_status bc_try_without(const bc_try *attempt, bool *found, bc_error *error)
{
    changed change = {0};
    bc_stack stack = {0};
    bc_status status = open_changed(attempt, &change, error);
    *found = false;
    if (status == BC_OK) {
        bc_callout *row = &change.callouts.callout[attempt->exception->callout];
        row->limit = row->sense == BC_AT_MOST ? 1.0 : 0.0;
        status = bc_try_designs(attempt, &change.problem, NULL, &stack, found, error);
    }
    bc_stack_clear(&stack);
    free(change.callouts.callout);
    return status;
}

bc_status bc_try_relaxed(const bc_try *attempt, bc_error *error)
{
    bc_exception *exception = attempt->exception;
    changed change = {0};
    size_t step = 0;
    bool good = false;
    bc_status status = open_changed(attempt, &change, error);
    if (status == BC_OK)
        status = bisect(attempt, &change, &exception->stack, &step, error);
    for (int back = 0; status == BC_OK && step > 0 && !good && back <= BACK_STEPS; back++) {
        set_step(attempt, step, &change);
        status = bc_try_verify(attempt, &change.problem, &exception->stack, &good, error);
        if (status != BC_OK || good || ++step > BC_RELAX_STEPS)
            break;
        set_step(attempt, step, &change);
        /* The design stands; it is made for a harder callout, and only gains when a refinement helps. */
        bool found;
        status = bc_try_designs(attempt, &change.problem, &exception->stack, &exception->stack, &found, error);
    }
    exception->found = status == BC_OK && good;
    free(change.callouts.callout);
    return status;
}
