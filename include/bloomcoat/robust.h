/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_ROBUST_H
#define BLOOMCOAT_ROBUST_H
/*
 * Among designs that meet the callouts, the one that more runs of this process will meet.
 *
 * First every good design a draft met is judged by its linearised margin: the smallest (1 - u) / sigma_u over all
 * samples, sigma_u being the standard deviation of that sample's limit_used u when the errors of a run are small. The
 * best of them are refined so that they hold under single errors of some standard deviations as well
 * (bc_refine_scenarios), and the results are put through simulated runs (bc_yield) that all see the same errors. The
 * yield decides.
 */
#include <bloomcoat/draft.h>
#include <bloomcoat/yield.h>

BC_API_BEGIN

typedef struct bc_robust_options {
    unsigned long seed;
    size_t runs;    /* runs of the last comparison; the first one takes at most 1000 */
    size_t threads; /* 0: as many as the machine has */
} bc_robust_options;

typedef struct bc_robust_result {
    bc_stack stack; /* the design that more runs will meet */
    double limit_used;
    double yield, yield_low, yield_high; /* of it: fractions, and the 95 % interval */
    double sharpest_limit_used;          /* of the draft's own choice */
    double sharpest_yield, sharpest_low, sharpest_high;
    double spread;  /* standard deviations its refinement held out against; 0: it is a design as the draft met it */
    size_t designs; /* compared, by margin or by simulated runs */
    size_t runs;
} bc_robust_result;

/* Choose from `draft`, drafted for `problem`. The result's stack must be cleared with bc_robust_result_clear(). */
bc_status bc_robust(const bc_design_problem *problem, const bc_process *process, const bc_draft_result *draft,
                    const bc_robust_options *options, bc_robust_result *result, bc_error *error);
void bc_robust_result_clear(bc_robust_result *result);

BC_API_END

#endif
