/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "jobs.h"
#include "margin.h"
#include <bloomcoat/robust.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define REFINED     2      /* of the best margins with each number of layers */
#define SIMULATED   3      /* of the best margins with each number of layers after that */
#define FIRST_RUNS  1000   /* runs of the first comparison */
#define FAR         0.05   /* below the highest yield: not simulated with all runs */
#define POINTS      0.02   /* of yield, that a layer more must bring */
#define STEPS       6.0    /* of the progress */
#define HASTY_RUNS  200    /* after an interrupt */
#define COMFORTABLE 0.9    /* a candidate that uses no more is looked at as it is */
#define YIELD_STEPS 1000.0 /* yields of the same thousandth are equal: then the lower limit_used decides */
#define USED_STEPS  1000.0 /* and of the same thousandth of the limit: then the fewer layers */

/* Standard deviations a refinement holds out against. */
static const double spreads[] = {1.0, 1.8, 2.8, 4.0};
#define SPREADS (sizeof spreads / sizeof *spreads)

/* A design that might be chosen. */
typedef struct contender {
    bc_stack stack;
    double limit_used, margin, spread, yield, yield_low, yield_high;
} contender;

/* A refinement to be made: of `start`, on its own (spread 0) or under errors. */
typedef struct attempt {
    const bc_stack *start;
    double spread;
    contender made; /* no layers: it does not meet the callouts */
    bc_status status;
    bc_error error;
} attempt;

typedef struct contest {
    const bc_design_problem *problem;
    const bc_process *process;
    const bc_robust_options *options;
    size_t count;
    contender *contender;
    size_t attempts;
    double done, limit_used; /* for the progress */
    bool stopped;
    attempt *attempt; /* several threads make them, each on its own; what comes of them enters in their order */
} contest;

/* Whether the caller wants it to end. By the calling thread. */
static void ask(contest *c)
{
    const bc_robust_options *o = c->options;
    if (o->progress != NULL && !o->progress(o->progress_context, fmin(c->done / STEPS, 1.0), c->limit_used))
        c->stopped = true;
}

static bool ask_between(void *context, size_t done)
{
    (void)done;
    ask(context);
    return !((contest *)context)->stopped;
}

static bc_status describe(const contest *c, const bc_stack *stack, double limit_used, double spread, contender *new,
                          bc_error *error)
{
    bc_status status = bc_stack_copy(stack, &new->stack, error);
    if (status != BC_OK)
        return status;
    new->limit_used = limit_used;
    new->spread = spread;
    new->yield = 0.0;
    status = bc_linear_margin(c->problem, stack, c->process, &new->margin, error);
    if (status != BC_OK)
        bc_stack_clear(&new->stack);
    return status;
}

static bc_status enter(contest *c, const bc_stack *stack, double limit_used, bc_error *error)
{
    const bc_status status = describe(c, stack, limit_used, 0.0, &c->contender[c->count], error);
    c->count += status == BC_OK;
    return status;
}

/* Highest yield first; among equals the lowest limit_used, then the fewest layers. Before any run is simulated all
 * yields are 0, and the margin decides. */
static int better_first(const void *one, const void *other)
{
    const contender *a = one, *b = other;
    const double yield_a = round(YIELD_STEPS * a->yield), yield_b = round(YIELD_STEPS * b->yield);
    if (yield_a != yield_b)
        return yield_a > yield_b ? -1 : 1;
    if (a->yield == 0.0 && a->margin != b->margin)
        return a->margin > b->margin ? -1 : 1;
    if (round(USED_STEPS * a->limit_used) != round(USED_STEPS * b->limit_used))
        return a->limit_used > b->limit_used ? 1 : -1;
    return (a->stack.layers > b->stack.layers) - (a->stack.layers < b->stack.layers);
}

static bc_status simulate(const contest *c, const bc_stack *stack, size_t runs, bool quick, bc_yield_result *result,
                          bc_error *error)
{
    const bc_yield_options options = {
        .runs = runs, .seed = c->options->seed, .threads = c->options->threads, .quick = quick};
    return bc_yield(c->problem, stack, c->process, &options, result, error);
}

/* Those whose yield so far is at least `least`. */
static bc_status simulate_all(contest *c, size_t runs, bool quick, double least, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t k = 0; status == BC_OK && k < c->count && !c->stopped; k++) {
        bc_yield_result result;
        if (c->contender[k].yield < least)
            continue;
        status = simulate(c, &c->contender[k].stack, runs, quick, &result, error);
        if (status == BC_OK) {
            c->contender[k].yield = result.yield;
            c->contender[k].yield_low = result.yield_low;
            c->contender[k].yield_high = result.yield_high;
            bc_yield_result_clear(&result);
        }
        ask(c);
    }
    return status;
}

/* Materials of the stack in order of first appearance, as bc_scenarios counts them. */
static size_t list_materials(const bc_stack *stack, const bc_medium **material)
{
    size_t count = 0;
    for (size_t j = 0; j < stack->layers; j++) {
        size_t m = 0;
        while (m < count && material[m]->dispersion != stack->layer[j].material.dispersion)
            m++;
        if (m == count)
            material[count++] = &stack->layer[j].material;
    }
    return count;
}

/* Single errors of `spread` standard deviations, both ways: of each layer, of the bias, of each material's index. */
static size_t fill_scenarios(const contest *c, const bc_stack *stack, double spread, size_t materials,
                             const bc_medium *const *material, double *error, double *dn)
{
    size_t count = 0;
    for (int way = -1; way <= 1; way += 2) {
        for (size_t j = 0; j < stack->layers; j++)
            error[count++ * stack->layers + j] =
                way * spread * bc_process_for(c->process, stack->layer[j].material.name).thickness_sigma;
        for (size_t j = 0; j < stack->layers; j++)
            error[count * stack->layers + j] =
                way * spread * bc_process_for(c->process, stack->layer[j].material.name).run_thickness_sigma;
        count++;
        for (size_t m = 0; m < materials; m++)
            dn[count++ * materials + m] = way * spread * bc_process_for(c->process, material[m]->name).index_sigma;
    }
    return count;
}

static bc_status refine_under_errors(const contest *c, double spread, bc_stack *stack, bc_refine_result *refined,
                                     bc_error *error)
{
    const size_t most = 2 * (2 * stack->layers + 1);
    const bc_medium **material = calloc(stack->layers + 1, sizeof *material);
    double *errors = calloc(most * stack->layers + 1, sizeof *errors),
           *dn = calloc(most * stack->layers + 1, sizeof *dn);
    bc_status status = BC_OK;
    if (material == NULL || errors == NULL || dn == NULL) {
        status = bc_fail_memory(error);
    } else {
        bc_scenarios scenarios = {.materials = list_materials(stack, material), .error = errors, .dn = dn};
        scenarios.count = fill_scenarios(c, stack, spread, scenarios.materials, material, errors, dn);
        status = bc_refine_scenarios(c->problem, &scenarios, stack, refined, error);
    }
    free(material);
    free(errors);
    free(dn);
    return status;
}

static bc_status make(const contest *c, attempt *a)
{
    bc_refine_result refined;
    bc_stack stack;
    bc_status status = bc_stack_copy(a->start, &stack, &a->error);
    if (status != BC_OK)
        return status;
    if (a->spread > 0.0)
        status = refine_under_errors(c, a->spread, &stack, &refined, &a->error);
    else
        status = bc_refine_until(c->problem, COMFORTABLE, &stack, &refined, &a->error);
    if (status == BC_OK && refined.limit_used <= 1.0)
        status = describe(c, &stack, refined.limit_used, a->spread, &a->made, &a->error);
    bc_stack_clear(&stack);
    return status;
}

static void make_one(void *context, size_t worker, size_t i)
{
    contest *c = context;
    (void)worker;
    c->attempt[i].status = make(c, &c->attempt[i]);
}

/* Make what is planned, and let the designs that meet the callouts enter. */
static bc_status make_all(contest *c, bc_error *error)
{
    bc_status status = BC_OK;
    bc_jobs_run(&(bc_jobs){.count = c->attempts,
                           .threads = bc_threads(c->options->threads),
                           .job = make_one,
                           .between = ask_between,
                           .context = c});
    for (size_t i = 0; i < c->attempts; i++) {
        attempt *a = &c->attempt[i];
        if (status == BC_OK && a->status != BC_OK)
            status = bc_fail(error, a->status, "%s", a->error.message);
        if (a->made.stack.layers > 0)
            c->contender[c->count++] = a->made;
    }
    c->attempts = 0;
    return status;
}

static void plan(contest *c, const bc_stack *start, double spread)
{
    c->attempt[c->attempts++] = (attempt){.start = start, .spread = spread};
}

/* How many of the contenders before number k have as many layers. */
static size_t place_among_equals(const contest *c, size_t k)
{
    size_t place = 0;
    for (size_t i = 0; i < k; i++)
        place += c->contender[i].stack.layers == c->contender[k].stack.layers;
    return place;
}

static bc_status refine_best(contest *c, bc_error *error)
{
    for (size_t k = 0; k < c->count; k++)
        for (size_t s = 0; s < SPREADS && c->contender[k].stack.layers > 0; s++)
            if (place_among_equals(c, k) < REFINED)
                plan(c, &c->contender[k].stack, spreads[s]);
    return make_all(c, error);
}

static bc_status enter_draft(contest *c, const bc_draft_result *draft, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t r = 0; status == BC_OK && r < draft->rungs; r++)
        if (draft->rung[r].limit_used <= 1.0)
            status = enter(c, &draft->rung[r].stack, draft->rung[r].limit_used, error);
    for (size_t k = 0; k < draft->candidates; k++)
        plan(c, &draft->candidate[k].stack, 0.0);
    return status == BC_OK ? make_all(c, error) : status;
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

static double highest_yield(const contest *c)
{
    double highest = 0.0;
    for (size_t k = 0; k < c->count; k++)
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
        if (!chosen && one->yield >= least) {
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
        status = simulate(c, &sharpest->stack, c->stopped ? HASTY_RUNS : result->runs, false, &yield, error);
    if (status != BC_OK)
        return status;
    best = &c->contender[result->chosen];
    result->sharpest_limit_used = sharpest->limit_used;
    result->sharpest_yield = yield.yield;
    result->sharpest_low = yield.yield_low;
    result->sharpest_high = yield.yield_high;
    bc_yield_result_clear(&yield);
    result->limit_used = best->limit_used;
    result->spread = best->spread;
    result->yield = best->yield;
    result->yield_low = best->yield_low;
    result->yield_high = best->yield_high;
    return bc_stack_copy(&best->stack, &result->stack, error);
}

/* Interrupted before the yields were compared: the draft's choice stands, with a yield of few runs. */
static bc_status take_sharpest(contest *c, const bc_draft_result *draft, bc_robust_result *result, bc_error *error)
{
    bc_status status;
    for (size_t k = 0; k < c->count; k++)
        bc_stack_clear(&c->contender[k].stack);
    c->count = 0;
    result->interrupted = true;
    status = enter(c, &draft->rung[draft->chosen].stack, draft->rung[draft->chosen].limit_used, error);
    if (status == BC_OK) {
        c->stopped = false;
        result->runs = result->runs < HASTY_RUNS ? result->runs : HASTY_RUNS;
        status = simulate_all(c, result->runs, false, 0.0, error);
    }
    return status == BC_OK ? conclude(c, draft, result, error) : status;
}

static bc_status hold(contest *c, const bc_draft_result *draft, bc_robust_result *result, bc_error *error)
{
    bc_status status = enter_draft(c, draft, error);
    if (status == BC_OK && c->count == 0) /* nothing meets the callouts: the draft's choice stands */
        status = enter(c, &draft->rung[draft->chosen].stack, draft->rung[draft->chosen].limit_used, error);
    if (status != BC_OK)
        return status;
    c->done = 2.0;
    qsort(c->contender, c->count, sizeof *c->contender, better_first);
    status = refine_best(c, error);
    result->designs = c->count;
    keep_best(c, SIMULATED);
    c->done = 4.0;
    if (status == BC_OK)
        status = simulate_all(c, result->runs < FIRST_RUNS ? result->runs : FIRST_RUNS, true, 0.0, error);
    keep_best(c, 1);
    c->done = 5.0;
    if (status == BC_OK)
        status = simulate_all(c, result->runs, false, highest_yield(c) - FAR, error);
    if (status == BC_OK && c->stopped)
        return take_sharpest(c, draft, result, error);
    return status == BC_OK ? conclude(c, draft, result, error) : status;
}

bc_status bc_robust(const bc_design_problem *problem, const bc_process *process, const bc_draft_result *draft,
                    const bc_robust_options *options, bc_robust_result *result, bc_error *error)
{
    contest c = {.problem = problem, .process = process, .options = options};
    bc_status status;
    memset(result, 0, sizeof *result);
    if (options->runs == 0)
        return bc_fail(error, BC_ERROR_INPUT, "0 runs; expected 1 or more");
    c.limit_used = draft->rung[draft->chosen].limit_used;
    result->runs = options->runs;
    c.contender = calloc((draft->candidates + draft->rungs) * (1 + SPREADS) + 1, sizeof *c.contender);
    c.attempt = calloc((draft->candidates + draft->rungs) * (1 + SPREADS) + 1, sizeof *c.attempt);
    status = c.contender == NULL || c.attempt == NULL ? bc_fail_memory(error) : hold(&c, draft, result, error);
    for (size_t k = 0; k < c.count; k++)
        bc_stack_clear(&c.contender[k].stack);
    free(c.contender);
    free(c.attempt);
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
