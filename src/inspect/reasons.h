/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_INSPECT_REASONS_H
#define BLOOMCOAT_INSPECT_REASONS_H
/*
 * Whether a callout applies to what was measured.
 */
#include "inspection.h"

typedef struct bc_match {
    bool speaks;         /* some measured values bear on it: they may reject */
    bc_undecided reason; /* why they cannot accept */
    bool remove_back, correct_angle;
} bc_match;

bc_match bc_match_callout(const bc_inspection *inspection, const bc_callout *callout);

/* The sentence that goes with a finding's reason. */
void bc_explain_reason(const bc_inspection *inspection, bc_inspect_finding *finding);

#endif
