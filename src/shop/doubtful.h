/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DOUBTFUL_H
#define BLOOMCOAT_DOUBTFUL_H
/*
 * Order statistics of runs as if the engine judged every one, for a fraction of its work.
 *
 * At which factor a share of the runs is good is a quantile: of most runs it matters only on which side of it they lie,
 * and a response surface (response.h) says so. The engine judges the others: every run whose prediction comes nearer to
 * the quantile than five times what the surface was off, root mean square, in the runs judged so far, until none is
 * left in doubt. A run in some hundred near there may still be counted on the wrong side: then the quantile is that of
 * a share that differs by one run.
 */
#include "runs.h"
#include <bloomcoat/quote.h>

/* Which quantile of the runs' values is wanted: the runs it may depend on are not left in doubt. */
typedef struct bc_wanted {
    double asked;   /* a share of the runs */
    size_t callout; /* of bc_used_alone(); BC_NO_CALLOUT: of the largest limit_used */
} bc_wanted;

/* used[run * (callouts + 1)] of runs 0 to count - 1, on the samples of `runs`: limit_used of every callout, then the
 * largest. What is wanted of them is as if all were judged. On the calling thread. runs->stopped where its progress
 * said so: then nothing is known. `judged` (may be NULL): how many by the engine. */
bc_status bc_judge_doubtful(bc_runs *runs, size_t count, const bc_wanted *wanted, double *used, size_t *judged,
                            bc_error *error);

/* limit_used of callout c in a run where all others hold; INFINITY where they do not. */
double bc_used_alone(size_t callouts, const double *used, size_t c);

/* The value that a share `asked` of them does not exceed. Sorts. */
double bc_used_quantile(size_t count, double *value, double asked);

#endif
