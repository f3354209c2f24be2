/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_RUNS_H
#define BLOOMCOAT_RUNS_H
/*
 * Many runs on all threads. Every thread has engines of its own; which thread computes which run is left to chance, so
 * a task keeps what it finds under the run's number, or in counters whose sum does not depend on the order.
 */
#include "model.h"
#include "random.h"
#include "segments.h"
#include <bloomcoat/yield.h>

typedef struct bc_runs bc_runs;

/* What one thread has to itself. */
typedef struct bc_run_worker {
    const bc_runs *runs;
    bc_merit *merit;
    gsl_rng *random;
    double *draw, *other_draw;    /* [draws] for the task */
    double *curve;                /* [longest segment] for the task */
    double *thickness_nm, *shift; /* [layers], [materials]: of the run that was judged last */
    double *callout_used;         /* [callouts] limit_used of each on its worst glass, of that run */
    size_t good, *fails;          /* counters for the task; fails has [callouts] */
} bc_run_worker;

struct bc_runs {
    bc_density density; /* of the samples a run is judged on */
    bc_run_model model;
    unsigned long seed;
    size_t threads;
    bc_run_worker *worker; /* [threads] */
    /* For the progress: runs done and to be done, and whether the caller asked to stop. */
    bc_progress progress;
    void *progress_context;
    double done, total, share_good;
    bool tells_share; /* the workers' counts of good runs are those of the yield */
    bool stopped;
    bool cuts; /* a stop may come in the middle of a slice, whose counts are then of no use */
};

bc_status bc_runs_alloc(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                        const bc_yield_options *options, bc_runs **out, bc_error *error);
void bc_runs_free(bc_runs *runs);

typedef void (*bc_run_task)(void *context, bc_run_worker *worker, size_t run);

#define BC_SLICE ((size_t)1024) /* runs between two looks at what they say */

/* The task for every run from `from` to `to` - 1, at most BC_SLICE of them; then the progress is reported, and it may
 * set `stopped`. `weight`: what each counts for in the progress. */
void bc_runs_slice(bc_runs *runs, size_t from, size_t to, double weight, bc_run_task task, void *context);
/* As many slices as it takes; returns how many runs were done before the caller stopped it. */
size_t bc_runs_each(bc_runs *runs, size_t count, double weight, bc_run_task task, void *context);

void bc_runs_count_from_zero(bc_runs *runs);
size_t bc_runs_good(const bc_runs *runs);
size_t bc_runs_fails(const bc_runs *runs, size_t callout);

/* The normal numbers of one run. */
void bc_run_draw(bc_run_worker *worker, bc_purpose purpose, size_t run, double *draw);

/* The limit_used of a run with these numbers and every error times `scale`. */
double bc_run_judge(bc_run_worker *worker, const double *draw, double scale);

#endif
