/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DRAFT_H
#define BLOOMCOAT_DRAFT_H
/*
 * Where layers come from: a stack from nothing (or from a start) to the callouts.
 */
#include <bloomcoat/refine.h>

BC_API_BEGIN

/* Thickness costs hours, stress and absorption: of designs that do equally well the thin one is taken. */
typedef enum bc_aim {
    /* The fewest layers with limit_used <= BC_FEWEST_USES; of designs with so many layers the thinnest that was found
     * to use at most a tenth of the limit more than the best of them, and still no more than BC_FEWEST_USES. One or two
     * layers more are taken where that makes the whole less than half as thick (looked for only where each layer, and
     * one more, could be thinner than a quarter wave of the longest wavelength). Where nothing is found: the fewest
     * layers within 1 % of the lowest limit_used. */
    BC_AIM_FEWEST,
    /* The thinnest of the designs within 1 % of the lowest limit_used with at most max_layers; all that use no more
     * than 0.01 are equally good. */
    BC_AIM_BEST,
    BC_AIM_YIELD, /* bc_draft() does as for BC_AIM_BEST: bc_robust() then chooses */
} bc_aim;

#define BC_FEWEST_USES 0.9

typedef struct bc_draft_options {
    bc_aim aim;
    unsigned long seed;
    double effort;    /* 1 is the default; 4 searches about four times as long; > 0 */
    size_t threads;   /* 0: as many as the machine has; the result does not depend on it */
    double most_work; /* 0: BC_MOST_WORK (or _MANY) times the effort, or a tenth of it where the effort is less than
                         that */
    const bc_stack *start; /* NULL: from nothing. Its fixed layers stay as they are */
    bc_progress progress;  /* may be NULL */
    void *progress_context;
} bc_draft_options;

/* Fewest layers, seed 1, effort 1, all threads, from nothing. */
bc_draft_options bc_draft_defaults(void);

/* The bound on the work of a draft of effort 1, in evaluations of one layer pair's part in one sample's slope: an
 * evaluation of a design of n layers on c samples counts c (n + 1)^2. Some ten minutes of two processors; a search ends
 * in answers long before, unless very many layers are allowed and none suffice. It is no clock, so that the same
 * question has the same answer on a busy machine. */
#define BC_MOST_WORK 1e12

/* With more layers allowed than this nothing can be looked at in full, and a search that meets nothing is to end soon:
 * it is bounded by some twenty seconds' work of two processors. */
#define BC_MANY_LAYERS    24
#define BC_MOST_WORK_MANY 2e10

/* The best stack found with a number of layers. */
typedef struct bc_rung {
    bc_stack stack;
    double total_nm;
    double limit_used;
} bc_rung;

/* The best found with one outer layer, to show why the chosen one is outside. */
typedef struct bc_outer {
    const bc_medium *material;
    double limit_used; /* with at most the chosen number of layers, on the search's samples; INFINITY: none was found */
} bc_outer;

/* What the alternative has over the chosen design. */
typedef enum bc_alternative { BC_NO_ALTERNATIVE, BC_FEWER_LAYERS, BC_THICKER_LAYERS } bc_alternative;

typedef struct bc_draft_result {
    size_t chosen; /* the rung that answers the aim */
    size_t rungs;  /* by rising number of layers; each better than all before, or less than half as thick */
    bc_rung *rung;
    size_t starts;    /* local refinements run */
    size_t looked_at; /* the most layers looked at, */
    size_t allowed;   /* of so many: fewer when the aim was met, or when BC_MOST_WORK was reached */
    bc_stop stop;
    /* How sure: of `searches` that knew nothing of each other, `agreeing` ended at the best design of the largest
     * number of layers looked at; `optima` different local optima were met on the way. */
    size_t searches, agreeing, optima;
    size_t outers;
    bc_outer *outer; /* [outers] one per layer material, in the problem's order */
    /* A design of nearly the same limit_used (at most a tenth more) that is easier to make. */
    bc_alternative alternative_has;
    bc_rung alternative;
    /* Every different good design met, for a choice by other measures; limit_used on the search's samples, thicknesses
     * not yet rounded. */
    size_t candidates;
    bc_rung *candidate;
} bc_draft_result;

bc_status bc_draft(const bc_design_problem *problem, const bc_draft_options *options, bc_draft_result *result,
                   bc_error *error);
void bc_draft_result_clear(bc_draft_result *result);

/* How often a search misses: how many of so many random problems it ended more than 1 % above the lowest limit_used
 * that any search has found, where enough searches had agreed (BC_STOP_CONVERGED) and where they had not. The problems:
 * one to three bands at one angle each, 0 to 50 degrees, on one substrate; two or three constant indices; at most three
 * to BC_TRIED_LAYERS layers. */
typedef struct bc_draft_trials {
    double effort; /* of those searches */
    size_t agreed, agreed_missed;
    size_t others, others_missed;
} bc_draft_trials;

#define BC_TRIED_LAYERS 8

/* The trials of the most effort up to `effort`; NULL where none had so little. */
const bc_draft_trials *bc_draft_trials_for(double effort);

BC_API_END

#endif
