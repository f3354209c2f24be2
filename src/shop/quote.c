/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "contradiction.h"
#include "exceptions.h"
#include "found.h"
#include "known_yield.h"
#include "ladder.h"
#include "options.h"
#include "reasons.h"
#include "screen.h"
#include "standard.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define UNDECIDED 2.0 /* a share that no yield is: the first stage of an estimate will do */

static bc_status screen_layers(const bc_quote_request *request, bc_quote_result *result, bc_error *error)
{
    const bc_design_problem *problem = request->problem;
    result->layer = calloc(problem->materials, sizeof *result->layer);
    result->remark = calloc(problem->materials * BC_MOST_REMARKS, sizeof *result->remark);
    if (result->layer == NULL || result->remark == NULL)
        return bc_fail_memory(error);
    for (size_t m = 0; m < problem->materials; m++) {
        bc_remark *remark = &result->remark[result->remarks];
        const size_t remarks = bc_screen_layer(request, &problem->material[m], remark);
        result->remarks += remarks;
        if (remarks == 0 || !remark[0].refused)
            result->layer[result->layers++] = problem->material[m];
    }
    return BC_OK;
}

/* No layer's table reaches over the band: there is nothing to compute with. */
static bc_status refuse_range(const bc_quote_result *result, bc_error *error)
{
    double from_nm, to_nm;
    for (size_t i = 0; i < result->remarks; i++)
        if (result->remark[i].kind == BC_REMARK_HEAT && result->remark[i].refused)
            return BC_OK;
    const bc_remark *first = &result->remark[0];
    /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): such a remark is about a material */
    bc_dispersion_range(first->material->dispersion, &from_nm, &to_nm);
    return bc_fail(
        error, BC_ERROR_INPUT,
        "none of the layers fits: the table of %s reaches from %g to %g nm, and the callouts ask for %g to %g "
        "nm; expected a layer material with a table that reaches",
        first->material->name, from_nm, to_nm, first->from_nm, first->to_nm);
}

/* How often each callout fails with the recommended option; a standard coating is not in the pool. */
static bc_status count_fails(bc_pool *pool, bc_quote_result *result, bc_error *error)
{
    const bc_quote_request *request = pool->request;
    const size_t callouts = pool->problem->callouts->count;
    bc_thread_watch watch = {pool->watch, true};
    const bc_quote_option *option = &result->option[result->recommended];
    const bc_pooled *design = bc_pool_find(pool, &option->stack);
    bc_estimate estimate;
    bc_status status = BC_OK;
    if (isnan(option->yield) || bc_watch_stopped(pool->watch))
        return BC_OK;
    if (result->fails == NULL)
        result->fails = calloc(callouts, sizeof *result->fails);
    if (result->fails == NULL)
        return bc_fail_memory(error);
    if (design != NULL && design->estimated)
        memcpy(result->fails, design->fails, callouts * sizeof *result->fails);
    else
        status = bc_estimate_yield(pool->problem, &option->stack, request->process, UNDECIDED, request->threads, &watch,
                                   &estimate, result->fails, error);
    if (status == BC_OK && bc_watch_stopped(pool->watch)) { /* not known, or of a design chosen before */
        free(result->fails);
        result->fails = NULL;
    }
    return status;
}

static size_t callout_of(const bc_quote_request *request, const bc_finding *finding)
{
    return (size_t)(finding->callout - request->problem->callouts->callout);
}

static void find_worst_glass(const bc_quote_request *request, bc_quote_result *result)
{
    const bc_check_result *check = &result->check;
    result->decisive_finding = check->count;
    for (size_t f = 0; f < check->count; f++)
        if (callout_of(request, &check->finding[f]) == result->decisive &&
            (result->decisive_finding == check->count ||
             check->finding[f].limit_used > check->finding[result->decisive_finding].limit_used))
            result->decisive_finding = f;
}

/* On paper the callout that uses most decides; in runs the one that fails most often, at its worst glass. */
static void decide(const bc_quote_request *request, bc_quote_result *result)
{
    const bc_check_result *check = &result->check;
    const size_t callouts = request->problem->callouts->count;
    result->decisive_finding = check->decisive;
    result->decisive = callout_of(request, &check->finding[check->decisive]);
    if (result->fails == NULL || result->verdict == BC_NOT_FEASIBLE)
        return;
    for (size_t c = 0; c < callouts; c++)
        if (result->fails[c] > result->fails[result->decisive])
            result->decisive = c;
    find_worst_glass(request, result);
}

/* A search evens out what its callouts use, so the figures alone do not separate them; what can be done with one left
 * out does. */
static void decide_again(const bc_quote_request *request, bc_quote_result *result)
{
    const size_t before = result->decisive;
    for (size_t e = result->exceptions; e-- > 0;)
        if (result->exception[e].callout != BC_NO_CALLOUT && result->exception[e].found) {
            result->decisive = result->exception[e].callout;
            result->decides_alone = true;
        }
    if (result->decisive != before)
        find_worst_glass(request, result);
}

static bc_status explain(bc_pool *pool, bc_quote_result *result, bc_error *error)
{
    bc_status status;
    bc_check_result_clear(&result->check);
    status = bc_problem_check(pool->problem, &result->option[result->recommended].stack, &result->check, error);
    if (status == BC_OK)
        status = count_fails(pool, result, error);
    if (status != BC_OK)
        return status;
    decide(pool->request, result);
    bc_quote_reasons(pool->request, result);
    return BC_OK;
}

static bool any_better(const bc_pool *pool, size_t before)
{
    double best = INFINITY, yield = 0.0;
    for (size_t i = 0; i < before; i++) {
        best = fmin(best, pool->design[i].forecast.factor);
        yield = fmax(yield, pool->design[i].forecast.yield);
    }
    for (size_t i = before; i < pool->count; i++)
        if (pool->design[i].forecast.factor < best || pool->design[i].forecast.yield > yield)
            return true;
    return false;
}

static void drop_exceptions(bc_quote_result *result)
{
    for (size_t e = 0; e < result->exceptions; e++) {
        bc_stack_clear(&result->exception[e].stack);
        free(result->exception[e].all);
    }
    free(result->exception);
    result->exception = NULL;
    result->exceptions = 0;
}

/* What is found for easier callouts may do at those asked for: then the options are chosen anew. */
static bc_status except(bc_pool *pool, bc_quote_result *result, bc_error *error)
{
    const size_t before = pool->count;
    bc_status status = bc_exceptions_find(pool, result, error);
    if (status == BC_OK && any_better(pool, before) && !bc_watch_stopped(pool->watch)) {
        status = bc_options_choose(pool, result, error);
        if (status == BC_OK)
            status = explain(pool, result, error);
    }
    if (status != BC_OK)
        return status;
    if (result->verdict == BC_FEASIBLE)
        drop_exceptions(result);
    decide_again(pool->request, result);
    bc_quote_reasons(pool->request, result);
    return BC_OK;
}

/* Nothing that could be offered changes these. */
static bool is_hopeless(const bc_quote_result *result)
{
    return result->obstacle == BC_OBSTACLE_SIZE || result->obstacle == BC_OBSTACLE_CONTRADICTION;
}

static bool wants_exceptions(bc_pool *pool, const bc_quote_result *result)
{
    return result->verdict != BC_FEASIBLE && !bc_watch_ask(pool->watch) && !is_hopeless(result);
}

/* A watch for a part of the quote: its progress is a share of the whole. */
typedef struct part_watch {
    bc_watch watch;
    bc_watch *whole;
    double from, to;
} part_watch;

static bool pass_on(void *context, double fraction, double limit_used)
{
    const part_watch *part = context;
    bc_watch_report(part->whole, part->from + (part->to - part->from) * fraction, limit_used);
    return !bc_watch_stopped(part->whole);
}

/* All that a quote of effort 1 does, its exceptions included. A longer search begins with it, so that every design
 * found with less effort is there: the longer one can only add to them. */
static bc_status search_first(bc_pool *pool, bc_quote_result *result, double share, bc_error *error)
{
    const bc_quote_request *asked = pool->request;
    bc_quote_request usual = *asked;
    part_watch part = {.whole = pool->watch, .from = 0.0, .to = share};
    part.watch = (bc_watch){.progress = pass_on, .context = &part, .limit_used = INFINITY};
    usual.effort = 1.0;
    pool->request = &usual;
    pool->watch = &part.watch;
    bc_status status = bc_ladder_search(pool, &result->proof, error);
    if (status == BC_OK)
        status = bc_options_choose(pool, result, error);
    if (status == BC_OK)
        status = explain(pool, result, error);
    if (status == BC_OK && wants_exceptions(pool, result))
        status = bc_exceptions_find(pool, result, error);
    drop_exceptions(result);
    pool->request = asked;
    pool->watch = part.whole;
    return status;
}

/* By the search, and by what else could be offered where that does not do. */
static bc_status search(bc_pool *pool, bc_quote_result *result, bool standard_does, bc_error *error)
{
    const bool twice = pool->request->effort > 1.0;
    const double first = twice ? 1.0 / (1.0 + pool->request->effort) : 0.0;
    part_watch part = {.whole = pool->watch, .from = first, .to = 1.0};
    bc_status status = bc_standards_start(pool, result, error);
    part.watch = (bc_watch){.progress = pass_on, .context = &part, .limit_used = INFINITY};
    if (status == BC_OK && twice)
        status = search_first(pool, result, first, error);
    pool->watch = &part.watch;
    if (status == BC_OK)
        status = twice ? bc_ladder_search_more(pool, error) : bc_ladder_search(pool, &result->proof, error);
    result->searched = true;
    if (status == BC_OK)
        status = bc_options_choose(pool, result, error);
    if (status == BC_OK && standard_does)
        status = bc_standards_put_first(pool->request, result, error);
    if (status == BC_OK)
        status = explain(pool, result, error);
    if (status == BC_OK && !standard_does && wants_exceptions(pool, result))
        status = except(pool, result, error);
    pool->watch = part.whole;
    return status;
}

/* What the runs behind the process leave open of the yields; no verdict goes by it. */
static bc_status say_what_is_known(bc_pool *pool, bc_quote_result *result, bc_error *error)
{
    bc_thread_watch watch = {pool->watch, true};
    bc_status status = BC_OK;
    for (size_t o = 0; status == BC_OK && o < result->options && !bc_watch_stopped(pool->watch); o++) {
        bc_quote_option *option = &result->option[o];
        if (isfinite(option->yield) && option->limit_used <= 1.0)
            status = bc_known_yield_find(pool->problem, &option->stack, pool->request->process, option->yield,
                                         pool->request->threads, &watch, &option->known, error);
    }
    return status;
}

static void show_standards(const bc_pool *pool, const bc_quote_result *result)
{
    for (size_t i = 0; i < result->standards; i++) {
        bc_quote_option option = result->standard[i].option;
        option.standard = &result->standard[i];
        if (result->standard[i].does && !result->standard[i].new_design)
            bc_show_option(pool, &option);
    }
}

/* Most requests are repeats: what the shop makes already is looked at before a search, and does without one. */
static bc_status answer(bc_pool *pool, bc_quote_result *result, bc_error *error)
{
    bc_status status = bc_standards_hold(pool, result, error);
    const bool standard_does = status == BC_OK && bc_standard_does(result);
    if (status == BC_OK)
        show_standards(pool, result);
    if (status == BC_OK && (!standard_does || pool->request->search_too)) {
        status = search(pool, result, standard_does, error);
    } else if (status == BC_OK) {
        status = bc_standards_put_first(pool->request, result, error);
        if (status == BC_OK)
            status = explain(pool, result, error);
    }
    if (status == BC_OK)
        status = say_what_is_known(pool, result, error);
    result->stopped = bc_watch_stopped(pool->watch);
    return status;
}

static bc_status refuse(const bc_quote_request *request, bc_error *error)
{
    if (!(request->yield > 0.0 && request->yield <= 1.0))
        return bc_fail(error, BC_ERROR_INPUT, "a yield of %g %% was asked for; expected more than 0 and at most 100",
                       100.0 * request->yield);
    if (!(request->effort > 0.0 && request->effort <= 1000.0))
        return bc_fail(error, BC_ERROR_INPUT, "effort %g; expected more than 0 and at most 1000", request->effort);
    if (!(request->confidence >= 0.0 && request->confidence < 1.0))
        return bc_fail(error, BC_ERROR_INPUT, "a confidence of %g %%; expected from 0 (not stated) to below 100",
                       100.0 * request->confidence);
    if (!(request->part_diameter_mm >= 0.0))
        return bc_fail(error, BC_ERROR_INPUT, "a part of %g mm; expected a diameter in mm of 0 (not known) or more",
                       request->part_diameter_mm);
    if (request->problem->materials == 0 || request->problem->substrates == 0 || request->problem->callouts->count == 0)
        return bc_fail(error, BC_ERROR_INPUT, "a quote needs callouts, a substrate and at least one layer material");
    return BC_OK;
}

bc_status bc_quote(const bc_quote_request *request, bc_quote_result *result, bc_error *error)
{
    bc_design_problem problem = *request->problem;
    bc_watch watch = {.progress = request->progress, .context = request->progress_context, .limit_used = INFINITY};
    bc_pool pool = {.request = request, .problem = &problem, .watch = &watch, .part = {0.0, 1.0}};
    bc_status status = refuse(request, error);
    memset(result, 0, sizeof *result);
    if (status == BC_OK)
        status = screen_layers(request, result, error);
    if (status == BC_OK && result->layers == 0)
        status = refuse_range(result, error);
    problem.materials = result->layers;
    problem.material = result->layer;
    if (status == BC_OK)
        result->contradicted =
            bc_callouts_contradict(problem.callouts, &result->contradiction[0], &result->contradiction[1]);
    if (status == BC_OK)
        status = answer(&pool, result, error);
    bc_pool_clear(&pool);
    if (status != BC_OK)
        bc_quote_result_clear(result);
    return status;
}

void bc_quote_result_clear(bc_quote_result *result)
{
    for (size_t o = 0; o < result->options; o++)
        bc_stack_clear(&result->option[o].stack);
    for (size_t i = 0; i < result->standards; i++)
        bc_stack_clear(&result->standard[i].option.stack);
    drop_exceptions(result);
    free(result->standard);
    free(result->option);
    free(result->fails);
    free(result->remark);
    free(result->layer);
    bc_check_result_clear(&result->check);
    bc_proof_clear(&result->proof);
    memset(result, 0, sizeof *result);
}
