/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESIGN_H
#define BLOOMCOAT_DESIGN_H
/*
 * What a design must do: the question that refine and draft answer.
 */
#include <bloomcoat/zones.h>

BC_API_BEGIN

typedef struct bc_design_problem {
    const bc_callouts *callouts;
    bc_medium incident;
    size_t substrates; /* >= 1: one recipe must meet the callouts on every one of them */
    const bc_medium *substrate;
    size_t materials; /* layers may be made of these (draft); refine takes the stack's own */
    const bc_medium *material;
    bc_back back;        /* for rows with scope `part` */
    size_t max_layers;   /* >= 1 (draft) */
    double minimum_nm;   /* no layer that moves comes out thinner; >= 0 */
    double max_total_nm; /* sum of all layers; INFINITY for none */
    /* A curved surface: the callouts must hold at each of these zones, from the vertex to the edge, and thicknesses are
     * those at the vertex. 0: a plane surface. The optimizers look at a few of them, a verdict at all. */
    size_t zones;
    const bc_zone *zone;
} bc_design_problem;

/* A plane surface, its back uncoated, met from air; at most 8 layers of any thickness above 0; no limit on the total.
 * callouts, substrate and (for a draft) material are still to be set; `air` is incident.dispersion (materials.h finds
 * it by that name). */
bc_design_problem bc_design_defaults(const bc_callouts *callouts, bc_medium air);

/* BC_ERROR_INPUT with a sentence for what a problem cannot do without: callouts, an incident medium, and the arrays
 * that its counts promise. bc_refine() and bc_draft() begin with it. */
bc_status bc_design_validate(const bc_design_problem *problem, bc_error *error);

/* Whether any material of the layers, or of the back's, has an index gradient. */
bool bc_problem_is_graded(const bc_design_problem *problem);

/* The verdict on `stack`, by bc_check_zones(): on every glass and at every zone of the problem. */
bc_status bc_problem_check(const bc_design_problem *problem, const bc_stack *stack, bc_check_result *result,
                           bc_error *error);

/* Why a search ended. */
typedef enum bc_stop {
    BC_STOP_CONVERGED,   /* no step lowers the worst row any more */
    BC_STOP_BUDGET,      /* the bound on the work was reached first */
    BC_STOP_GOOD,        /* the aim was met */
    BC_STOP_INTERRUPTED, /* the caller's progress asked for it: what comes out is the best so far */
} bc_stop;

/* Called often, a hundred times a second and more, from the calling thread; `fraction` of the work done (NAN: not
 * known), `limit_used` the best so far. Returning false asks the search to stop soon with what it has. */
typedef bool (*bc_progress)(void *context, double fraction, double limit_used);

BC_API_END

#endif
