/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "influence.h"
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The standard error of an influence is some 2 % of the whole. */
#define SAMPLES ((size_t)4096)
/* Failures rarer than this (or successes) are too few among the samples: then limit_used is looked at instead. */
#define RARE 0.01

typedef struct experiment {
    bool of_failure;
    size_t inputs;
    size_t *input; /* [inputs] draws that count */
    double *base;  /* [SAMPLES] the outcome with every number of the first set */
    double *moved; /* [SAMPLES * inputs] the outcome with one number from the second set */
} experiment;

double bc_influence_work(const bc_runs *runs)
{
    return (double)SAMPLES * (double)(bc_draws_that_count(&runs->model, NULL) + 1);
}

static double outcome(const experiment *e, bc_run_worker *worker)
{
    const double limit_used = bc_run_judge(worker, worker->draw, 1.0);
    return e->of_failure ? (limit_used <= 1.0 ? 0.0 : 1.0) : limit_used;
}

static void sample(void *context, bc_run_worker *worker, size_t run)
{
    const experiment *e = context;
    bc_run_draw(worker, BC_FOR_INFLUENCE, run, worker->draw);
    bc_run_draw(worker, BC_FOR_INFLUENCE_ANEW, run, worker->other_draw);
    e->base[run] = outcome(e, worker);
    for (size_t i = 0; i < e->inputs; i++) {
        const size_t d = e->input[i];
        const double kept = worker->draw[d];
        worker->draw[d] = worker->other_draw[d];
        e->moved[run * e->inputs + i] = outcome(e, worker);
        worker->draw[d] = kept;
    }
}

/* Jansen's estimator: half the mean square of what moving one number alone changes, over the variance. A share lies
 * within 0 and 1; what the sample puts beyond 1 is its own error. */
static double total_effect(const experiment *e, size_t input, double whole)
{
    double sum = 0.0;
    for (size_t run = 0; run < SAMPLES; run++) {
        const double change = e->base[run] - e->moved[run * e->inputs + input];
        sum += change * change;
    }
    return whole > 0.0 ? fmin(1.0, sum / (2.0 * (double)SAMPLES) / whole) : 0.0;
}

static bc_status open_experiment(const bc_run_model *model, experiment *e, bc_error *error)
{
    e->input = calloc(model->draws, sizeof *e->input);
    e->base = calloc(SAMPLES, sizeof *e->base);
    e->moved = calloc(SAMPLES * (bc_draws_that_count(model, NULL) + 1), sizeof *e->moved);
    if (e->input == NULL || e->base == NULL || e->moved == NULL)
        return bc_fail_memory(error);
    e->inputs = bc_draws_that_count(model, e->input);
    return BC_OK;
}

/* Layers from the outer one, then indices, then the bias, all without influence. */
static bc_status list_influences(const bc_run_model *model, bc_yield_result *result, bc_error *error)
{
    bc_influence *influence = calloc(model->draws, sizeof *influence);
    if (influence == NULL)
        return bc_fail_memory(error);
    for (size_t j = 0; j < model->layers; j++) {
        influence[j].layer = j;
        memcpy(influence[j].material, model->medium[model->material[j]].name, BC_NAME_SIZE);
    }
    for (size_t m = 0; m < model->materials; m++) {
        influence[model->layers + m].layer = (size_t)-1;
        memcpy(influence[model->layers + m].material, model->medium[m].name, BC_NAME_SIZE);
    }
    influence[model->draws - 1].layer = (size_t)-1;
    result->influence = influence;
    result->influences = model->draws;
    return BC_OK;
}

static size_t place_of(const bc_run_model *model, size_t draw)
{
    return draw == BC_DRAW_OF_BIAS    ? model->draws - 1
           : draw <= model->materials ? model->layers + draw - 1
                                      : model->draws - 1 - draw;
}

bc_status bc_influence_find(bc_runs *runs, bc_yield_result *result, bc_error *error)
{
    const double share = (double)result->good / (double)result->runs;
    experiment e = {.of_failure = share >= RARE && share <= 1.0 - RARE};
    bc_status status = open_experiment(&runs->model, &e, error);
    if (status == BC_OK &&
        (e.inputs == 0 || bc_runs_each(runs, SAMPLES, (double)(e.inputs + 1), sample, &e) == SAMPLES))
        status = list_influences(&runs->model, result, error);
    if (status == BC_OK && e.inputs > 0 && result->influences > 0) {
        const double whole = gsl_stats_variance(e.base, 1, SAMPLES);
        result->influence_of_failure = e.of_failure;
        for (size_t i = 0; i < e.inputs; i++)
            result->influence[place_of(&runs->model, e.input[i])].influence = total_effect(&e, i, whole);
    }
    free(e.input);
    free(e.base);
    free(e.moved);
    return status;
}
