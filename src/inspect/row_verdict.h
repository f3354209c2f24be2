/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_ROW_VERDICT_H
#define BLOOMCOAT_ROW_VERDICT_H
/*
 * One row of callouts on its way to a verdict: the curve it is judged on (row_curve.c), and the rule (judge.c).
 */
#include "conformity.h"
#include "reasons.h"
#include "smooth.h"

/* One callout on its way to a verdict. */
typedef struct bc_row_verdict {
    bc_inspection *inspection;
    const bc_callout *callout;
    bc_inspect_finding *finding;
    bc_arena arena;
    const bc_smooth *smooth;
    bc_beliefs *beliefs; /* NULL: nothing is judged from the fit */
    bc_match match;
    bc_curve curve;
    bc_band band;
    double *slack;
    double *stretch; /* [points of the curve] what a change of the reading does to it; judged on the curve only */
} bc_row_verdict;

/* The measured values the callout applies to, from reading number `first`; A is what R and T leave. */
void bc_row_take_values(bc_row_verdict *d, size_t first, size_t count);

/* Whether the callout is judged on the curve behind the noise: finding->judged. */
void bc_row_choose_way(bc_row_verdict *d);

/* The values, less the second surface and at the callout's angle where it needs that. Corrections need the tables, so
 * the curve then ends where they do. */
bc_status bc_row_set_curve(bc_row_verdict *d, bc_error *error);

/* Put the smooth curve in place of the readings: corrections are as good as linear over the noise. */
void bc_row_take_smooth(bc_row_verdict *d);

#endif
