/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How often the bounds that a process known by some runs leaves a yield (bc_known_yield) hold the true yield: where
 * 'process learn' wrote the process file, and where somebody typed figures of so many runs.
 */
#include "yields.h"
#include <bloomcoat/yield.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TRUE_RUNS   6000
#define LIMIT_STEPS 30
static const char *const names[HISTORY_MATERIALS] = {"1.38", "2.10"};

/* What is asked of the six layers. */
typedef struct asked {
    bench *b;
    bc_design_problem problem;
    bc_callout callout;
    bc_callouts callouts;
} asked;

static void fail_loudly(const bc_error *error)
{
    fprintf(stderr, "%s\n", error->message);
    exit(1);
}

static double yield_of(const asked *a, const bc_process *process, const double factor[HISTORY_MATERIALS], size_t runs,
                       bc_known_yield *known)
{
    const bc_yield_options options = {.runs = runs, .seed = 1, .threads = 1, .known_yield = known != NULL};
    bc_stack stack;
    bc_yield_result result;
    bc_error error = {0};
    double yield;
    if (bc_stack_copy(&a->b->design, &stack, &error) != BC_OK)
        fail_loudly(&error);
    for (size_t j = 0; j < stack.layers; j++)
        for (size_t m = 0; m < HISTORY_MATERIALS; m++)
            if (strcmp(stack.layer[j].material.name, names[m]) == 0)
                stack.layer[j].thickness_nm *= factor[m];
    if (bc_yield(&a->problem, &stack, process, &options, &result, &error) != BC_OK)
        fail_loudly(&error);
    yield = result.yield;
    if (known != NULL)
        *known = result.known;
    bc_yield_result_clear(&result);
    bc_stack_clear(&stack);
    return yield;
}

/* A process file of both materials. */
typedef struct file {
    bc_process_row row[HISTORY_MATERIALS];
    bc_process process;
} file;

static void fill(const history_truth *was, file *f)
{
    memset(f, 0, sizeof *f);
    for (size_t m = 0; m < HISTORY_MATERIALS; m++) {
        bc_process_row *row = &f->row[m];
        snprintf(row->material, sizeof row->material, "%s", names[m]);
        row->tooling = 1.0;
        row->thickness_sigma = hypot(was->within[m], was->between_layers);
        row->run_thickness_sigma = was->between_runs;
        row->index_sigma = m == 0 ? was->index : 0.0;
        row->has_tooling = row->has_thickness_sigma = row->has_run_thickness_sigma = row->has_index_sigma = true;
    }
    f->process = (bc_process){.rows = HISTORY_MATERIALS,
                              .row = f->row,
                              .has_tooling = true,
                              .has_thickness_sigma = true,
                              .has_run_thickness_sigma = true,
                              .has_index_sigma = true};
}

static const double as_designed[HISTORY_MATERIALS] = {1.0, 1.0};

/* The limit at which this share of the true process's runs is good. */
static void set_limit(asked *a, const bc_process *process, double share)
{
    double low = 1e-4, high = 0.2;
    for (int step = 0; step < LIMIT_STEPS; step++) {
        a->callout.limit = sqrt(low * high);
        if (yield_of(a, process, as_designed, TRUE_RUNS, NULL) < share)
            low = a->callout.limit;
        else
            high = a->callout.limit;
    }
}

typedef struct held {
    size_t in, below, above; /* the true yield lies in, below, above the bounds */
    double *width;
} held;

static void count(held *h, size_t i, const bc_known_yield *known, double real)
{
    h->in += known->low <= real && real <= known->high;
    h->below += real < known->low;
    h->above += real > known->high;
    h->width[i] = known->high - known->low;
}

/* From a history by bc_learn(), which corrects the tooling. */
static void learned(asked *a, const bc_inspect_result *pattern, const history_truth *was, size_t runs,
                    const bc_process *before, const bc_process *real, held *h, size_t i)
{
    bc_learn_run *run = history_make(a->b, pattern, was, runs);
    bc_learn_result result;
    bc_known_yield known;
    bc_error error = {0};
    double left[HISTORY_MATERIALS];
    if (bc_learn(runs, run, before, &result, &error) != BC_OK)
        fail_loudly(&error);
    for (size_t m = 0; m < HISTORY_MATERIALS; m++)
        left[m] = (1.0 + was->off[m]) / bc_process_for(&result.process, names[m]).tooling;
    yield_of(a, &result.process, as_designed, TRUE_RUNS, &known);
    count(h, i, &known, yield_of(a, real, left, TRUE_RUNS, NULL));
    bc_learn_result_clear(&result);
    history_clear(runs, run);
}

/* By hand: each sigma from so many values, each tooling factor by one figure of each run. */
static void typed(asked *a, const history_truth *was, size_t runs, const bc_process *real, held *h, size_t i)
{
    const double freedom = (double)runs - 1.0, common = gsl_ran_gaussian(a->b->random, 1.0);
    const double of_run = sqrt(gsl_ran_chisq(a->b->random, freedom) / freedom);
    double left[HISTORY_MATERIALS];
    bc_known_yield known;
    file f;
    fill(was, &f);
    for (size_t m = 0; m < HISTORY_MATERIALS; m++) {
        bc_process_row *row = &f.row[m];
        left[m] =
            1.0 + (row->run_thickness_sigma * common + row->thickness_sigma * gsl_ran_gaussian(a->b->random, 1.0)) /
                      sqrt((double)runs);
        row->thickness_sigma *= sqrt(gsl_ran_chisq(a->b->random, freedom) / freedom);
        row->run_thickness_sigma *= of_run;
        row->index_sigma *= sqrt(gsl_ran_chisq(a->b->random, freedom) / freedom);
        row->runs = (bc_process_runs){(double)runs, (double)runs, (double)runs, (double)runs, (double)runs};
    }
    yield_of(a, &f.process, as_designed, TRUE_RUNS, &known);
    count(h, i, &known, yield_of(a, real, left, TRUE_RUNS, NULL));
}

void yield_tables(bench *b, const bc_inspect_result *pattern, const history_truth *was, const bc_process *before,
                  size_t histories)
{
    static const size_t runs[] = {5, 20, 100};
    static const double shares[] = {0.6, 0.9, 0.99};
    asked a = {.b = b,
               .callout = {.name = "band",
                           .quantity = BC_R,
                           .statistic = BC_EXTREME,
                           .sense = BC_AT_MOST,
                           .from_nm = 450.0,
                           .to_nm = 680.0,
                           .polarization = BC_POL_UNPOLARIZED}};
    file real;
    a.callouts = (bc_callouts){.count = 1, .callout = &a.callout};
    a.problem = bc_design_defaults(&a.callouts, b->design.incident);
    a.problem.substrates = 1;
    a.problem.substrate = &b->design.substrate;
    fill(was, &real);
    printf("\nBounds of the yield (95 %%), of histories: held, true yield below, above; median width\n");
    for (size_t s = 0; s < sizeof shares / sizeof *shares; s++) {
        set_limit(&a, &real.process, shares[s]);
        printf("a callout that %.0f %% of the runs meet without tooling errors: R max <= %.3f %%\n", 100.0 * shares[s],
               100.0 * a.callout.limit);
        for (size_t i = 0; i < 2 * sizeof runs / sizeof *runs; i++) {
            held h = {.width = calloc(histories, sizeof(double))};
            const size_t n = runs[i / 2];
            for (size_t k = 0; k < histories; k++)
                if (i % 2 == 0)
                    learned(&a, pattern, was, n, before, &real.process, &h, k);
                else
                    typed(&a, was, n, &real.process, &h, k);
            gsl_sort(h.width, 1, histories);
            printf("  %3zu runs, %-15s  %5.1f %%  %5.1f %%  %5.1f %%   %.1f %%\n", n,
                   i % 2 == 0 ? "process learn" : "typed by hand", 100.0 * (double)h.in / (double)histories,
                   100.0 * (double)h.below / (double)histories, 100.0 * (double)h.above / (double)histories,
                   100.0 * gsl_stats_median_from_sorted_data(h.width, 1, histories));
            fflush(stdout);
            free(h.width);
        }
    }
}
