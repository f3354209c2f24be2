/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "budget.h"
#include "clouds.h"
#include "influence.h"
#include "known_yield.h"
#include "merit_work.h"
#include "percentiles.h"
#include "scale.h"
#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CONFIDENCE 0.95

typedef struct keeper {
    bc_curves curves;
    bc_clouds clouds;
} keeper;

static void deposit(void *context, bc_run_worker *worker, size_t run)
{
    const keeper *k = context;
    const size_t callouts = worker->runs->model.problem.callouts->count;
    double limit_used;
    bc_run_draw(worker, BC_FOR_YIELD, run, worker->draw);
    limit_used = bc_run_judge(worker, worker->draw, 1.0);
    worker->good += limit_used <= 1.0;
    for (size_t c = 0; c < callouts; c++)
        worker->fails[c] += worker->callout_used[c] > 1.0;
    bc_curves_keep(&k->curves, worker, run);
    bc_clouds_keep(&k->clouds, worker, run);
}

/* The design itself: its limit_used, and the callout that uses most of it. */
static void judge_design(bc_run_worker *worker, bc_yield_result *result)
{
    const size_t callouts = worker->runs->model.problem.callouts->count;
    memset(worker->draw, 0, worker->runs->model.draws * sizeof *worker->draw);
    result->limit_used = bc_run_judge(worker, worker->draw, 1.0);
    for (size_t c = 1; c < callouts; c++)
        if (worker->callout_used[c] > worker->callout_used[result->decisive])
            result->decisive = c;
}

/* What most_work does not suffice for is left out of the options. */
static bc_status keep_bound(const bc_runs *runs, bc_yield_options *options, bc_yield_result *result, bc_error *error)
{
    const double affordable =
        options->most_work / bc_merit_value_work(runs->worker[0].merit, runs->model.layers); /* runs */
    const double fewest = fmin((double)options->runs, (double)BC_FEWEST_RUNS);
    double wanted = (double)options->runs;
    if (!(options->most_work > 0.0) || result->no_errors)
        return BC_OK;
    if (affordable < fewest)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%.0f runs of %zu layers, each at %zu wavelengths, angles and polarizations, are more work than "
                       "a yield may take (%.3g against %.3g layer evaluations): narrow the bands or the angles, or ask "
                       "for fewer callouts or runs",
                       fewest, runs->model.layers, bc_merit_samples(runs->worker[0].merit),
                       options->most_work / affordable * fewest, options->most_work);
    if (wanted > affordable) {
        options->runs = (size_t)(affordable / (double)BC_FEWEST_RUNS) * BC_FEWEST_RUNS;
        wanted = affordable;
    }
    if (options->influence && wanted + bc_influence_work(runs) > affordable) {
        options->influence = false;
        result->left_out = true;
    }
    wanted += options->influence ? bc_influence_work(runs) : 0.0;
    if (options->sigma_for_yield && wanted + bc_scale_work() > affordable) {
        options->sigma_for_yield = false;
        result->left_out = true;
    }
    return BC_OK;
}

static bc_status plan(bc_runs *runs, bc_yield_options *options, keeper *k, bc_yield_result *result, bc_error *error)
{
    bc_status status;
    judge_design(&runs->worker[0], result);
    result->no_errors = bc_draws_that_count(&runs->model, NULL) == 0;
    result->seed = options->seed;
    result->asked = options->runs;
    status = keep_bound(runs, options, result, error);
    if (status != BC_OK)
        return status;
    result->runs = options->runs;
    result->scale_for_95 = NAN;
    result->fails = calloc(runs->model.problem.callouts->count, sizeof *result->fails);
    if (result->fails == NULL)
        return bc_fail_memory(error);
    runs->total = (double)options->runs + (options->influence ? bc_influence_work(runs) : 0.0) +
                  (options->sigma_for_yield ? bc_scale_work() : 0.0);
    if (options->percentiles)
        status = bc_curves_open(&runs->worker[0], result->no_errors ? 1 : options->runs, &k->curves, result, error);
    if (status == BC_OK && options->colours && !options->quick)
        status = bc_clouds_open(&runs->worker[0], result->no_errors ? 1 : options->runs, &k->clouds, result, error);
    return status;
}

/* Without errors one run stands for all. */
static bc_status simulate(bc_runs *runs, keeper *k, bc_yield_result *result, bc_error *error)
{
    const size_t callouts = runs->model.problem.callouts->count;
    const size_t asked = result->no_errors ? 1 : result->runs;
    size_t done;
    runs->tells_share = true;
    done = bc_runs_each(runs, asked, 1.0, deposit, k);
    runs->tells_share = false;
    result->good = bc_runs_good(runs);
    for (size_t c = 0; c < callouts; c++) {
        result->fails[c] = (double)bc_runs_fails(runs, c) / (double)done;
        if (result->fails[c] > result->fails[result->decisive])
            result->decisive = c;
    }
    bc_curves_finish(&k->curves, done, result);
    if (result->no_errors) {
        result->good *= result->runs;
        result->yield = result->yield_low = result->yield_high = result->good > 0 ? 1.0 : 0.0;
    } else {
        result->runs = done;
        result->yield = (double)result->good / (double)done;
        bc_proportion_interval(result->good, done, CONFIDENCE, &result->yield_low, &result->yield_high);
    }
    return bc_clouds_finish(&k->clouds, done, error);
}

static bc_status run_all(bc_runs *runs, bc_yield_options *options, keeper *k, bc_yield_result *result, bc_error *error)
{
    bc_status status = plan(runs, options, k, result, error);
    if (status == BC_OK)
        status = simulate(runs, k, result, error);
    if (status != BC_OK)
        return status;
    if (options->influence && !runs->stopped)
        status = bc_influence_find(runs, result, error);
    if (status == BC_OK && options->sigma_for_yield && !runs->stopped) {
        if (result->no_errors)
            result->scale_for_95 = result->limit_used <= 1.0 ? INFINITY : 0.0;
        else
            result->scale_for_95 = bc_scale_find(runs, result->limit_used <= 1.0);
    }
    return status;
}

bc_status bc_yield(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                   const bc_yield_options *options, bc_yield_result *result, bc_error *error)
{
    bc_yield_options bounded = *options;
    keeper k = {0};
    bc_runs *runs;
    bc_status status;
    memset(result, 0, sizeof *result);
    if (options->runs == 0 || options->runs > UINT_MAX)
        return bc_fail(error, BC_ERROR_INPUT, "%zu runs; expected from 1 to %u", options->runs, UINT_MAX);
    status = bc_runs_alloc(problem, stack, process, options, &runs, error);
    if (status != BC_OK)
        return status;
    status = run_all(runs, &bounded, &k, result, error);
    bc_curves_close(&k.curves);
    bc_clouds_close(&k.clouds);
    if (status == BC_OK && options->known_yield && !runs->stopped && !result->no_errors)
        status =
            bc_known_yield_find(problem, stack, process, result->yield, options->threads, NULL, &result->known, error);
    bc_runs_free(runs);
    if (status != BC_OK)
        bc_yield_result_clear(result);
    return status;
}

void bc_yield_result_clear(bc_yield_result *result)
{
    for (size_t c = 0; result->curve != NULL && c < result->curves; c++)
        free(result->curve[c].wavelength_nm);
    free(result->curve);
    for (size_t c = 0; result->cloud != NULL && c < result->clouds; c++)
        free(result->cloud[c].scatter.run);
    free(result->cloud);
    free(result->influence);
    free(result->fails);
    memset(result, 0, sizeof *result);
}
