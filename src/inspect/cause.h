/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CAUSE_H
#define BLOOMCOAT_CAUSE_H
/*
 * Causes as candidates: each is a stack, a way of looking at it, and one prior that is wider than usual.
 */
#include "inspection.h"

#define BC_USUAL_SCATTER  0.01 /* of a layer, where no process says it: common practice, no source */
#define BC_USUAL_COMMON   0.05
#define BC_USUAL_LAYER    0.10
#define BC_USUAL_INDEX    0.04
#define BC_USUAL_SHIFT_NM 3.0
#define BC_USUAL_SCALE    0.10
#define BC_USUAL_OFFSET   0.005

typedef struct bc_candidate {
    bc_cause cause;
    bc_extra extra;
    double aoi_rad;
    const bc_medium *medium; /* that takes a layer's or the substrate's place */
    size_t material;         /* index among the fit's materials, for factor and index */
    double start;            /* factor to begin with */
    double prior;            /* logarithm */
    double score;            /* prior and evidence, logarithm */
    bool failed;             /* a table does not reach */
} bc_candidate;

typedef struct bc_candidates {
    bc_candidate *candidate;
    size_t count, room;
} bc_candidates;

/* Every cause that the design, the process and what is at hand allow. Release candidates->candidate with free(). */
bc_status bc_list_candidates(const bc_inspection *inspection, bc_candidates *candidates, bc_error *error);

/* Whether the layers are those of the design, so that what was fitted to them are findings. */
bool bc_keeps_layers(bc_cause_kind kind);

/* inspection->account from the weighed candidates. */
void bc_keep_accounts(bc_inspection *inspection, const bc_candidates *candidates);

/* The stack of one candidate; release with bc_stack_clear(). */
bc_status bc_candidate_stack(const bc_inspection *inspection, const bc_candidate *candidate, bc_stack *stack,
                             bc_error *error);

#endif
