/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_FAILING_RUNS_H
#define BLOOMCOAT_FAILING_RUNS_H
/*
 * The runs that decide a yield: of those predicted the worst, but for some that are given up.
 */
#include <bloomcoat/process.h>
#include <bloomcoat/refine.h>

#define BC_PREDICTED_RUNS 600 /* with the numbers that a look draws (BC_LOOK_STREAM) */

typedef struct bc_failing_runs {
    bc_scenarios scenarios; /* their errors, the worst run first */
    double *error, *dn;
} bc_failing_runs;

/* `given_up`: the share of the runs, the worst, that is left out, in [0, 1]. `failing` is to be cleared after an error,
 * too. */
bc_status bc_failing_runs_find(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                               double given_up, bc_failing_runs *failing, bc_error *error);
void bc_failing_runs_clear(bc_failing_runs *failing);

#endif
