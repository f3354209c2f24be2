/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_RUNGS_H
#define BLOOMCOAT_RUNGS_H
/*
 * From the ladder of the search to stacks that can be handed out.
 */
#include "ladder.h"
#include <bloomcoat/draft.h>

/* Polish the best designs of one step; the best of them becomes the rung. limit_used INFINITY, and no stack, when the
 * step is empty. */
bc_status bc_rung_make(const bc_design_problem *problem, const bc_step *step, bc_rung *rung, bc_error *error);

/* Fill in result->alternative from the rungs and the ladder. */
bc_status bc_rung_alternative(const bc_design_problem *problem, const bc_ladder *ladder, bc_draft_result *result,
                              bc_error *error);

/* Fill in result->candidate: every elite design within `most` limit_used. */
bc_status bc_rung_candidates(const bc_design_problem *problem, const bc_ladder *ladder, double most,
                             bc_draft_result *result, bc_error *error);

void bc_rung_clear(bc_rung *rung);

#endif
