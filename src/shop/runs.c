/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "runs.h"
#include "budget.h"
#include "jobs.h"
#include "merit_work.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define AT_A_TIME ((size_t)8)   /* runs a thread takes up at once */
#define TOLD_AT   ((size_t)128) /* runs between two reports of progress */

/* What the verdict's samples must resolve: the stack, or the back's own where that is thicker. */
static bc_status fringes_to_resolve(const bc_design_problem *problem, const bc_stack *stack, bc_fringes *fringes,
                                    bc_error *error)
{
    double from_nm, to_nm;
    bc_asked_band(problem->callouts, problem->substrates, problem->substrate, &from_nm, &to_nm);
    return bc_fringes_of(stack, &problem->back, from_nm, fringes, error);
}

static double *numbers(size_t count, bc_status *status, bc_error *error)
{
    double *array = *status == BC_OK ? calloc(count + 1, sizeof(double)) : NULL;
    if (*status == BC_OK && array == NULL)
        *status = bc_fail_memory(error);
    return array;
}

static bc_status open_worker(const bc_runs *runs, bc_fringes fringes, bc_run_worker *worker, bc_error *error)
{
    const bc_run_model *model = &runs->model;
    const size_t callouts = model->problem.callouts->count;
    bc_status status =
        bc_merit_alloc_values(&model->problem, runs->density, model->layers, fringes, &worker->merit, error);
    worker->runs = runs;
    if (status == BC_OK)
        status = bc_random_alloc(&worker->random, error);
    worker->draw = numbers(model->draws, &status, error);
    worker->other_draw = numbers(model->draws, &status, error);
    worker->thickness_nm = numbers(model->layers, &status, error);
    worker->shift = numbers(model->materials, &status, error);
    worker->callout_used = numbers(callouts, &status, error);
    worker->curve = numbers(status == BC_OK ? bc_merit_segments(worker->merit)->longest : 0, &status, error);
    worker->fails = status == BC_OK ? calloc(callouts, sizeof *worker->fails) : NULL;
    return status == BC_OK && worker->fails == NULL ? bc_fail_memory(error) : status;
}

static void close_worker(bc_run_worker *worker)
{
    bc_merit_free(worker->merit);
    gsl_rng_free(worker->random); /* leaves NULL alone */
    free(worker->draw);
    free(worker->other_draw);
    free(worker->thickness_nm);
    free(worker->shift);
    free(worker->callout_used);
    free(worker->curve);
    free(worker->fails);
}

bc_status bc_runs_alloc(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                        const bc_yield_options *options, bc_runs **out, bc_error *error)
{
    bc_runs *runs = calloc(1, sizeof *runs);
    bc_fringes fringes = BC_NO_FRINGES;
    bc_status status;
    *out = NULL;
    if (runs == NULL)
        return bc_fail_memory(error);
    runs->seed = options->seed;
    runs->threads = bc_threads(options->threads);
    runs->density = options->quick ? BC_DENSITY_SEARCH : BC_DENSITY_VERDICT;
    runs->progress = options->progress;
    runs->progress_context = options->progress_context;
    status = fringes_to_resolve(problem, stack, &fringes, error);
    if (status == BC_OK)
        status = bc_run_model_open(problem, stack, process, &runs->model, error);
    runs->worker = calloc(runs->threads, sizeof *runs->worker);
    if (status == BC_OK && runs->worker == NULL)
        status = bc_fail_memory(error);
    for (size_t t = 0; status == BC_OK && t < runs->threads; t++) {
        status = open_worker(runs, fringes, &runs->worker[t], error);
        if (status == BC_OK && t == 0)
            runs->threads = bc_merit_threads(runs->worker[0].merit, runs->threads);
    }
    if (status == BC_OK)
        *out = runs;
    else
        bc_runs_free(runs);
    return status;
}

void bc_runs_free(bc_runs *runs)
{
    if (runs == NULL)
        return;
    for (size_t t = 0; runs->worker != NULL && t < runs->threads; t++)
        close_worker(&runs->worker[t]);
    bc_run_model_close(&runs->model);
    free(runs->worker);
    free(runs);
}

typedef struct slice {
    bc_runs *runs;
    size_t from, to;
    bc_run_task task;
    void *context;
} slice;

static void take_up(void *context, size_t worker, size_t i)
{
    const slice *all = context;
    const size_t first = all->from + i * AT_A_TIME;
    for (size_t run = first; run < first + AT_A_TIME && run < all->to; run++)
        all->task(all->context, &all->runs->worker[worker], run);
}

static bool goes_on(const bc_runs *runs)
{
    return runs->progress == NULL ||
           runs->progress(runs->progress_context, fmin(runs->done / runs->total, 1.0), runs->share_good);
}

static bool ask_between(void *context, size_t done)
{
    const slice *all = context;
    (void)done;
    return goes_on(all->runs);
}

void bc_runs_slice(bc_runs *runs, size_t from, size_t to, double weight, bc_run_task task, void *context)
{
    slice all = {runs, from, to, task, context};
    bc_jobs_run(&(bc_jobs){.count = (to - from + AT_A_TIME - 1) / AT_A_TIME,
                           .threads = runs->threads,
                           .job = take_up,
                           .between = runs->cuts ? ask_between : NULL,
                           .context = &all});
    runs->done += weight * (double)(to - from);
    if (runs->tells_share)
        runs->share_good = (double)bc_runs_good(runs) / (double)to;
    if (!goes_on(runs))
        runs->stopped = true;
}

size_t bc_runs_each(bc_runs *runs, size_t count, double weight, bc_run_task task, void *context)
{
    size_t run = 0;
    while (run < count && !runs->stopped) {
        const size_t end = count - run < TOLD_AT ? count : run + TOLD_AT;
        bc_runs_slice(runs, run, end, weight, task, context);
        run = end;
    }
    return run;
}

void bc_runs_count_from_zero(bc_runs *runs)
{
    for (size_t t = 0; t < runs->threads; t++) {
        runs->worker[t].good = 0;
        memset(runs->worker[t].fails, 0, runs->model.problem.callouts->count * sizeof *runs->worker[t].fails);
    }
}

size_t bc_runs_good(const bc_runs *runs)
{
    size_t good = 0;
    for (size_t t = 0; t < runs->threads; t++)
        good += runs->worker[t].good;
    return good;
}

size_t bc_runs_fails(const bc_runs *runs, size_t callout)
{
    size_t fails = 0;
    for (size_t t = 0; t < runs->threads; t++)
        fails += runs->worker[t].fails[callout];
    return fails;
}

void bc_run_draw(bc_run_worker *worker, bc_purpose purpose, size_t run, double *draw)
{
    bc_random_begin(worker->random, worker->runs->seed, purpose, run);
    bc_random_normal(worker->random, worker->runs->model.draws, draw);
}

static double largest(size_t count, const double *value)
{
    double most = value[0];
    for (size_t i = 1; i < count; i++)
        most = value[i] > most ? value[i] : most;
    return most;
}

double bc_run_judge(bc_run_worker *worker, const double *draw, double scale)
{
    const bc_run_model *model = &worker->runs->model;
    const bc_segments *segments = bc_merit_segments(worker->merit);
    const double *u = bc_merit_u(worker->merit);
    const size_t callouts = model->problem.callouts->count;
    for (size_t m = 0; m < model->materials; m++) {
        const double shift = scale * model->index_sigma[m] * draw[bc_draw_of_material(m)];
        if (shift != worker->shift[m])
            bc_merit_shift_index(worker->merit, (unsigned)m, shift);
        worker->shift[m] = shift;
    }
    bc_run_thicknesses(model, draw, scale, worker->thickness_nm);
    bc_merit_evaluate(worker->merit, model->layers, model->material, worker->thickness_nm, false);
    for (size_t c = 0; c < callouts; c++)
        worker->callout_used[c] = -INFINITY;
    for (size_t r = 0; r < segments->rows; r++) {
        const bc_row *row = &segments->row[r];
        double *used = &worker->callout_used[row->callout - model->problem.callouts->callout];
        *used = fmax(*used, largest(row->count, u + row->first));
    }
    return largest(callouts, worker->callout_used);
}
