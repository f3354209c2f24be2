/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exceptions.h"
#include "options.h"
#include "raise_yield.h"
#include "relax.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define BACK_STEPS    6     /* an offer that fails it is made easier so often */
#define LIMIT_STEP    1.004 /* by so much where it is a limit */
#define LIMIT_STARTS  6     /* whose limits are found exactly */
#define LIMIT_RAISED  3     /* of these, whose yields are raised */
#define WORTH_RAISING 1.01  /* times the best factor so far: a yield that is raised lowers it by less */
#define LIMIT_ROUNDS  3     /* of raising the yield at lower limits */
#define RAISES        6     /* of a yield, in each of them */
#define DRAFT_EFFORT  0.003 /* of a search for the easiest change, times the quote's effort */
#define HOPELESS      2.5   /* times the limits that the easiest change asks for: none is begun */
#define AGAIN_EFFORT  0.006 /* of one for the least change so far, */
#define STEP_ROUNDS   2     /* at most so many times, */
#define FAR           0.01  /* and again only where the change has become less by more than this share of it */

/* The callouts with some of them changed, or the zones with the outer ones left out. */
typedef struct changed {
    bc_callouts callouts;
    bc_design_problem problem;
} changed;

static bc_status open_changed(const bc_try *attempt, changed *change, bc_error *error)
{
    const bc_callouts *asked = attempt->pool->problem->callouts;
    change->callouts = (bc_callouts){.count = asked->count, .callout = malloc(asked->count * sizeof *asked->callout)};
    if (change->callouts.callout == NULL)
        return bc_fail_memory(error);
    memcpy(change->callouts.callout, asked->callout, asked->count * sizeof *asked->callout);
    change->problem = *attempt->pool->problem;
    change->problem.callouts = &change->callouts;
    return BC_OK;
}

static size_t steps_of(const bc_try *attempt)
{
    const bc_design_problem *asked = attempt->pool->problem;
    return attempt->exception->kind == BC_EXCEPT_APERTURE
               ? bc_relax_zone_steps(asked->zones)
               : bc_relax_steps(asked->callouts, attempt->exception->callout, attempt->exception->kind);
}

/* An aperture in whole hundredths of a mm: no more than was looked at. */
static void set_step(const bc_try *attempt, size_t step, changed *change)
{
    const bc_design_problem *asked = attempt->pool->problem;
    if (attempt->exception->kind == BC_EXCEPT_APERTURE) {
        change->problem.zones = bc_relax_zones(asked->zones, step);
        attempt->exception->aperture_mm = floor(200.0 * asked->zone[change->problem.zones - 1].radius_mm) / 100.0;
        return;
    }
    bc_relax_to(asked->callouts, attempt->exception->callout, attempt->exception->kind, step, change->callouts.callout);
}

/* Between what was asked, which will not do, and *step, which *best does: by halving, or first by `stride` steps and
 * ever longer ones, where the answer is expected near. */
static bc_status approach(const bc_try *attempt, changed *change, size_t stride, bc_found *best, size_t *step,
                          bc_error *error)
{
    size_t too_hard = 0;
    bc_status status = BC_OK;
    for (; status == BC_OK && *step > too_hard + 1 && !bc_try_stopped(attempt); stride *= 2) {
        const size_t open = *step - too_hard, middle = stride < open / 2 ? *step - stride : (too_hard + *step) / 2;
        bc_found trial = {0};
        set_step(attempt, middle, change);
        status = bc_stack_copy(&best->stack, &trial.stack, error);
        if (status == BC_OK)
            status = bc_try_designs(attempt, &change->problem, BC_TRY_UNTIL_GOOD, &trial, error);
        if (status == BC_OK && bc_found_good(&trial)) {
            bc_stack_clear(&best->stack);
            *best = trial;
            *step = middle;
        } else {
            bc_stack_clear(&trial.stack);
            too_hard = middle;
        }
    }
    return status;
}

static bc_status raise_found(const bc_try *attempt, const bc_design_problem *problem, bc_found *best, bc_error *error)
{
    const bc_quote_request *request = attempt->pool->request;
    bc_found trial = {.forecast = best->forecast};
    bc_status status;
    if (!bc_yield_is_known(request) || bc_try_stopped(attempt))
        return BC_OK;
    status = bc_stack_copy(&best->stack, &trial.stack, error);
    if (status == BC_OK)
        status = bc_raise_yield(problem, request->process, bc_try_yield(attempt), RAISES, &trial.stack, &trial.forecast,
                                error);
    if (status == BC_OK)
        bc_found_keep(&trial.stack, &trial.forecast, best);
    bc_stack_clear(&trial.stack);
    return status;
}

/* What the easiest change still misses by far a short search does not bring within reach; and what does it already is
 * where the halving begins: a harder change decides. With few layers a search takes no time, and finds more. */
static bool is_worth_a_search(const bc_try *attempt, const bc_found *best)
{
    if (best->stack.layers == 0 || attempt->pool->problem->max_layers <= BC_TRY_FEW_LAYERS)
        return true;
    return !bc_found_good(best) && best->forecast.factor <= HOPELESS;
}

/* The least change: what does an easier one is not what does a harder one best, so where the halving ends designs are
 * searched for anew, and it goes on with the best of them. */
static bc_status find_step(const bc_try *attempt, changed *change, bc_found *best, size_t *step, bc_error *error)
{
    size_t searched;
    bc_status status;
    *step = steps_of(attempt);
    set_step(attempt, *step, change);
    status = bc_try_designs(attempt, &change->problem, BC_TRY_WIDE, best, error);
    if (status == BC_OK && is_worth_a_search(attempt, best))
        status = bc_try_search(attempt, &change->problem, DRAFT_EFFORT, best, error);
    if (!bc_found_good(best))
        *step = 0;
    searched = *step;
    for (size_t round = 0, before = 0; status == BC_OK && *step > 0; round++) {
        before = *step;
        status = approach(attempt, change, round == 0 ? before : 1, best, step, error);
        if (status != BC_OK || round == STEP_ROUNDS || (round > 0 && *step == before) || bc_try_stopped(attempt))
            break;
        set_step(attempt, *step, change);
        if (round == 0 || (double)(searched - *step) > FAR * (double)searched) {
            searched = *step;
            status = bc_try_search(attempt, &change->problem, AGAIN_EFFORT, best, error);
        }
        if (status == BC_OK)
            status = raise_found(attempt, &change->problem, best, error);
    }
    return status;
}

/* What is offered, from the changed callouts: all of them, or the one. */
static bc_status offer(const bc_try *attempt, const changed *change, bc_error *error)
{
    bc_exception *exception = attempt->exception;
    const size_t count = change->callouts.count;
    size_t first = 0;
    if (exception->kind == BC_EXCEPT_APERTURE)
        return BC_OK;
    if (exception->callout != BC_NO_CALLOUT) {
        exception->offered = change->callouts.callout[exception->callout];
        return BC_OK;
    }
    if (exception->all == NULL)
        exception->all = malloc(count * sizeof *exception->all);
    if (exception->all == NULL)
        return bc_fail_memory(error);
    memcpy(exception->all, change->callouts.callout, count * sizeof *exception->all);
    while (first + 1 < count && memcmp(&exception->all[first], &attempt->pool->problem->callouts->callout[first],
                                       sizeof *exception->all) == 0)
        first++;
    exception->offered = exception->all[first];
    return BC_OK;
}

/* Offer the callouts as they were changed last, with the design that does them, when one was found (`good`). */
static bc_status conclude(const bc_try *attempt, const changed *change, bc_status so_far, bool good, bc_found *best,
                          bc_error *error)
{
    const bc_status status = so_far == BC_OK ? offer(attempt, change, error) : so_far;
    attempt->exception->found = good;
    if (status == BC_OK && good)
        attempt->exception->stack = best->stack;
    else
        bc_stack_clear(&best->stack);
    return status;
}

static bc_status relax_by_steps(const bc_try *attempt, changed *change, bc_error *error)
{
    const size_t easiest = steps_of(attempt);
    bc_found best = {0};
    size_t step = 0;
    bool good = false;
    bc_status status = find_step(attempt, change, &best, &step, error);
    for (size_t back = 0; status == BC_OK && step > 0 && !good && back <= BACK_STEPS && !bc_try_stopped(attempt);
         back++) {
        set_step(attempt, step, change);
        status = bc_try_verify(attempt, &change->problem, &best.stack, &good, error);
        if (!good)
            step = step + 1 + back < easiest ? step + 1 + back : easiest;
    }
    if (status == BC_OK && !good)
        set_step(attempt, easiest, change);
    return conclude(attempt, change, status, good, &best, error);
}

/* The factor of one callout's limit, or of all, by runs that the engine judges. */
static bc_status judge_factor(const bc_try *attempt, const bc_stack *stack, double *factor, bc_error *error)
{
    const bc_pool *pool = attempt->pool;
    return bc_judge_factor(pool->problem, stack, pool->request->process, bc_try_yield(attempt),
                           attempt->exception->callout, attempt->watch, factor, error);
}

static double forecast_factor(const bc_pooled *design, size_t which)
{
    return which == BC_NO_CALLOUT ? design->forecast.factor : design->limit_factor[which];
}

/* The designs of the pool that need the lowest factor by their forecasts, no two of them near. */
static size_t list_by_factor(const bc_pool *pool, size_t which, size_t most, size_t *start)
{
    size_t count = 0;
    while (count < most) {
        size_t best = pool->count;
        for (size_t i = 0; i < pool->count; i++) {
            bool fresh = isfinite(forecast_factor(&pool->design[i], which));
            for (size_t k = 0; fresh && k < count; k++)
                fresh = i != start[k] && !bc_pool_near(&pool->design[i].stack, &pool->design[start[k]].stack);
            if (fresh && (best == pool->count ||
                          forecast_factor(&pool->design[i], which) < forecast_factor(&pool->design[best], which)))
                best = i;
        }
        if (best == pool->count)
            break;
        start[count++] = best;
    }
    return count;
}

/* Into `best`, in order of their factors. */
static void insert_by_factor(bc_found *trial, bc_found *best, size_t *count)
{
    size_t place = *count;
    while (place > 0 && trial->forecast.factor < best[place - 1].forecast.factor)
        place--;
    if (place < LIMIT_RAISED) {
        if (*count == LIMIT_RAISED)
            bc_stack_clear(&best[LIMIT_RAISED - 1].stack);
        else
            (*count)++;
        memmove(&best[place + 1], &best[place], (*count - 1 - place) * sizeof *best);
        best[place] = *trial;
        memset(trial, 0, sizeof *trial);
    }
    bc_stack_clear(&trial->stack);
}

/* The pool's best. For all limits by one factor they are all there is to look at: a refinement does not depend on it.
 */
static bc_status choose_for_limits(const bc_try *attempt, bc_found *best, size_t *count, bc_error *error)
{
    size_t start[LIMIT_STARTS];
    const size_t starts = list_by_factor(attempt->pool, attempt->exception->callout, LIMIT_STARTS, start);
    bc_status status = BC_OK;
    for (size_t k = 0; status == BC_OK && k < starts && !bc_try_stopped(attempt); k++) {
        bc_found trial = {.forecast = {INFINITY, NAN, INFINITY, INFINITY}};
        status = bc_stack_copy(&attempt->pool->design[start[k]].stack, &trial.stack, error);
        if (status == BC_OK)
            status = judge_factor(attempt, &trial.stack, &trial.forecast.factor, error);
        if (status == BC_OK)
            insert_by_factor(&trial, best, count);
        bc_stack_clear(&trial.stack);
    }
    return status;
}

/* At limits that nearly enough runs keep, other runs decide than at those asked for: the yield is raised there, as long
 * as that lowers them. best->forecast.factor is by judged runs, before and after. */
static bc_status raise_at_limits(const bc_try *attempt, changed *change, bc_found *best, bc_error *error)
{
    const bc_quote_request *request = attempt->pool->request;
    double factor = best->forecast.factor;
    bc_status status = BC_OK;
    for (int round = 0; status == BC_OK && round < LIMIT_ROUNDS && isfinite(factor) && !bc_try_stopped(attempt);
         round++) {
        bc_stack trial = {0};
        bc_forecast forecast;
        double raised = INFINITY;
        bc_relax_limits(attempt->pool->problem->callouts, attempt->exception->callout, factor,
                        change->callouts.callout);
        status = bc_stack_copy(&best->stack, &trial, error);
        if (status == BC_OK)
            status = bc_forecast_limit(&change->problem, &trial, request->process, bc_try_yield(attempt), &forecast,
                                       NULL, error);
        if (status == BC_OK)
            status = bc_raise_yield(&change->problem, request->process, bc_try_yield(attempt), RAISES, &trial,
                                    &forecast, error);
        if (status == BC_OK)
            status = judge_factor(attempt, &trial, &raised, error);
        if (status != BC_OK || !(raised < factor)) {
            bc_stack_clear(&trial);
            break;
        }
        bc_stack_clear(&best->stack);
        best->stack = trial;
        best->forecast.factor = factor = raised;
    }
    return status;
}

/* The best of all limits, or of the one, with the factor it needs. */
static bc_status find_for_limits(const bc_try *attempt, changed *change, bool all, bc_found *best, bc_error *error)
{
    bc_found found[LIMIT_RAISED];
    size_t count = 0;
    bc_status status;
    memset(found, 0, sizeof found);
    status = all ? BC_OK : bc_try_limit(attempt, &change->problem, change->callouts.callout, found, error);
    count = found[0].stack.layers > 0;
    if (status == BC_OK && count > 0)
        status = judge_factor(attempt, &found[0].stack, &found[0].forecast.factor, error);
    if (status == BC_OK)
        status = choose_for_limits(attempt, found, &count, error);
    for (size_t k = 0; k < count; k++) {
        const bool may_win =
            best->stack.layers == 0 || found[k].forecast.factor < WORTH_RAISING * best->forecast.factor;
        if (status == BC_OK && bc_yield_is_known(attempt->pool->request) && may_win)
            status = raise_at_limits(attempt, change, &found[k], error);
        if (status == BC_OK)
            bc_found_keep(&found[k].stack, &found[k].forecast, best);
        bc_stack_clear(&found[k].stack);
    }
    return status;
}

static bc_status relax_limits(const bc_try *attempt, changed *change, bc_error *error)
{
    bc_exception *exception = attempt->exception;
    const bc_callouts *asked = attempt->pool->problem->callouts;
    const bool all = exception->callout == BC_NO_CALLOUT || asked->count == 1;
    bc_found best = {0};
    double factor = INFINITY;
    bool good = false;
    bc_status status = find_for_limits(attempt, change, all, &best, error);
    if (status == BC_OK && best.stack.layers > 0)
        factor = best.forecast.factor;
    for (int back = 0; status == BC_OK && isfinite(factor) && !good && back <= BACK_STEPS && !bc_try_stopped(attempt);
         back++) {
        bc_relax_limits(asked, exception->callout, factor, change->callouts.callout);
        status = bc_try_verify(attempt, &change->problem, &best.stack, &good, error);
        exception->factor = factor;
        factor *= LIMIT_STEP;
    }
    if (status == BC_OK && !good)
        bc_relax_limits(asked, exception->callout, BC_EASIEST_FACTOR, change->callouts.callout);
    return conclude(attempt, change, status, good, &best, error);
}

bc_status bc_try_relaxed(const bc_try *attempt, bc_error *error)
{
    changed change = {0};
    bc_status status = open_changed(attempt, &change, error);
    if (status == BC_OK)
        status = attempt->exception->kind == BC_EXCEPT_LIMIT ? relax_limits(attempt, &change, error)
                                                             : relax_by_steps(attempt, &change, error);
    free(change.callouts.callout);
    return status;
}
