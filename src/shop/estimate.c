/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "estimate.h"
#include "doubtful.h"
#include "response.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LOOK_RUNS   1500 /* predicted */
#define JUDGED_RUNS 4000
#define CONFIDENCE  0.95

/* Runs predicted and judged: first, where that is not far below what is asked for, and where that leaves the verdict
 * open. */
static const size_t predicted_runs[] = {4096, 20480, 160768}, judged_runs[] = {256, 1024, 8192};
#define STAGES    (sizeof judged_runs / sizeof *judged_runs)
#define FAR_BELOW 0.5 /* times the share asked for */

/* The limit of callout c alone: only runs in which the others hold can be won. */
static double factor_of_callout(size_t callouts, size_t count, const double *used, size_t c, double asked,
                                double *scratch)
{
    for (size_t run = 0; run < count; run++)
        scratch[run] = bc_used_alone(callouts, used + run * (callouts + 1), c);
    return bc_used_quantile(count, scratch, asked);
}

static double factor_of_all(size_t callouts, size_t count, const double *used, double asked, double *scratch)
{
    for (size_t run = 0; run < count; run++)
        scratch[run] = used[run * (callouts + 1) + callouts];
    return bc_used_quantile(count, scratch, asked);
}

static void summarize(size_t callouts, size_t count, const double *used, double asked, double *scratch,
                      bc_forecast *forecast, double *callout_factor)
{
    size_t good = 0;
    for (size_t run = 0; run < count; run++)
        good += used[run * (callouts + 1) + callouts] <= 1.0;
    forecast->yield = (double)good / (double)count;
    forecast->factor = factor_of_all(callouts, count, used, asked, scratch);
    forecast->usual_factor = bc_used_quantile(count, scratch, BC_USUAL_SHARE);
    for (size_t c = 0; callout_factor != NULL && c < callouts; c++)
        callout_factor[c] = factor_of_callout(callouts, count, used, c, asked, scratch);
}

/* The design itself as the one run, which it is without errors; returns its limit_used. The numbers of a worker are 0
 * before it has drawn any. */
static double judge_design(bc_runs *runs, double *used)
{
    bc_run_worker *worker = &runs->worker[0];
    const size_t callouts = runs->model.problem.callouts->count;
    used[callouts] = bc_run_judge(worker, worker->draw, 1.0);
    memcpy(used, worker->callout_used, callouts * sizeof *used);
    return used[callouts];
}

static bc_status forecast_with(bc_runs *runs, double asked, bc_forecast *forecast, double *callout_factor,
                               bc_error *error)
{
    const size_t callouts = runs->model.problem.callouts->count,
                 count = bc_draws_that_count(&runs->model, NULL) > 0 ? LOOK_RUNS : 1;
    double *used = calloc(count * (callouts + 2), sizeof *used);
    bc_status status = BC_OK;
    if (used == NULL)
        return bc_fail_memory(error);
    forecast->limit_used = judge_design(runs, used);
    if (count > 1)
        status = bc_response_predict_runs(runs, BC_RESPONSE_KEPT, count, used, error);
    if (status == BC_OK)
        summarize(callouts, count, used, asked, used + count * (callouts + 1), forecast, callout_factor);
    if (count == 1)
        forecast->yield = NAN;
    forecast->factor = fmax(forecast->factor, forecast->limit_used);
    forecast->usual_factor = fmax(forecast->usual_factor, forecast->limit_used);
    free(used);
    return status;
}

static bc_status open_runs(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                           bool quick, bc_thread_watch *watch, bc_runs **runs, bc_error *error)
{
    const bc_yield_options options = {.runs = LOOK_RUNS,
                                      .seed = BC_LOOK_STREAM,
                                      .threads = 1,
                                      .quick = quick,
                                      .progress = watch == NULL ? NULL : bc_thread_goes_on,
                                      .progress_context = watch};
    return bc_runs_alloc(problem, stack, process, &options, runs, error);
}

bc_status bc_forecast_limit(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                            double asked, bc_forecast *forecast, double *callout_factor, bc_error *error)
{
    bc_runs *runs;
    bc_status status = open_runs(problem, stack, process, true, NULL, &runs, error);
    *forecast = (bc_forecast){INFINITY, NAN, INFINITY, INFINITY};
    if (status == BC_OK)
        status = forecast_with(runs, asked, forecast, callout_factor, error);
    bc_runs_free(runs);
    return status;
}

static bc_status judge_factor(bc_runs *runs, const bc_wanted *wanted, double *factor, bc_error *error)
{
    const size_t callouts = runs->model.problem.callouts->count,
                 count = bc_draws_that_count(&runs->model, NULL) > 0 ? JUDGED_RUNS : 1;
    double *used = calloc(count * (callouts + 2), sizeof *used);
    bc_status status = BC_OK;
    if (used == NULL)
        return bc_fail_memory(error);
    double *scratch = used + count * (callouts + 1);
    const double limit_used = judge_design(runs, used);
    if (count > 1)
        status = bc_judge_doubtful(runs, count, wanted, used, NULL, error);
    if (status == BC_OK && !runs->stopped)
        *factor = wanted->callout == BC_NO_CALLOUT
                      ? fmax(factor_of_all(callouts, count, used, wanted->asked, scratch), limit_used)
                      : factor_of_callout(callouts, count, used, wanted->callout, wanted->asked, scratch);
    free(used);
    return status;
}

bc_status bc_judge_factor(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                          double asked, size_t callout, bc_thread_watch *watch, double *factor, bc_error *error)
{
    const bc_wanted wanted = {asked, callout};
    bc_runs *runs;
    bc_status status = open_runs(problem, stack, process, false, watch, &runs, error);
    *factor = INFINITY;
    if (status == BC_OK)
        status = judge_factor(runs, &wanted, factor, error);
    bc_runs_free(runs);
    return status;
}

/* What one thread counted. */
typedef struct tally {
    bc_response_scratch scratch;
    size_t predicted_good, too_bad, too_good; /* too bad: the surface said so of a run that is good */
} tally;

typedef struct survey {
    bc_runs *runs;
    bc_response response;
    tally *tally; /* [threads] */
    bool judges;
} survey;

static void take_run(void *context, bc_run_worker *worker, size_t run)
{
    survey *s = context;
    tally *t = &s->tally[worker - s->runs->worker];
    bool predicted, good;
    bc_run_draw(worker, BC_FOR_YIELD, run, t->scratch.draw);
    predicted = bc_response_predict(&s->response, &t->scratch) <= 1.0;
    if (!s->judges) {
        t->predicted_good += predicted;
        return;
    }
    good = bc_run_judge(worker, t->scratch.draw, 1.0) <= 1.0;
    t->too_bad += good && !predicted;
    t->too_good += predicted && !good;
    for (size_t c = 0; c < s->response.callouts; c++)
        worker->fails[c] += worker->callout_used[c] > 1.0;
}

/* The three counts have errors of their own, and independent ones to the order that matters. */
static void conclude(const survey *s, size_t predicted, size_t judged, bc_estimate *estimate)
{
    size_t good = 0, too_bad = 0, too_good = 0;
    double low[3], high[3], share[3], below, above;
    for (size_t t = 0; t < s->runs->threads; t++) {
        good += s->tally[t].predicted_good;
        too_bad += s->tally[t].too_bad;
        too_good += s->tally[t].too_good;
    }
    bc_proportion_interval(good, predicted, CONFIDENCE, &low[0], &high[0]);
    bc_proportion_interval(too_bad, judged, CONFIDENCE, &low[1], &high[1]);
    bc_proportion_interval(too_good, judged, CONFIDENCE, &low[2], &high[2]);
    share[0] = (double)good / (double)predicted;
    share[1] = (double)too_bad / (double)judged;
    share[2] = (double)too_good / (double)judged;
    below = hypot(hypot(share[0] - low[0], share[1] - low[1]), high[2] - share[2]);
    above = hypot(hypot(high[0] - share[0], high[1] - share[1]), share[2] - low[2]);
    estimate->yield = fmin(fmax(share[0] + share[1] - share[2], 0.0), 1.0);
    estimate->low = fmax(estimate->yield - below, 0.0);
    estimate->high = fmin(estimate->yield + above, 1.0);
    estimate->runs = judged;
    estimate->predicted = predicted;
}

/* Returns how many were taken. */
static size_t take_runs(survey *s, bool judges, size_t from, size_t to)
{
    s->judges = judges;
    while (from < to && !s->runs->stopped) {
        const size_t next = to - from > BC_SLICE ? from + BC_SLICE : to;
        bc_runs_slice(s->runs, from, next, 0.0, take_run, s);
        from = next;
    }
    return from;
}

static void run_stages(survey *s, double asked, bc_estimate *estimate)
{
    size_t predicted = 0, judged = 0;
    for (size_t stage = 0; stage < STAGES; stage++) {
        predicted = take_runs(s, false, predicted, predicted_runs[stage]);
        judged = take_runs(s, true, judged, judged_runs[stage]);
        if (s->runs->stopped)
            return;
        conclude(s, predicted, judged, estimate);
        if (estimate->high < FAR_BELOW * fmin(asked, 1.0) ||
            (stage > 0 && (asked < estimate->low || asked > estimate->high)))
            return;
    }
}

static bc_status open_survey(bc_runs *runs, survey *s, bc_error *error)
{
    bc_status status = bc_response_fit(runs, &s->response, error);
    s->runs = runs;
    if (status != BC_OK)
        return status;
    s->tally = calloc(runs->threads, sizeof *s->tally);
    if (s->tally == NULL)
        return bc_fail_memory(error);
    for (size_t t = 0; status == BC_OK && t < runs->threads; t++)
        status = bc_response_scratch_alloc(&s->response, &s->tally[t].scratch, error);
    return status;
}

bc_status bc_estimate_yield(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                            double asked, size_t threads, bc_thread_watch *watch, bc_estimate *estimate, double *fails,
                            bc_error *error)
{
    const bc_yield_options options = {.runs = 1,
                                      .seed = BC_LOOK_STREAM,
                                      .threads = threads,
                                      .progress = watch == NULL ? NULL : bc_thread_goes_on,
                                      .progress_context = watch};
    survey s = {0};
    bc_runs *runs;
    bc_status status = bc_runs_alloc(problem, stack, process, &options, &runs, error);
    *estimate = (bc_estimate){NAN, NAN, NAN, 0, 0};
    if (status != BC_OK)
        return status;
    status = open_survey(runs, &s, error);
    runs->cuts = true;
    if (status == BC_OK && s.response.active > 0) {
        run_stages(&s, asked, estimate);
        if (runs->stopped)
            *estimate = (bc_estimate){NAN, NAN, NAN, 0, 0};
        for (size_t c = 0; fails != NULL && !runs->stopped && c < s.response.callouts; c++)
            fails[c] = (double)bc_runs_fails(runs, c) / (double)estimate->runs;
    }
    for (size_t t = 0; s.tally != NULL && t < runs->threads; t++)
        bc_response_scratch_free(&s.tally[t].scratch);
    free(s.tally);
    bc_response_clear(&s.response);
    bc_runs_free(runs);
    return status;
}
