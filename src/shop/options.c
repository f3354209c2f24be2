/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "options.h"
#include <bloomcoat/robust.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DRAFT_EFFORT   0.04 /* of the search, times the quote's effort */
#define LEAST_EFFORT   0.001
#define MOST_EFFORT    1000.0
#define OPTION_RUNS    2000
#define HOPELESS_RUNS  200 /* of a design that already fails on paper */
#define CANDIDATE_RUNS 600
#define HARDLY_WORSE   0.01 /* fewer of the runs: then fewer layers are preferred */
#define COMFORTABLE    0.9  /* limit_used, where the yield is not known */
#define DRAFT_SHARE    0.4  /* of the progress */

typedef struct told {
    const bc_quote_request *request;
    bool stopped;
} told;

static bool pass_on(void *context, double fraction, double limit_used)
{
    told *to = context;
    if (to->request->progress != NULL &&
        !to->request->progress(to->request->progress_context, DRAFT_SHARE * fraction, limit_used))
        to->stopped = true;
    return !to->stopped;
}

static bool yield_is_known(const bc_quote_request *request)
{
    return request->process != NULL && (request->process->has_thickness_sigma ||
                                        request->process->has_run_thickness_sigma || request->process->has_index_sigma);
}

static bc_status judge_option(const bc_quote_request *request, const bc_design_problem *problem, size_t runs,
                              bc_quote_option *option, bc_error *error)
{
    bc_judgment judgment;
    const bc_status status =
        bc_quote_judge(request, problem, &option->stack, runs, request->seed, request->threads, &judgment, NULL, error);
    option->total_nm = bc_stack_total_nm(&option->stack);
    option->limit_used = judgment.limit_used;
    option->yield = judgment.yield;
    option->yield_low = judgment.yield_low;
    option->yield_high = judgment.yield_high;
    return status;
}

static size_t runs_for(const bc_rung *rung)
{
    return rung->limit_used <= 1.0 ? OPTION_RUNS : HOPELESS_RUNS;
}

static bc_status take_rungs(const bc_quote_request *request, const bc_design_problem *problem,
                            const bc_draft_result *draft, bc_quote_result *result, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t r = 0; status == BC_OK && r < draft->rungs; r++) {
        bc_quote_option *option = &result->option[result->options];
        if (draft->rung[r].stack.layers == 0 && draft->rungs > 1)
            continue; /* a bare surface is no coating */
        status = bc_stack_copy(&draft->rung[r].stack, &option->stack, error);
        if (status != BC_OK)
            break;
        result->options++;
        status = judge_option(request, problem, runs_for(&draft->rung[r]), option, error);
    }
    return status;
}

static bool any_good(const bc_quote_request *request, const bc_quote_result *result)
{
    for (size_t o = 0; o < result->options; o++)
        if (bc_judged_good(request,
                           &(bc_judgment){.limit_used = result->option[o].limit_used, .yield = result->option[o].yield},
                           0.0))
            return true;
    return false;
}

static bc_quote_option *option_of(bc_quote_result *result, size_t layers)
{
    for (size_t o = 0; o < result->options; o++)
        if (result->option[o].stack.layers == layers)
            return &result->option[o];
    return NULL;
}

/* The lowest limit_used is not the highest yield: where no option does, the draft's other designs are looked at, and
 * refined to hold under the errors of a run (bc_robust). */
static bc_status try_robust(const bc_quote_request *request, const bc_design_problem *problem,
                            const bc_draft_result *draft, bc_quote_result *result, bc_error *error)
{
    const bc_robust_options options = {.seed = request->seed, .runs = CANDIDATE_RUNS, .threads = request->threads};
    bc_quote_option trial = {0};
    bc_quote_option *option;
    bc_robust_result robust;
    bc_status status;
    if (!result->yield_known || any_good(request, result) || draft->rung[draft->chosen].limit_used > 1.0)
        return BC_OK;
    status = bc_robust(problem, request->process, draft, &options, &robust, error);
    if (status != BC_OK)
        return status;
    option = option_of(result, robust.stack.layers);
    status = bc_stack_copy(&robust.stack, &trial.stack, error);
    bc_robust_result_clear(&robust);
    if (status == BC_OK)
        status = judge_option(request, problem, OPTION_RUNS, &trial, error);
    if (status == BC_OK && option != NULL && trial.limit_used <= 1.0 && trial.yield > option->yield) {
        bc_stack_clear(&option->stack);
        *option = trial;
        return BC_OK;
    }
    bc_stack_clear(&trial.stack);
    return status;
}

static void plan_loads(const bc_quote_request *request, bc_quote_result *result)
{
    const double sides = request->both_sides ? 2.0 : 1.0;
    if (request->chamber != NULL && request->chamber->has_load_diameter && request->part_diameter_mm > 0.0)
        result->parts_per_load = bc_parts_per_load(request->chamber->load_diameter_mm, request->part_diameter_mm,
                                                   request->chamber->part_pitch_extra_mm);
    for (size_t o = 0; o < result->options; o++) {
        bc_quote_option *option = &result->option[o];
        double loads = 0.0;
        /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): there are as many as are counted */
        option->layer_hours = bc_layer_hours(&option->stack, request->process);
        option->hours_per_load = bc_hours_per_load(&option->stack, request->process, request->chamber);
        if (result->parts_per_load > 0 && request->quantity > 0)
            loads = sides * ceil((double)request->quantity / (double)result->parts_per_load);
        option->loads = (size_t)loads;
        option->hours = loads > 0.0 ? loads * option->hours_per_load : NAN;
        option->loads_expected = loads > 0.0 && option->yield > 0.0 ? loads / option->yield : NAN;
    }
}

bc_status bc_options_find(const bc_quote_request *request, const bc_design_problem *problem, bc_quote_result *result,
                          bc_error *error)
{
    told to = {request, false};
    const bc_draft_options options = {.aim = BC_AIM_BEST,
                                      .seed = request->seed,
                                      .effort = fmin(fmax(DRAFT_EFFORT * request->effort, LEAST_EFFORT), MOST_EFFORT),
                                      .threads = request->threads,
                                      .progress = pass_on,
                                      .progress_context = &to};
    bc_draft_result draft;
    bc_status status = bc_draft(problem, &options, &draft, error);
    if (status == BC_OK && request->proof != NULL && !to.stopped) {
        status = bc_draft_prove(problem, &options, request->proof, &draft, &result->proof, NULL, error);
        if (status != BC_OK)
            bc_draft_result_clear(&draft);
    }
    if (status != BC_OK)
        return status;
    result->stopped = to.stopped;
    result->yield_known = yield_is_known(request);
    result->runs = result->yield_known ? OPTION_RUNS : 0;
    result->option = calloc(draft.rungs, sizeof *result->option);
    status = result->option == NULL ? bc_fail_memory(error) : BC_OK;
    if (status == BC_OK)
        status = take_rungs(request, problem, &draft, result, error);
    if (status == BC_OK && !result->stopped)
        status = try_robust(request, problem, &draft, result, error);
    bc_draft_result_clear(&draft);
    plan_loads(request, result);
    return status;
}

/* Without a process: the fewest layers that keep a tenth of the limit in hand, else the lowest limit_used. */
static size_t choose_on_paper(const bc_quote_result *result)
{
    size_t best = 0;
    for (size_t o = 0; o < result->options; o++) {
        if (result->option[o].limit_used <= COMFORTABLE)
            return o;
        if (result->option[o].limit_used < result->option[best].limit_used)
            best = o;
    }
    return best;
}

/* The fewest layers that do; else, of those that do on paper, the most good runs, fewer layers where it hardly matters.
 */
static size_t choose_by_yield(const bc_quote_request *request, const bc_quote_result *result)
{
    size_t best = choose_on_paper(result);
    for (size_t o = 0; o < result->options; o++)
        if (result->option[o].limit_used <= 1.0 && result->option[o].yield >= request->yield)
            return o;
    if (result->option[best].limit_used > 1.0)
        return best;
    best = result->options;
    for (size_t o = 0; o < result->options; o++)
        if (result->option[o].limit_used <= 1.0 &&
            (best == result->options || result->option[o].yield > result->option[best].yield + HARDLY_WORSE))
            best = o;
    return best;
}

void bc_options_choose(const bc_quote_request *request, bc_quote_result *result)
{
    const bc_quote_option *option;
    result->recommended = result->yield_known ? choose_by_yield(request, result) : choose_on_paper(result);
    option = &result->option[result->recommended];
    if (option->limit_used > 1.0)
        result->verdict = BC_NOT_FEASIBLE;
    else if (isnan(option->yield) || option->yield >= request->yield)
        result->verdict = BC_FEASIBLE;
    else
        result->verdict = BC_MARGINAL;
}
