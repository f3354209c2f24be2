/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_INFLUENCE_H
#define BLOOMCOAT_INFLUENCE_H
/*
 * Which error decides: total-effect indices of Sobol' by Jansen's estimator, yield.h.
 */
#include "runs.h"

/* Runs it takes, for the progress. */
double bc_influence_work(const bc_runs *runs);

/* Fill result->influence, of the failure when it varies enough, else of limit_used; result->good of result->runs is
 * known. Left empty when the caller stops the runs. */
bc_status bc_influence_find(bc_runs *runs, bc_yield_result *result, bc_error *error);

#endif
