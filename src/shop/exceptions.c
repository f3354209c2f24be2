/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exceptions.h"
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
#define SHARE_BEFORE   0.5 /* of the progress: what came before the exceptions */

typedef struct crew {
    const bc_try *attempts;
    size_t count;
    bc_status *status; /* [count] */
    bc_error *error;   /* [count] */
    const bc_quote_request *request;
    double limit_used; /* of the recommended option, for the progress */
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
                                                             .limit_used = INFINITY,
                                                             .yield = NAN,
                                                             .yield_low = NAN,
                                                             .yield_high = NAN};
}

/* A callout to be left out, to see whether it stands in the way. */
typedef struct dropping {
    bc_exception exception;
    bc_try attempt;
    bool found;
    bc_status status;
    bc_error error;
} dropping;

static void drop(void *context, size_t worker, size_t i)
{
    dropping *one = (dropping *)context + i;
    (void)worker;
    one->status = bc_try_without(&one->attempt, &one->found, &one->error);
}

/* Every change of a callout; or, when nothing would do without it either, that. */
static bc_status plan_callout(const bc_design_problem *problem, const dropping *tried, bc_quote_result *result,
                              bc_error *error)
{
    const size_t callout = tried->exception.callout;
    if (tried->status != BC_OK)
        return bc_fail(error, tried->status, "%s", tried->error.message);
    if (!tried->found) {
        add(result, BC_EXCEPT_DROPPED, callout, NULL);
        return BC_OK;
    }
    for (int kind = BC_EXCEPT_LIMIT; kind <= BC_EXCEPT_ANGLE; kind++)
        if (bc_relax_applies(&problem->callouts->callout[callout], (bc_exception_kind)kind))
            add(result, (bc_exception_kind)kind, callout, NULL);
    return BC_OK;
}

/* The hardest callouts. */
static size_t choose_callouts(const bc_quote_request *request, const bc_design_problem *problem, const bc_warm *warm,
                              const bc_quote_result *result, bool *taken, dropping *tried)
{
    size_t count = 0, c;
    while (count < times_effort(request, CALLOUTS_TRIED) &&
           (c = next_callout(result, problem->callouts, taken)) != BC_NO_CALLOUT) {
        dropping *one = &tried[count++];
        taken[c] = true;
        one->exception.callout = c;
        one->attempt = (bc_try){request, problem, warm, &one->exception};
    }
    return count;
}

static bc_status plan_callouts(const bc_quote_request *request, const bc_design_problem *problem, const bc_warm *warm,
                               bc_quote_result *result, bc_error *error)
{
    const size_t callouts = problem->callouts->count;
    bool *taken = calloc(callouts, sizeof *taken);
    dropping *tried = calloc(callouts, sizeof *tried);
    bc_status status = BC_OK;
    if (taken == NULL || tried == NULL) {
        status = bc_fail_memory(error);
    } else {
        const size_t count = choose_callouts(request, problem, warm, result, taken, tried);
        bc_jobs_run(&(bc_jobs){.count = count, .threads = bc_threads(request->threads), .job = drop, .context = tried});
        for (size_t i = 0; status == BC_OK && i < count; i++)
            status = plan_callout(problem, &tried[i], result, error);
    }
    free(taken);
    free(tried);
    return status;
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

/* The designs to begin with: the recommended one, and those that use least of the limits. */
static bc_warm choose_warm(const bc_quote_result *result)
{
    bc_warm warm = {.count = 1, .stack = {&result->option[result->recommended].stack}};
    for (size_t o = result->options; o-- > 0 && warm.count < 3;)
        if (o != result->recommended && result->option[o].stack.layers > 0)
            warm.stack[warm.count++] = &result->option[o].stack;
    return warm;
}

static void take_up(void *context, size_t worker, size_t i)
{
    crew *all = context;
    const bc_try *attempt = &all->attempts[i];
    (void)worker;
    if (attempt->exception->other != NULL)
        all->status[i] = bc_try_material(attempt, &all->error[i]);
    else if (attempt->exception->kind != BC_EXCEPT_DROPPED)
        all->status[i] = bc_try_relaxed(attempt, &all->error[i]);
}

static bool tell(void *context, size_t done)
{
    const crew *all = context;
    const bc_quote_request *request = all->request;
    const double share = (double)done / (double)all->count;
    return request->progress == NULL ||
           request->progress(request->progress_context, SHARE_BEFORE + (1.0 - SHARE_BEFORE) * share, all->limit_used);
}

static bc_status try_all(const bc_quote_request *request, const bc_design_problem *problem, const bc_warm *warm,
                         bc_quote_result *result, bc_error *error)
{
    const size_t count = result->exceptions;
    bc_try *attempts = calloc(count, sizeof *attempts);
    crew all = {.attempts = attempts,
                .count = count,
                .status = calloc(count, sizeof(bc_status)),
                .error = calloc(count, sizeof(bc_error)),
                .request = request,
                .limit_used = result->check.limit_used};
    bc_status status = BC_OK;
    if (attempts == NULL || all.status == NULL || all.error == NULL) {
        status = bc_fail_memory(error);
    } else {
        for (size_t i = 0; i < count; i++)
            attempts[i] = (bc_try){request, problem, warm, &result->exception[i]};
        if (!bc_jobs_run(&(bc_jobs){count, bc_threads(request->threads), take_up, tell, &all}))
            result->stopped = true;
        for (size_t i = 0; status == BC_OK && i < count; i++)
            if (all.status[i] != BC_OK)
                status = bc_fail(error, all.status[i], "%s", all.error[i].message);
    }
    free(attempts);
    free(all.status);
    free(all.error);
    return status;
}

bc_status bc_exceptions_find(const bc_quote_request *request, const bc_design_problem *problem, bc_quote_result *result,
                             bc_error *error)
{
    const bc_callout *decisive = &request->problem->callouts->callout[result->decisive];
    const double at_nm = 2.0 / (1.0 / decisive->from_nm + 1.0 / decisive->to_nm);
    const bc_warm warm = choose_warm(result);
    bc_status status;
    result->exception = calloc(5 * request->problem->callouts->count + request->other_layers + request->other_glasses +
                                   request->problem->substrates + 1,
                               sizeof *result->exception);
    if (result->exception == NULL)
        return bc_fail_memory(error);
    status = plan_callouts(request, problem, &warm, result, error);
    if (status != BC_OK)
        return status;
    if (problem->zones > 1)
        add(result, BC_EXCEPT_APERTURE, BC_NO_CALLOUT, NULL);
    plan_layers(request, at_nm, result);
    plan_glasses(request, at_nm, result);
    return result->exceptions == 0 ? BC_OK : try_all(request, problem, &warm, result, error);
}
