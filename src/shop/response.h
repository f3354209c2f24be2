/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_RESPONSE_H
#define BLOOMCOAT_RESPONSE_H
/*
 * A response surface: limit_used of every sample that matters as a quadratic function of the errors of a run, fitted
 * to the engine at one standard deviation of each error, both ways, and of each pair (a central composite design: Box
 * and Wilson, J. R. Stat. Soc. B 13, 1 (1951)). R = |rho|^2 and rho is nearly linear in small errors, so a quadratic
 * follows it well where a linear margin does not: near R = 0.
 *
 * It predicts a run for some hundred multiplications instead of a spectrum.
 */
#include "runs.h"

typedef struct bc_response {
    size_t active, kept, monomials, callouts, draws;
    size_t *draw;        /* [active] the numbers of a run that change anything */
    size_t *callout;     /* [kept] of each sample */
    double *coefficient; /* [monomials * kept]: 1, x_i, then x_i x_j with i <= j */
    double limit_used;   /* of the design itself, on these samples */
} bc_response;

/* Room that one thread needs to predict. */
typedef struct bc_response_scratch {
    double *draw, *monomial, *used, *callout_used;
} bc_response_scratch;

#define BC_RESPONSE_KEPT 64 /* samples of each callout: what a forecast does with */

/* Fit to the design of `runs`, on its samples. */
bc_status bc_response_fit(bc_runs *runs, bc_response *response, bc_error *error);
void bc_response_clear(bc_response *response);

bc_status bc_response_scratch_alloc(const bc_response *response, bc_response_scratch *scratch, bc_error *error);
void bc_response_scratch_free(bc_response_scratch *scratch);

/* limit_used of a run with the numbers scratch->draw; each callout's stands in scratch->callout_used. */
double bc_response_predict(const bc_response *response, bc_response_scratch *scratch);

/* Fit, keeping at most so many samples of each callout, and predict runs 0 to count - 1: used[run * (callouts + 1)] is
 * limit_used of every callout, then the largest. */
bc_status bc_response_predict_runs(bc_runs *runs, size_t most, size_t count, double *used, bc_error *error);

#endif
