/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exceptions.h"
#include "found.h"
#include "jobs.h"
#include "reasons.h"
#include "relax.h"
#include "screen.h"
#include <bloomcoat/sampling.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CALLOUTS_TRIED 2 /* times the effort, one at least; so the two below */
#define LAYERS_TRIED   1
#define GLASSES_TRIED  2

typedef struct crew {
    const bc_pool *pool;
    bc_exception *exception;
    size_t count;
    atomic_bool *complete; /* [count] not cut short */
    bool *shown;           /* [count] by the calling thread */
    bc_status *status;     /* [count] */
    bc_error *error;       /* [count] */
    double limit_used;     /* of the recommended option, for the progress */
} crew;

static size_t times_effort(const bc_quote_request *request, size_t count)
{
    const double more = floor(request->effort * (double)count);
    return more < 1.0 ? 1 : more > 1000.0 ? 1000 : (size_t)more;
}

/* How hard a callout is for the recommended option: the larger, the sooner it is looked at. */
static double hardness(const bc_quote_result *result, size_t callout, const bc_callouts *callouts)
{
    double used = 0.0;
    for (size_t f = 0; f < result->check.count; f++)
        if (result->check.finding[f].callout == &callouts->callout[callout])
            used = fmax(used, result->check.finding[f].limit_used);
    return result->verdict == BC_NOT_FEASIBLE || result->fails == NULL ? used : result->fails[callout] + 1e-6 * used;
}

/* The next hardest callout that is not among those taken. */
static size_t next_callout(const bc_quote_result *result, const bc_callouts *callouts, const bool *taken)
{
    size_t hardest = BC_NO_CALLOUT;
    for (size_t c = 0; c < callouts->count; c++)
        if (!taken[c] && hardness(result, c, callouts) > 0.0 &&
            (hardest == BC_NO_CALLOUT || hardness(result, c, callouts) > hardness(result, hardest, callouts)))
            hardest = c;
    return hardest;
}

static void add(bc_quote_result *result, bc_exception_kind kind, size_t callout, const bc_medium *other)
{
    result->exception[result->exceptions++] = (bc_exception){.kind = kind,
                                                             .callout = callout,
                                                             .other = other,
                                                             .factor = 1.0,
                                                             .limit_used = INFINITY,
                                                             .yield = NAN,
                                                             .yield_low = NAN,
                                                             .yield_high = NAN};
}

/* What belongs together is changed together: all limits by one factor, the band and the angle of all rows. Then the
 * hardest callouts' own limits. */
static bc_status plan_callouts(const bc_pool *pool, bc_quote_result *result, bc_error *error)
{
    const bc_callouts *asked = pool->problem->callouts;
    const size_t together = asked->count > 1 ? BC_NO_CALLOUT : 0;
    bool *taken = calloc(asked->count, sizeof *taken);
    size_t c;
    if (taken == NULL)
        return bc_fail_memory(error);
    add(result, BC_EXCEPT_LIMIT, together, NULL);
    for (int kind = BC_EXCEPT_FROM; kind <= BC_EXCEPT_ANGLE; kind++)
        if (bc_relax_steps(asked, together, (bc_exception_kind)kind) > 0)
            add(result, (bc_exception_kind)kind, together, NULL);
    for (size_t i = 0; i < times_effort(pool->request, CALLOUTS_TRIED) && asked->count > 1; i++) {
        if ((c = next_callout(result, asked, taken)) == BC_NO_CALLOUT)
            break;
        taken[c] = true;
        add(result, BC_EXCEPT_LIMIT, c, NULL);
    }
    free(taken);
    return BC_OK;
}

/* How far an index lies outside those at hand; negative inside. */
static double outside(const bc_quote_result *result, double n)
{
    return fmax(n - result->materials.highest_n, result->materials.lowest_n - n);
}

static bool is_planned(const bc_quote_result *result, const bc_medium *other)
{
    for (size_t e = 0; e < result->exceptions; e++)
        if (result->exception[e].other == other)
            return true;
    return false;
}

/* Layers that widen the range of indices first. */
static void plan_layers(const bc_quote_request *request, double at_nm, bc_quote_result *result)
{
    for (size_t i = 0; i < times_effort(request, LAYERS_TRIED); i++) {
        const bc_medium *best = NULL;
        for (size_t m = 0; m < request->other_layers; m++) {
            const bc_medium *layer = &request->other_layer[m];
            bc_remark remark[BC_MOST_REMARKS];
            if (is_planned(result, layer) || (bc_screen_layer(request, layer, remark) > 0 && remark[0].refused))
                continue;
            if (best == NULL || outside(result, bc_index_at(layer, at_nm)) > outside(result, bc_index_at(best, at_nm)))
                best = layer;
        }
        if (best != NULL)
            add(result, BC_EXCEPT_LAYER, BC_NO_CALLOUT, best);
    }
}

/* Of several glasses each may have a recipe of its own; in place of a single one the nearest in index. */
static void plan_glasses(const bc_quote_request *request, double at_nm, bc_quote_result *result)
{
    const bc_design_problem *problem = request->problem;
    const double asked_n = bc_index_at(&problem->substrate[0], at_nm);
    double from_nm, to_nm;
    bc_asked_band(problem->callouts, problem->substrates, problem->substrate, &from_nm, &to_nm);
    if (problem->back.kind == BC_BACK_OWN) /* a back of its own lies on its own glass */
        return;
    if (problem->substrates > 1) {
        for (size_t g = 0; g < problem->substrates; g++)
            add(result, BC_EXCEPT_ALONE, BC_NO_CALLOUT, &problem->substrate[g]);
        return;
    }
    for (size_t i = 0; i < times_effort(request, GLASSES_TRIED); i++) {
        const bc_medium *best = NULL;
        for (size_t m = 0; m < request->other_glasses; m++) {
            const bc_medium *glass = &request->other_glass[m];
            if (is_planned(result, glass) || isnan(bc_index_at(glass, from_nm)) || isnan(bc_index_at(glass, to_nm)))
                continue;
            if (best == NULL || fabs(bc_index_at(glass, at_nm) - asked_n) < fabs(bc_index_at(best, at_nm) - asked_n))
                best = glass;
        }
        if (best != NULL)
            add(result, BC_EXCEPT_GLASS, BC_NO_CALLOUT, best);
    }
}

static void take_up(void *context, size_t worker, size_t i)
{
    crew *all = context;
    bc_thread_watch watch = {all->pool->watch, worker == 0};
    const bc_try attempt = {all->pool, &all->exception[i], &watch};
    if (attempt.exception->other != NULL)
        all->status[i] = bc_try_material(&attempt, &all->error[i]);
    else
        all->status[i] = bc_try_relaxed(&attempt, &all->error[i]);
    atomic_store(&all->complete[i], !bc_watch_stopped(all->pool->watch));
}

/* What any thread has found since this was called last. */
static void show_found(crew *all)
{
    for (size_t e = 0; e < all->count; e++)
        if (atomic_load(&all->complete[e]) && !all->shown[e] && all->status[e] == BC_OK && all->exception[e].found) {
            all->shown[e] = true;
            bc_show_exception(all->pool, &all->exception[e]);
        }
}

/* The watch that the calling thread asks in the midst of its own change, for what the others have found meanwhile. */
typedef struct showing_watch {
    crew *all;
    bc_progress progress; /* as it was */
    void *context;
} showing_watch;

static bool show_and_ask(void *context, double fraction, double limit_used)
{
    const showing_watch *show = context;
    show_found(show->all);
    return show->progress == NULL || show->progress(show->context, fraction, limit_used);
}

static bool report_progress(void *context, size_t done)
{
    crew *all = context;
    const double share = (double)done / (double)all->count;
    show_found(all);
    bc_watch_report(all->pool->watch, BC_SHARE_WITH_EXCEPTIONS + (1.0 - BC_SHARE_WITH_EXCEPTIONS) * share,
                    all->limit_used);
    return !bc_watch_stopped(all->pool->watch);
}

static void run_all(crew *all)
{
    bc_watch *watch = all->pool->watch;
    showing_watch show = {all, watch->progress, watch->context};
    const bool waits = all->pool->request->found != NULL;
    if (waits) {
        watch->progress = show_and_ask;
        watch->context = &show;
    }
    bc_jobs_run(&(bc_jobs){all->count, bc_threads(all->pool->request->threads), take_up, report_progress, all});
    watch->progress = show.progress;
    watch->context = show.context;
}

/* What a stop cut short, or left out, is neither found nor looked for in vain. */
static void drop_incomplete(const atomic_bool *complete, bc_quote_result *result)
{
    size_t kept = 0;
    for (size_t e = 0; e < result->exceptions; e++) {
        if (atomic_load(&complete[e])) {
            result->exception[kept++] = result->exception[e];
            continue;
        }
        bc_stack_clear(&result->exception[e].stack);
        free(result->exception[e].all);
    }
    result->exceptions = kept;
}

static bc_status try_all(const bc_pool *pool, bc_quote_result *result, bc_error *error)
{
    const size_t count = result->exceptions;
    crew all = {.pool = pool,
                .exception = result->exception,
                .count = count,
                .complete = calloc(count, sizeof(atomic_bool)),
                .shown = calloc(count, sizeof(bool)),
                .status = calloc(count, sizeof(bc_status)),
                .error = calloc(count, sizeof(bc_error)),
                .limit_used = result->check.limit_used};
    bc_status status = BC_OK;
    if (all.complete == NULL || all.shown == NULL || all.status == NULL || all.error == NULL) {
        status = bc_fail_memory(error);
    } else {
        run_all(&all);
        show_found(&all);
        for (size_t i = 0; status == BC_OK && i < count; i++)
            if (all.status[i] != BC_OK)
                status = bc_fail(error, all.status[i], "%s", all.error[i].message);
        drop_incomplete(all.complete, result);
    }
    free(all.complete);
    free(all.shown);
    free(all.status);
    free(all.error);
    return status;
}

/* A limit of one row that helps whatever it is: nothing was found that holds the others. */
static void name_dropped(bc_quote_result *result)
{
    for (size_t e = 0; e < result->exceptions; e++)
        if (result->exception[e].kind == BC_EXCEPT_LIMIT && result->exception[e].callout != BC_NO_CALLOUT &&
            !result->exception[e].found)
            result->exception[e].kind = BC_EXCEPT_DROPPED;
}

/* What is offered may do better at the callouts as asked than what was there. */
static bc_status learn(bc_pool *pool, const bc_quote_result *result, bc_error *error)
{
    bc_making *making = calloc(result->exceptions + 1, sizeof *making);
    size_t count = 0;
    bc_status status;
    if (making == NULL)
        return bc_fail_memory(error);
    for (size_t e = 0; e < result->exceptions; e++)
        if (result->exception[e].found && result->exception[e].kind != BC_EXCEPT_LAYER)
            making[count++] = (bc_making){.problem = pool->problem, .start = &result->exception[e].stack};
    status = bc_pool_make(pool, count, making, NULL, error);
    free(making);
    return status;
}

bc_status bc_exceptions_find(bc_pool *pool, bc_quote_result *result, bc_error *error)
{
    const bc_quote_request *request = pool->request;
    const bc_design_problem *problem = pool->problem;
    const bc_callout *decisive = &request->problem->callouts->callout[result->decisive];
    const double at_nm = bc_middle_nm(decisive);
    bc_status status = BC_OK;
    result->exception = calloc(6 + request->problem->callouts->count + request->other_layers + request->other_glasses +
                                   request->problem->substrates,
                               sizeof *result->exception);
    if (result->exception == NULL)
        return bc_fail_memory(error);
    if (problem->materials > 0)
        status = plan_callouts(pool, result, error);
    if (status != BC_OK)
        return status;
    if (problem->zones > 1 && problem->materials > 0)
        add(result, BC_EXCEPT_APERTURE, BC_NO_CALLOUT, NULL);
    plan_layers(request, at_nm, result);
    if (problem->materials > 0)
        plan_glasses(request, at_nm, result);
    if (result->exceptions == 0)
        return BC_OK;
    status = try_all(pool, result, error);
    if (status == BC_OK)
        name_dropped(result);
    return status == BC_OK && !bc_watch_stopped(pool->watch) ? learn(pool, result, error) : status;
}
