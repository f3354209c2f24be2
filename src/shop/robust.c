/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "ladder.h"
#include "options.h"
#include <bloomcoat/robust.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SIMULATED   3      /* of the best forecasts with each number of layers */
#define FIRST_RUNS  1000   /* of the first comparison */
#define FAR         0.05   /* below the highest yield: not simulated with all runs */
#define POINTS      0.02   /* of yield, that a layer more must bring */
#define SEARCHED    0.7    /* of the ladder: before the draft joins it */
#define CLIMBED     0.9    /* of the progress: before runs are simulated */
#define LAST_RUNS   0.1    /* of it: all of them */
#define HASTY_RUNS  200    /* after an interrupt */
#define YIELD_STEPS 1000.0 /* yields of the same thousandth are equal: then the lower limit_used decides */
#define USED_STEPS  1000.0 /* and of the same thousandth of the limit: then the fewer layers */

/* A design that might be chosen. */
typedef struct contender {
    bc_stack stack;
    double limit_used, yield, yield_low, yield_high;
} contender;

typedef struct contest {
    const bc_design_problem *problem;
    const bc_process *process;
    const bc_robust_options *options;
    bc_watch watch;
    size_t count, designs;
    contender *contender;
} contest;

/* Highest yield first; among equals the lowest limit_used, then the fewest layers. */
static int better_first(const void *one, const void *other)
{
    const contender *a = one, *b = other;
    const double yield_a = round(YIELD_STEPS * a->yield), yield_b = round(YIELD_STEPS * b->yield);
    if (yield_a != yield_b)
        return yield_a > yield_b ? -1 : 1;
    if (round(USED_STEPS * a->limit_used) != round(USED_STEPS * b->limit_used))
        return a->limit_used > b->limit_used ? 1 : -1;
    return (a->stack.layers > b->stack.layers) - (a->stack.layers < b->stack.layers);
}

/* By layers; of equally many the better first. */
static int fewer_first(const void *one, const void *other)
{
    const contender *a = one, *b = other;
    if (a->stack.layers != b->stack.layers)
        return a->stack.layers > b->stack.layers ? 1 : -1;
    return better_first(one, other);
}

/* Sort by layers, and let go of all but the first `most` of each number of layers. */
static void keep_best(contest *c, size_t most)
{
    size_t kept = 0;
    if (c->count == 0) /* qsort() takes no NULL, not even with nothing to sort */
        return;
    qsort(c->contender, c->count, sizeof *c->contender, fewer_first);
    for (size_t k = 0; k < c->count; k++) {
        size_t before = 0;
        for (size_t i = 0; i < kept; i++)
            before += c->contender[i].stack.layers == c->contender[k].stack.layers;
        if (before < most)
            c->contender[kept++] = c->contender[k];
        else
            bc_stack_clear(&c->contender[k].stack);
    }
    c->count = kept;
}

static bc_status enter(contest *c, const bc_stack *stack, double yield, double limit_used, bc_error *error)
{
    contender *new = &c->contender[c->count];
    const bc_status status = bc_stack_copy(stack, &new->stack, error);
    new->limit_used = limit_used;
    new->yield = yield;
    c->count += status == BC_OK;
    return status;
}

static bc_status simulate(const contest *c, const bc_stack *stack, size_t runs, bool quick, bc_yield_result *result,
                          bc_error *error)
{
    const bc_yield_options options = {.runs = runs,
                                      .seed = c->options->seed,
                                      .threads = c->options->threads,
                                      .quick = quick,
                                      .most_work = BC_MOST_YIELD_WORK};
    return bc_yield(c->problem, stack, c->process, &options, result, error);
}

/* Those whose yield so far is at least `least`; limit_used is then that of a verdict. */
static bc_status simulate_all(contest *c, size_t runs, bool quick, double least, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t k = 0; status == BC_OK && k < c->count && !bc_watch_stopped(&c->watch); k++) {
        bc_yield_result result;
        bc_watch_report(&c->watch,
                        fmax(c->watch.fraction, CLIMBED + (quick ? 0.0 : LAST_RUNS) * (double)k / (double)c->count),
                        c->watch.limit_used);
        if (c->contender[k].yield < least)
            continue;
        status = simulate(c, &c->contender[k].stack, runs, quick, &result, error);
        if (status != BC_OK)
            break;
        c->contender[k].yield = result.yield;
        c->contender[k].yield_low = result.yield_low;
        c->contender[k].yield_high = result.yield_high;
        if (!quick)
            c->contender[k].limit_used = result.limit_used;
        bc_yield_result_clear(&result);
    }
    return status;
}

/* Every design a draft hands out, as it is. */
static bc_status add_draft(bc_pool *pool, const bc_draft_result *draft, bc_error *error)
{
    bc_making *making = calloc(draft->rungs + draft->candidates + 1, sizeof *making);
    size_t count = 0;
    bc_status status;
    if (making == NULL)
        return bc_fail_memory(error);
    for (size_t r = 0; r < draft->rungs; r++)
        making[count++] = (bc_making){.problem = pool->problem, .start = &draft->rung[r].stack};
    for (size_t k = 0; k < draft->candidates; k++)
        making[count++] = (bc_making){.problem = pool->problem, .start = &draft->candidate[k].stack};
    status = bc_pool_make(pool, count, making, NULL, error);
    free(making);
    return status;
}

static bool meets_on_paper(const bc_pooled *design)
{
    return design->forecast.limit_used <= 1.0 && design->stack.layers > 0;
}

/* What meets the callouts on paper, with the yields forecast. */
static bc_status enter_pool(contest *c, const bc_pool *pool, bc_error *error)
{
    bc_status status = BC_OK;
    c->designs = pool->count;
    c->contender = calloc(pool->count + 1, sizeof *c->contender);
    if (c->contender == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; status == BC_OK && i < pool->count; i++)
        if (meets_on_paper(&pool->design[i]))
            status = enter(c, &pool->design[i].stack, pool->design[i].forecast.yield,
                           pool->design[i].forecast.limit_used, error);
    return status;
}

/* The ladder that a quote climbs for the same request, and then the draft's own designs on it. */
static bc_status climb(contest *c, const bc_draft_result *draft, bc_error *error)
{
    const bc_quote_request request = {.problem = c->problem,
                                      .process = c->process,
                                      .prefer = BC_PREFER_LAYERS,
                                      .yield = BC_USUAL_SHARE,
                                      .seed = c->options->seed,
                                      .effort = c->options->search_effort,
                                      .threads = c->options->threads};
    bc_pool pool = {
        .request = &request, .problem = c->problem, .watch = &c->watch, .share = CLIMBED, .part = {0.0, SEARCHED}};
    const bc_ladder_part again = {0.0, 1.0};
    size_t enough;
    bc_status status = c->options->search_effort > 0.0 ? bc_ladder_search(&pool, NULL, error) : BC_OK;
    if (status == BC_OK && c->options->search_effort > 1.0)
        status = bc_ladder_search_more(&pool, error);
    pool.part = (bc_ladder_part){c->options->search_effort > 0.0 ? SEARCHED : 0.0, 1.0};
    if (status == BC_OK)
        status = add_draft(&pool, draft, error);
    if (status == BC_OK && bc_yield_is_known(&request))
        status = bc_ladder_climb(&pool, c->problem->max_layers, &again, &enough, error);
    if (status == BC_OK)
        status = enter_pool(c, &pool, error);
    bc_pool_clear(&pool);
    return status;
}

/* Of those that meet the callouts. */
static double highest_yield(const contest *c)
{
    double highest = 0.0;
    for (size_t k = 0; k < c->count; k++)
        if (c->contender[k].limit_used <= 1.0)
            highest = fmax(highest, c->contender[k].yield);
    return highest;
}

/* What was found with each number of layers, and the fewest layers that are nearly as good as any. */
static bc_status list_rungs(const contest *c, bc_robust_result *result, bc_error *error)
{
    const double points = c->options->points > 0.0 ? c->options->points : POINTS;
    const double least = highest_yield(c) - points;
    bool chosen = false;
    result->rung = calloc(c->count, sizeof *result->rung);
    if (result->rung == NULL)
        return bc_fail_memory(error);
    for (size_t k = 0; k < c->count; k++) {
        const contender *one = &c->contender[k];
        result->rung[result->rungs++] = (bc_yield_rung){one->stack.layers, bc_stack_total_nm(&one->stack),
                                                        one->limit_used,   one->yield,
                                                        one->yield_low,    one->yield_high};
        if (!chosen && one->yield >= least && (one->limit_used <= 1.0 || c->count == 1)) {
            result->chosen = k;
            chosen = true;
        }
    }
    return BC_OK;
}

/* The winner, and the draft's own choice beside it. */
static bc_status conclude(contest *c, const bc_draft_result *draft, bc_robust_result *result, bc_error *error)
{
    const bc_rung *sharpest = &draft->rung[draft->chosen];
    const contender *best;
    bc_yield_result yield;
    bc_status status = list_rungs(c, result, error);
    if (status == BC_OK)
        status = simulate(c, &sharpest->stack, result->interrupted ? HASTY_RUNS : result->runs, false, &yield, error);
    if (status != BC_OK)
        return status;
    best = &c->contender[result->chosen];
    result->designs = c->designs;
    result->sharpest_limit_used = sharpest->limit_used;
    result->sharpest_yield = yield.yield;
    result->sharpest_low = yield.yield_low;
    result->sharpest_high = yield.yield_high;
    bc_yield_result_clear(&yield);
    result->limit_used = best->limit_used;
    result->yield = best->yield;
    result->yield_low = best->yield_low;
    result->yield_high = best->yield_high;
    return bc_stack_copy(&best->stack, &result->stack, error);
}

/* The draft's choice alone: nothing meets the callouts, or it was interrupted before yields were compared. */
static bc_status take_sharpest(contest *c, const bc_draft_result *draft, size_t runs, bc_robust_result *result,
                               bc_error *error)
{
    const bc_rung *sharpest = &draft->rung[draft->chosen];
    bc_status status;
    keep_best(c, 0);
    status = enter(c, &sharpest->stack, 0.0, sharpest->limit_used, error);
    c->watch.progress = NULL;
    atomic_store(&c->watch.stopped, false);
    if (status == BC_OK)
        status = simulate_all(c, runs, false, 0.0, error);
    return status == BC_OK ? conclude(c, draft, result, error) : status;
}

static bc_status compare(contest *c, const bc_draft_result *draft, bc_robust_result *result, bc_error *error)
{
    bc_status status = BC_OK;
    keep_best(c, SIMULATED);
    status = simulate_all(c, result->runs < FIRST_RUNS ? result->runs : FIRST_RUNS, true, 0.0, error);
    keep_best(c, 1);
    if (status == BC_OK)
        status = simulate_all(c, result->runs, false, highest_yield(c) - FAR, error);
    if (status == BC_OK && bc_watch_stopped(&c->watch)) {
        result->interrupted = true;
        result->runs = result->runs < HASTY_RUNS ? result->runs : HASTY_RUNS;
        return take_sharpest(c, draft, result->runs, result, error);
    }
    if (status == BC_OK && highest_yield(c) == 0.0)
        return take_sharpest(c, draft, result->runs, result, error);
    return status == BC_OK ? conclude(c, draft, result, error) : status;
}

bc_status bc_robust(const bc_design_problem *problem, const bc_process *process, const bc_draft_result *draft,
                    const bc_robust_options *options, bc_robust_result *result, bc_error *error)
{
    contest c = {.problem = problem,
                 .process = process,
                 .options = options,
                 .watch = {.progress = options->progress, .context = options->progress_context}};
    bc_status status;
    memset(result, 0, sizeof *result);
    if (options->runs == 0)
        return bc_fail(error, BC_ERROR_INPUT, "0 runs; expected 1 or more");
    result->runs = options->runs;
    c.watch.limit_used = draft->rung[draft->chosen].limit_used;
    status = climb(&c, draft, error);
    if (status == BC_OK)
        status = compare(&c, draft, result, error);
    keep_best(&c, 0);
    free(c.contender);
    if (status != BC_OK)
        bc_robust_result_clear(result);
    return status;
}

void bc_robust_result_clear(bc_robust_result *result)
{
    bc_stack_clear(&result->stack);
    free(result->rung);
    memset(result, 0, sizeof *result);
}
