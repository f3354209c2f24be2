/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLOUDS_H
#define BLOOMCOAT_CLOUDS_H
/*
 * The colours of the runs of a yield.
 */
#include "runs.h"

typedef struct bc_clouds {
    size_t count, runs;
    size_t *row; /* [count] of the merit's segments */
    bc_yield_result *result;
} bc_clouds;

/* One for every callout that sees a colour, on every glass, at the angle and in the plane of the evaluation
 * worker->merit has just made where it uses most of its limit; those that would be the same are one. Makes room in
 * result->cloud for `runs` runs, 2000 at most, and fills all but them. */
bc_status bc_clouds_open(const bc_run_worker *worker, size_t runs, bc_clouds *clouds, bc_yield_result *result,
                         bc_error *error);
void bc_clouds_close(bc_clouds *clouds);

/* Take up the run a worker has just judged. */
void bc_clouds_keep(const bc_clouds *clouds, bc_run_worker *worker, size_t run);

/* The scatter of the first `done` runs. */
bc_status bc_clouds_finish(const bc_clouds *clouds, size_t done, bc_error *error);

#endif
