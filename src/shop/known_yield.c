/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "known_yield.h"
#include "process_draw.h"
#include "response.h"
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PROCESSES   ((size_t)1023)
#define MOST_RUNS   1023.0 /* of each */
#define FEWEST_RUNS 255.0
#define MOST_WORK   3e9 /* multiplications: a second or two */
#define REACH       1.5
#define TAIL        0.025

/* What one thread has to itself. */
typedef struct scratch {
    bc_response_scratch response;
    bc_process_draw draw;
} scratch;

typedef struct survey {
    bc_run_model model; /* of the file's figures */
    bc_process_doubt doubt;
    bc_process wide; /* the errors the surface is fitted over */
    bc_runs *runs;   /* of the wide process */
    bc_response response;
    scratch *scratch; /* [threads] */
    size_t count;     /* runs of each process */
    double *normal;   /* [count * draws] of the runs, */
    double *number;   /* [PROCESSES * numbers] and of the processes */
    double *share;    /* [PROCESSES + 1] of good runs; the last one: of the process as the file has it */
} survey;

/* Errors as large as those of all processes together, times REACH: a run fails by errors of more than one standard
 * deviation. A process file says the same of every layer of a material. */
static bc_status widen(const bc_process *process, survey *s, bc_error *error)
{
    const bc_run_model *model = &s->model;
    const bc_status status = bc_process_copy(process, model->materials, &s->wide, error);
    for (size_t j = 0; status == BC_OK && j < model->layers; j++) {
        const size_t m = model->material[j];
        bc_process_row *row = bc_process_own_row(&s->wide, model->medium[m].name);
        row->thickness_sigma =
            REACH * hypot(bc_doubted_spread(s->doubt.layer[m]) * model->layer_sigma[j], bc_doubted_off(&s->doubt, j));
        row->run_thickness_sigma = REACH * bc_doubted_spread(s->doubt.run) * model->layer_bias[j];
        row->index_sigma = REACH * bc_doubted_spread(s->doubt.index[m]) * model->index_sigma[m];
    }
    return status;
}

/* The numbers of a run of this process among those of the wide one. */
static void set_run(const survey *s, const bc_process_draw *process, const double *normal, double *draw)
{
    const bc_run_model *narrow = &s->model, *wide = &s->runs->model;
    draw[BC_DRAW_OF_BIAS] = process->run / (REACH * bc_doubted_spread(s->doubt.run)) * normal[BC_DRAW_OF_BIAS];
    for (size_t m = 0; m < narrow->materials; m++) {
        const size_t d = bc_draw_of_material(m);
        draw[d] = process->index[m] / (REACH * bc_doubted_spread(s->doubt.index[m])) * normal[d];
    }
    for (size_t j = 0; j < narrow->layers; j++) {
        const size_t d = bc_draw_of_layer(narrow, j);
        const double off = process->layer[j] * narrow->layer_sigma[j] * normal[d] + process->off[j];
        draw[d] = wide->layer_sigma[j] > 0.0 ? off / wide->layer_sigma[j] : 0.0;
    }
}

static void judge_process(void *context, bc_run_worker *worker, size_t which)
{
    survey *s = context;
    scratch *own = &s->scratch[worker - s->runs->worker];
    size_t good = 0;
    if (which < PROCESSES)
        bc_process_draw_set(&s->doubt, s->number + which * s->doubt.numbers, &own->draw);
    for (size_t run = 0; run < s->count; run++) {
        set_run(s, &own->draw, s->normal + run * s->model.draws, own->response.draw);
        good += bc_response_predict(&s->response, &own->response) <= 1.0;
    }
    s->share[which] = (double)good / (double)s->count;
}

static bc_status open_scratch(survey *s, bc_error *error)
{
    bc_status status = BC_OK;
    s->scratch = calloc(s->runs->threads, sizeof *s->scratch);
    if (s->scratch == NULL)
        return bc_fail_memory(error);
    for (size_t t = 0; status == BC_OK && t < s->runs->threads; t++) {
        status = bc_response_scratch_alloc(&s->response, &s->scratch[t].response, error);
        if (status == BC_OK)
            status = bc_process_draw_alloc(&s->doubt, &s->scratch[t].draw, error);
    }
    return status;
}

size_t bc_known_yield_runs(size_t monomials, size_t kept)
{
    const double work = (double)PROCESSES * (double)monomials * (double)kept; /* of one run of each process */
    const double most = fmin(fmax(MOST_WORK / work, FEWEST_RUNS), MOST_RUNS);
    size_t count = 1;
    while (2.0 * (double)count + 1.0 <= most) /* a whole net of Sobol's points, but for the first */
        count = 2 * count + 1;
    return count;
}

static bc_status open_survey(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                             size_t threads, bc_thread_watch *watch, survey *s, bc_error *error)
{
    const bc_yield_options options = {.runs = 1,
                                      .seed = BC_LOOK_STREAM,
                                      .threads = threads,
                                      .progress = watch == NULL ? NULL : bc_thread_goes_on,
                                      .progress_context = watch};
    gsl_rng *random;
    bc_status status = widen(process, s, error);
    if (status == BC_OK)
        status = bc_runs_alloc(problem, stack, &s->wide, &options, &s->runs, error);
    if (status == BC_OK)
        status = bc_response_fit(s->runs, &s->response, error);
    if (status == BC_OK)
        status = open_scratch(s, error);
    if (status != BC_OK)
        return status;
    random = s->runs->worker[0].random;
    s->count = bc_known_yield_runs(s->response.monomials, s->response.kept);
    s->normal = calloc(s->count * s->model.draws, sizeof *s->normal);
    s->number = calloc(PROCESSES * s->doubt.numbers, sizeof *s->number);
    s->share = calloc(PROCESSES + 1, sizeof *s->share);
    if (s->normal == NULL || s->number == NULL || s->share == NULL)
        return bc_fail_memory(error);
    bc_random_begin(random, BC_LOOK_STREAM, BC_FOR_PROCESS, 0);
    status = bc_random_even(random, s->count, s->model.draws, s->normal, error);
    return status == BC_OK ? bc_random_even(random, PROCESSES, s->doubt.numbers, s->number, error) : status;
}

static void close_survey(survey *s)
{
    for (size_t t = 0; s->scratch != NULL && t < s->runs->threads; t++) {
        bc_response_scratch_free(&s->scratch[t].response);
        free(s->scratch[t].draw.layer);
    }
    free(s->scratch);
    free(s->normal);
    free(s->number);
    free(s->share);
    bc_response_clear(&s->response);
    bc_runs_free(s->runs);
    bc_process_clear(&s->wide);
    bc_process_doubt_close(&s->doubt);
    bc_run_model_close(&s->model);
}

/* The share of one process, where that of the file's figures is `of_file` by the surface and `yield` by simulation.
 * They differ by the chance of so many runs and by what the surface is off. The runs that a worse process fails are
 * mostly those that this one fails and others more: what is good of them is off by the same part; of a better one what
 * fails.
 */
static double corrected(double share, double of_file, double yield)
{
    if (share < of_file)
        return share * yield / of_file;
    return of_file < 1.0 ? 1.0 - (1.0 - share) * (1.0 - yield) / (1.0 - of_file) : yield;
}

static void conclude(survey *s, double yield, bc_known_yield *known)
{
    double sum = 0.0;
    for (size_t i = 0; i < PROCESSES; i++) {
        s->share[i] = corrected(s->share[i], s->share[PROCESSES], yield);
        sum += s->share[i];
    }
    gsl_sort(s->share, 1, PROCESSES);
    known->low = gsl_stats_quantile_from_sorted_data(s->share, 1, PROCESSES, TAIL);
    known->high = gsl_stats_quantile_from_sorted_data(s->share, 1, PROCESSES, 1.0 - TAIL);
    known->average = sum / (double)PROCESSES;
    known->runs = s->doubt.runs;
}

bc_status bc_known_yield_find(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                              double yield, size_t threads, bc_thread_watch *watch, bc_known_yield *known,
                              bc_error *error)
{
    survey s = {0};
    bc_status status = bc_run_model_open(problem, stack, process, &s.model, error);
    *known = (bc_known_yield){0.0, NAN, NAN, NAN};
    if (status == BC_OK)
        status = bc_process_doubt_open(&s.model, process, &s.doubt, error);
    if (status == BC_OK && s.doubt.any)
        status = open_survey(problem, stack, process, threads, watch, &s, error);
    if (status == BC_OK && s.doubt.any) {
        /* The process as the file has it first, while every thread's draw is that one. */
        judge_process(&s, &s.runs->worker[0], PROCESSES);
        bc_runs_each(s.runs, PROCESSES, 0.0, judge_process, &s);
        if (!s.runs->stopped)
            conclude(&s, yield, known);
    }
    close_survey(&s);
    return status;
}
