/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PERCENTILES_H
#define BLOOMCOAT_PERCENTILES_H
/*
 * The curves between which the runs lie.
 */
#include "runs.h"

typedef struct bc_curves {
    size_t count, runs;
    size_t *row;     /* [count] of the merit's segments */
    double **sample; /* [count] each [wavelengths * runs], the runs of one wavelength together */
} bc_curves;

/* One curve for every callout on every glass, at the angle and in the plane of the evaluation worker->merit has just
 * made where it uses most of its limit; callouts that ask about the same light share one. Fills result->curve but for
 * its values, and makes room for `runs` runs or for as many as it takes. */
bc_status bc_curves_open(const bc_run_worker *worker, size_t runs, bc_curves *curves, bc_yield_result *result,
                         bc_error *error);
void bc_curves_close(bc_curves *curves);

/* Take up the run a worker has just judged. */
void bc_curves_keep(const bc_curves *curves, bc_run_worker *worker, size_t run);

/* The percentiles of the first `done` runs. Sorts the samples. */
void bc_curves_finish(const bc_curves *curves, size_t done, bc_yield_result *result);

/* The row of one callout on one glass that uses most of its limit in the evaluation worker->merit has just made; the
 * number of rows when the callout is not for that glass. */
size_t bc_worst_row(const bc_run_worker *worker, const bc_callout *callout, size_t glass);
/* BC_POL_S or _P when its callout asks for each, else the callout's own. */
bc_polarization bc_row_polarization(const bc_row *row);

#endif
