/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_ACCEPTANCE_H
#define BLOOMCOAT_ACCEPTANCE_H
/*
 * How many parts of a lot to measure, and how many of them may fail: single sampling for normal inspection, general
 * inspection level II, of ISO 2859-1 (its tables 1 and 2-A; from memory, and only the columns that were certain:
 * acceptance quality limits from 0.10 to 4.0 percent nonconforming; of lots up to 500000). Tightened and reduced
 * inspection, double sampling and the switching rules are left to the standard.
 */
#include <bloomcoat/error.h>
#include <stdbool.h>
#include <stddef.h>

BC_API_BEGIN

typedef struct bc_acceptance_plan {
    size_t lot;
    double limit_percent; /* the acceptance quality limit (AQL) */
    char letter;          /* the sample size code letter of the lot */
    size_t sample, accept;
    bool every; /* the sample is the whole lot */
    /* Of the plan itself (hypergeometric): the chance to accept a lot whose failing parts are the nearest number to the
     * limit's share, and the share of failing parts at which one in ten lots is still accepted. */
    double accepted_at_limit, accepted_one_in_ten;
} bc_acceptance_plan;

/* BC_ERROR_INPUT for a limit that is none of the series, or a lot under 2 or over 500000. */
bc_status bc_acceptance_plan_for(size_t lot, double limit_percent, bc_acceptance_plan *plan, bc_error *error);

/* The chance that a lot with `failing` parts is accepted: hypergeometric. */
double bc_acceptance_chance(const bc_acceptance_plan *plan, size_t failing);

BC_API_END

#endif
