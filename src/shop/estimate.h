/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_ESTIMATE_H
#define BLOOMCOAT_ESTIMATE_H
/*
 * Yields by a response surface (response.h): a look in milliseconds, to compare designs by the hundred, and an estimate
 * in which the surface is the control variate: runs that the engine judges correct what the surface predicts for many
 * more, so that the interval is several times narrower than that of the judged runs alone (Glasserman, Monte Carlo
 * Methods in Financial Engineering, ch. 4.1, from memory).
 *
 * All numbers are those of one stream, whatever the seed of the quote: two designs see the same errors, and a verdict
 * does not depend on a seed.
 */
#include "watch.h"
#include <bloomcoat/quote.h>

#define BC_LOOK_STREAM 20077u /* of the errors: any number, always the same */

#define BC_USUAL_SHARE 0.9

typedef struct bc_forecast {
    double limit_used;   /* of the design, on the search's samples */
    double yield;        /* share of good runs; NAN: the process gives no error, or is not known */
    double factor;       /* with every limit (of "at least" its distance from 100 %) times this, the share asked for is
                            good; without errors limit_used */
    double usual_factor; /* the same for a share of BC_USUAL_SHARE: what designs are compared by, whatever is asked */
} bc_forecast;

/* One thread, some thousand runs, predicted on the search's samples. `callout_factor` may be NULL, or [callouts]: the
 * factor of that callout's limit alone, the others as asked; INFINITY where they fail too often by themselves. */
bc_status bc_forecast_limit(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                            double asked, bc_forecast *forecast, double *callout_factor, bc_error *error);

/* The same factor, of `callout`'s limit alone or (BC_NO_CALLOUT) of all, from more runs and on a verdict's samples: the
 * engine judges every run that the surface leaves in doubt (doubtful.h). `watch` may be NULL; where it says stop,
 * nothing was seen: INFINITY. */
bc_status bc_judge_factor(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                          double asked, size_t callout, bc_thread_watch *watch, double *factor, bc_error *error);

typedef struct bc_estimate {
    double yield, low, high; /* 95 %; NAN: as in a look */
    size_t runs, predicted;  /* judged by the engine, and by the surface */
} bc_estimate;

/* As many runs as it takes for the interval to leave out `asked`, within bounds. `fails` may be NULL, or [callouts]:
 * the share of the judged runs in which each fails. `watch` may be NULL; where it says stop, nothing is known: NAN and
 * 0. */
bc_status bc_estimate_yield(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                            double asked, size_t threads, bc_thread_watch *watch, bc_estimate *estimate, double *fails,
                            bc_error *error);

#endif
