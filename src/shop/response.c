/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "response.h"
#include "processors.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SIGMAS 4.0 /* a sample that stays below the callout's worst by so many standard deviations never decides */

/* The engine's answers while the surface is being fitted. */
typedef struct fit {
    bc_runs *runs;
    bc_run_worker *worker;
    size_t samples, most;       /* of one callout that are kept: those that come nearest to deciding */
    double *centre, *up, *down; /* [samples], [active * samples] twice */
    size_t *callout;            /* [samples] */
    double *score, *mean;       /* [samples] */
    size_t *order;              /* [samples] those kept come first */
} fit;

/* All numbers 0 but these two (the same one twice counts once). */
static void evaluate(const fit *f, size_t one, double first, size_t other, double second, double *u)
{
    double *draw = f->worker->draw;
    memset(draw, 0, f->runs->model.draws * sizeof *draw);
    draw[other] = second;
    draw[one] = first;
    bc_run_judge(f->worker, draw, 1.0);
    memcpy(u, bc_merit_u(f->worker->merit), f->samples * sizeof *u);
}

static void name_callouts(const fit *f)
{
    const bc_segments *segments = bc_merit_segments(f->worker->merit);
    for (size_t r = 0; r < segments->rows; r++)
        for (size_t i = 0; i < segments->row[r].count; i++)
            f->callout[segments->row[r].first + i] =
                (size_t)(segments->row[r].callout - f->runs->model.problem.callouts->callout);
}

/* Mean and standard deviation of each sample, to the order the fit has so far. */
static void score_samples(const fit *f, const bc_response *response)
{
    for (size_t c = 0; c < f->samples; c++) {
        double variance = 0.0, mean = f->centre[c];
        for (size_t i = 0; i < response->active; i++) {
            const double up = f->up[i * f->samples + c], down = f->down[i * f->samples + c];
            variance += 0.25 * (up - down) * (up - down);
            mean += 0.5 * (up + down) - f->centre[c];
        }
        f->mean[c] = mean;
        f->score[c] = mean + SIGMAS * sqrt(variance);
    }
}

typedef struct ranked {
    double score;
    size_t sample;
} ranked;

/* Of equal scores the first sample: what qsort() does with equals is a matter of the C library. */
static int highest_first(const void *one, const void *other)
{
    const ranked *a = one, *b = other;
    if (a->score != b->score)
        return a->score > b->score ? -1 : 1;
    return (a->sample > b->sample) - (a->sample < b->sample);
}

static size_t keep_of_callout(const fit *f, size_t callout, ranked *list, size_t kept)
{
    size_t count = 0;
    double worst = -INFINITY;
    for (size_t c = 0; c < f->samples; c++)
        if (f->callout[c] == callout)
            worst = fmax(worst, f->mean[c]);
    for (size_t c = 0; c < f->samples; c++)
        if (f->callout[c] == callout && f->score[c] >= worst)
            list[count++] = (ranked){f->score[c], c};
    qsort(list, count, sizeof *list, highest_first);
    for (size_t i = 0; i < count && i < f->most; i++)
        f->order[kept++] = list[i].sample;
    return kept;
}

static bc_status keep_samples(const fit *f, bc_response *response, bc_error *error)
{
    ranked *list = calloc(f->samples, sizeof *list);
    if (list == NULL)
        return bc_fail_memory(error);
    score_samples(f, response);
    for (size_t c = 0; c < response->callouts; c++)
        response->kept = keep_of_callout(f, c, list, response->kept);
    free(list);
    return BC_OK;
}

static void fill(const fit *f, bc_response *response, double *pair)
{
    const size_t kept = response->kept, active = response->active, samples = f->samples;
    double *row = response->coefficient;
    for (size_t k = 0; k < kept; k++) {
        response->callout[k] = f->callout[f->order[k]];
        row[k] = f->centre[f->order[k]];
    }
    row += kept;
    for (size_t i = 0; i < active; i++, row += kept)
        for (size_t k = 0; k < kept; k++)
            row[k] = 0.5 * (f->up[i * samples + f->order[k]] - f->down[i * samples + f->order[k]]);
    for (size_t i = 0; i < active; i++)
        for (size_t j = i; j < active; j++, row += kept) {
            const double *up_i = f->up + i * samples, *up_j = f->up + j * samples, *down = f->down + i * samples;
            if (i != j)
                evaluate(f, response->draw[i], 1.0, response->draw[j], 1.0, pair);
            for (size_t k = 0; k < kept; k++) {
                const size_t c = f->order[k];
                row[k] = i == j ? 0.5 * (up_i[c] + down[c]) - f->centre[c] : pair[c] - up_i[c] - up_j[c] + f->centre[c];
            }
        }
}

static bc_status open_fit(bc_runs *runs, bc_response *response, fit *f, bc_error *error)
{
    f->runs = runs;
    f->worker = &runs->worker[0];
    f->samples = bc_merit_constraints(f->worker->merit);
    f->centre = calloc(f->samples * (2 * response->active + 5), sizeof *f->centre);
    f->callout = calloc(2 * f->samples, sizeof *f->callout);
    if (f->centre == NULL || f->callout == NULL)
        return bc_fail_memory(error);
    f->up = f->centre + f->samples;
    f->down = f->up + response->active * f->samples;
    f->score = f->down + response->active * f->samples;
    f->mean = f->score + f->samples;
    f->order = f->callout + f->samples;
    return BC_OK;
}

static bc_status fit_all(fit *f, bc_response *response, bc_error *error)
{
    const size_t active = response->active;
    bc_status status;
    name_callouts(f);
    evaluate(f, 0, 0.0, 0, 0.0, f->centre);
    for (size_t i = 0; i < active; i++) {
        evaluate(f, response->draw[i], 1.0, response->draw[i], 1.0, f->up + i * f->samples);
        evaluate(f, response->draw[i], -1.0, response->draw[i], -1.0, f->down + i * f->samples);
    }
    response->limit_used = -INFINITY;
    for (size_t c = 0; c < f->samples; c++)
        response->limit_used = fmax(response->limit_used, f->centre[c]);
    status = keep_samples(f, response, error);
    if (status != BC_OK)
        return status;
    response->monomials = 1 + active + active * (active + 1) / 2;
    response->coefficient = calloc(response->monomials * response->kept, sizeof *response->coefficient);
    response->callout = calloc(response->kept, sizeof *response->callout);
    if (response->coefficient == NULL || response->callout == NULL)
        return bc_fail_memory(error);
    fill(f, response, f->mean + f->samples);
    return BC_OK;
}

static bc_status fit_keeping(bc_runs *runs, size_t most, bc_response *response, bc_error *error)
{
    fit f = {.most = most};
    bc_status status = BC_OK;
    memset(response, 0, sizeof *response);
    response->callouts = runs->model.problem.callouts->count;
    response->draws = runs->model.draws;
    response->draw = calloc(runs->model.draws, sizeof *response->draw);
    if (response->draw == NULL)
        status = bc_fail_memory(error);
    if (status == BC_OK) {
        response->active = bc_draws_that_count(&runs->model, response->draw);
        status = open_fit(runs, response, &f, error);
    }
    if (status == BC_OK)
        status = fit_all(&f, response, error);
    free(f.centre);
    free(f.callout);
    if (status != BC_OK)
        bc_response_clear(response);
    return status;
}

bc_status bc_response_fit(bc_runs *runs, bc_response *response, bc_error *error)
{
    return fit_keeping(runs, BC_RESPONSE_KEPT, response, error);
}

void bc_response_clear(bc_response *response)
{
    free(response->draw);
    free(response->callout);
    free(response->coefficient);
    memset(response, 0, sizeof *response);
}

bc_status bc_response_scratch_alloc(const bc_response *response, bc_response_scratch *scratch, bc_error *error)
{
    scratch->draw = calloc(response->draws + response->monomials + response->kept + response->callouts, sizeof(double));
    if (scratch->draw == NULL)
        return bc_fail_memory(error);
    scratch->monomial = scratch->draw + response->draws;
    scratch->used = scratch->monomial + response->monomials;
    scratch->callout_used = scratch->used + response->kept;
    return BC_OK;
}

void bc_response_scratch_free(bc_response_scratch *scratch)
{
    free(scratch->draw);
}

static void fill_monomials(const bc_response *response, const bc_response_scratch *scratch)
{
    double *monomial = scratch->monomial;
    *monomial++ = 1.0;
    for (size_t i = 0; i < response->active; i++)
        *monomial++ = scratch->draw[response->draw[i]];
    for (size_t i = 0; i < response->active; i++)
        for (size_t j = i; j < response->active; j++)
            *monomial++ = scratch->draw[response->draw[i]] * scratch->draw[response->draw[j]];
}

/* Four monomials at a time, so that a sum is loaded and stored a fourth as often; added in their order all the same. */
FOR_EVERY_PROCESSOR static void add_up(size_t monomials, size_t kept, const double *restrict monomial,
                                       const double *restrict row, double *restrict used)
{
    size_t f = 0;
    for (; f + 4 <= monomials; f += 4, row += 4 * kept) {
        const double x0 = monomial[f], x1 = monomial[f + 1], x2 = monomial[f + 2], x3 = monomial[f + 3];
        for (size_t k = 0; k < kept; k++)
            used[k] = used[k] + row[k] * x0 + row[kept + k] * x1 + row[2 * kept + k] * x2 + row[3 * kept + k] * x3;
    }
    for (; f < monomials; f++, row += kept)
        for (size_t k = 0; k < kept; k++)
            used[k] += row[k] * monomial[f];
}

double bc_response_predict(const bc_response *response, bc_response_scratch *scratch)
{
    const size_t kept = response->kept;
    double *used = scratch->used, largest = -INFINITY;
    fill_monomials(response, scratch);
    memset(used, 0, kept * sizeof *used);
    add_up(response->monomials, kept, scratch->monomial, response->coefficient, used);
    for (size_t c = 0; c < response->callouts; c++)
        scratch->callout_used[c] = -INFINITY;
    for (size_t k = 0; k < kept; k++) {
        double *of_callout = &scratch->callout_used[response->callout[k]];
        *of_callout = used[k] > *of_callout ? used[k] : *of_callout;
        largest = used[k] > largest ? used[k] : largest;
    }
    return largest;
}

bc_status bc_response_predict_runs(bc_runs *runs, size_t most, size_t count, double *used, bc_error *error)
{
    bc_response response;
    bc_response_scratch scratch = {0};
    bc_status status = fit_keeping(runs, most, &response, error);
    if (status == BC_OK)
        status = bc_response_scratch_alloc(&response, &scratch, error);
    for (size_t run = 0; status == BC_OK && run < count; run++, used += response.callouts + 1) {
        bc_run_draw(&runs->worker[0], BC_FOR_YIELD, run, scratch.draw);
        used[response.callouts] = bc_response_predict(&response, &scratch);
        memcpy(used, scratch.callout_used, response.callouts * sizeof *used);
    }
    bc_response_scratch_free(&scratch);
    bc_response_clear(&response);
    return status;
}
