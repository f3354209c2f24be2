/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_ROBUST_H
#define BLOOMCOAT_ROBUST_H
/*
 * Among designs that meet the callouts, the one that more runs of this process will meet.
 *
 * The good designs a draft met, and those of short searches that begin with few layers, are refined so that they hold
 * under single errors of some standard deviations as well (bc_refine_scenarios), are given a layer or two more, and
 * their yields are raised: the same ladder that bc_quote() climbs. The best with each number of layers are put through
 * simulated runs (bc_yield) that all see the same errors. The yield decides: the fewest layers of which the best design
 * comes within `points` of the highest yield.
 */
#include <bloomcoat/draft.h>
#include <bloomcoat/yield.h>

BC_API_BEGIN

typedef struct bc_robust_options {
    unsigned long seed;
    size_t runs;    /* runs of the last comparison; the first one takes at most 1000 */
    size_t threads; /* 0: as many as the machine has */
    /* Of searches of its own, as a quote makes them: then no fewer runs will meet the design than that of a quote of so
     * much effort. 0: the draft's designs alone, as where it had a start. */
    double search_effort;
    double points; /* a yield so much below the best one found is as good where it takes fewer layers; 0: 0.02 */
    bc_progress
        progress; /* may be NULL; limit_used is that of the draft's choice. On false the draft's choice stands */
    void *progress_context;
} bc_robust_options;

/* The highest yield found with a number of layers. */
typedef struct bc_yield_rung {
    size_t layers;
    double total_nm, limit_used;
    double yield, yield_low, yield_high; /* fractions, and the 95 % interval */
} bc_yield_rung;

typedef struct bc_robust_result {
    bc_stack stack; /* the design that more runs will meet */
    double limit_used;
    double yield, yield_low, yield_high; /* of it: fractions, and the 95 % interval */
    double sharpest_limit_used;          /* of the draft's own choice */
    double sharpest_yield, sharpest_low, sharpest_high;
    size_t designs; /* compared, by forecast or by simulated runs */
    size_t runs;
    size_t rungs; /* by rising number of layers; those far below the best are of at most 1000 runs */
    bc_yield_rung *rung;
    size_t chosen;    /* of them: the fewest layers with nearly the highest yield */
    bool interrupted; /* the progress said stop */
} bc_robust_result;

/* Choose from `draft`, drafted for `problem`. The result's stack must be cleared with bc_robust_result_clear(). */
bc_status bc_robust(const bc_design_problem *problem, const bc_process *process, const bc_draft_result *draft,
                    const bc_robust_options *options, bc_robust_result *result, bc_error *error);
void bc_robust_result_clear(bc_robust_result *result);

BC_API_END

#endif
