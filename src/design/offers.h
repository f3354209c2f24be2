/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_OFFERS_H
#define BLOOMCOAT_OFFERS_H
/*
 * From the best designs of the search to stacks that can be handed out.
 */
#include "best.h"
#include "watch.h"
#include <bloomcoat/draft.h>

/* Polish the best designs of one number of layers; the best of them becomes the rung. limit_used INFINITY, and no
 * stack, when there is none. */
bc_status bc_offer_make(const bc_design_problem *problem, bc_watch *watch, const bc_best_of_count *of, bc_rung *rung,
                        bc_error *error);

/* Fill in result->alternative from the rungs and the best designs. */
bc_status bc_offer_alternative(const bc_design_problem *problem, bc_watch *watch, const bc_best *best,
                               bc_draft_result *result, bc_error *error);

/* Fill in result->candidate: every design kept within `most` limit_used. */
bc_status bc_offer_candidates(const bc_design_problem *problem, const bc_best *best, double most,
                              bc_draft_result *result, bc_error *error);

/* A recipe that is polished already. */
bc_status bc_offer_from(const bc_design_problem *problem, const bc_recipe *recipe, bc_rung *rung, bc_error *error);

void bc_offer_clear(bc_rung *rung);

#endif
