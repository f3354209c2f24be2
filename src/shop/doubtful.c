/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "doubtful.h"
#include "response.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define KEPT         512 /* samples of a callout: a verdict has many near each peak, and any peak may decide */
#define FIRST_JUDGED 64  /* runs, to see how far the surface is off */
#define SLACK        5.0 /* root mean squares of how far it was off in the runs that were judged */

typedef struct doubt {
    bc_runs *runs;
    size_t callouts, count, judged;
    const double *used; /* of the caller; judged runs have the engine's values */
    bool *is_judged;    /* [count] */
    double *square;     /* [callouts] sums of the squares of how far the surface was off, */
    double *slack;      /* [callouts] and how near to a level leaves a run in doubt */
    double *value;      /* [count] scratch */
    bool *open;         /* [count] */
} doubt;

static int rising(const void *one, const void *other)
{
    const double a = *(const double *)one, b = *(const double *)other;
    return (a > b) - (a < b);
}

double bc_used_quantile(size_t count, double *value, double asked)
{
    const size_t least = (size_t)fmin(fmax(ceil(asked * (double)count - 1e-9), 1.0), (double)count);
    qsort(value, count, sizeof *value, rising);
    return value[least - 1];
}

double bc_used_alone(size_t callouts, const double *used, size_t c)
{
    for (size_t other = 0; other < callouts; other++)
        if (other != c && !(used[other] <= 1.0))
            return INFINITY;
    return used[c];
}

static void judge(doubt *d, size_t run, double *used)
{
    bc_run_worker *worker = &d->runs->worker[0];
    bc_run_draw(worker, BC_FOR_YIELD, run, worker->draw);
    const double largest = bc_run_judge(worker, worker->draw, 1.0);
    for (size_t c = 0; c < d->callouts; c++)
        d->square[c] += (worker->callout_used[c] - used[c]) * (worker->callout_used[c] - used[c]);
    memcpy(used, worker->callout_used, d->callouts * sizeof *used);
    used[d->callouts] = largest;
    d->is_judged[run] = true;
    d->judged++;
}

/* Judge all that are open; returns whether any was. */
static bool judge_open(doubt *d, double *used)
{
    bc_runs *runs = d->runs;
    bool any = false;
    for (size_t run = 0; run < d->count && !runs->stopped; run++) {
        if (!d->open[run])
            continue;
        runs->stopped = runs->progress != NULL && !runs->progress(runs->progress_context, 0.0, INFINITY);
        judge(d, run, used + run * (d->callouts + 1));
        any = true;
    }
    return any && !runs->stopped;
}

/* The largest limit_used of the run lies on one side of `level`, as far as can be known. */
static bool is_clear(const doubt *d, const double *used, double level)
{
    double low = -INFINITY, high = -INFINITY;
    for (size_t c = 0; c < d->callouts; c++) {
        low = fmax(low, used[c] - d->slack[c]);
        high = fmax(high, used[c] + d->slack[c]);
    }
    return low > level || high <= level;
}

/* Likewise of callout c alone: that the others fail, or that all hold at `level`. */
static bool is_clear_alone(const doubt *d, const double *used, size_t c, double level)
{
    bool holds = used[c] + d->slack[c] <= level, fails = used[c] - d->slack[c] > level;
    for (size_t other = 0; other < d->callouts; other++) {
        holds = holds && (other == c || used[other] + d->slack[other] <= 1.0);
        fails = fails || (other != c && used[other] - d->slack[other] > 1.0);
    }
    return holds || fails;
}

static double wanted_quantile(const doubt *d, const bc_wanted *wanted)
{
    const size_t each = d->callouts + 1;
    for (size_t run = 0; run < d->count; run++)
        d->value[run] = wanted->callout == BC_NO_CALLOUT
                            ? d->used[run * each + d->callouts]
                            : bc_used_alone(d->callouts, d->used + run * each, wanted->callout);
    return bc_used_quantile(d->count, d->value, wanted->asked);
}

/* By what is known so far: a quantile that moves opens other runs in the next round. */
static void open_doubtful(doubt *d, const bc_wanted *wanted)
{
    const double level = wanted_quantile(d, wanted);
    for (size_t c = 0; c < d->callouts; c++)
        d->slack[c] = SLACK * sqrt(d->square[c] / (double)d->judged);
    for (size_t run = 0; run < d->count; run++) {
        const double *used = d->used + run * (d->callouts + 1);
        d->open[run] =
            !d->is_judged[run] && !(wanted->callout == BC_NO_CALLOUT ? is_clear(d, used, level)
                                                                     : is_clear_alone(d, used, wanted->callout, level));
    }
}

bc_status bc_judge_doubtful(bc_runs *runs, size_t count, const bc_wanted *wanted, double *used, size_t *judged,
                            bc_error *error)
{
    const size_t callouts = runs->model.problem.callouts->count;
    doubt d = {.runs = runs,
               .callouts = callouts,
               .count = count,
               .used = used,
               .is_judged = calloc(count, sizeof(bool)),
               .square = calloc(2 * callouts, sizeof(double)),
               .value = calloc(count, sizeof(double)),
               .open = calloc(count, sizeof(bool))};
    bc_status status = BC_OK;
    if (d.is_judged == NULL || d.square == NULL || d.value == NULL || d.open == NULL)
        status = bc_fail_memory(error);
    if (status == BC_OK)
        status = bc_response_predict_runs(runs, KEPT, count, used, error);
    if (status == BC_OK) {
        d.slack = d.square + callouts;
        for (size_t run = 0; run < FIRST_JUDGED && run < count; run++)
            d.open[run] = true;
        while (judge_open(&d, used))
            open_doubtful(&d, wanted);
        if (judged != NULL)
            *judged = d.judged;
    }
    free(d.is_judged);
    free(d.square);
    free(d.value);
    free(d.open);
    return status;
}
