/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_EXCEPTIONS_H
#define BLOOMCOAT_EXCEPTIONS_H
/*
 * What could be offered instead: changes tried by several threads, each change for itself, so that the outcome does not
 * depend on how many threads there are.
 */
#include "judge.h"

/* A design from which the search for a changed callout begins. */
typedef struct bc_warm {
    size_t count;
    const bc_stack *stack[BC_MOST_WARM];
} bc_warm;

/* One change to be tried: `exception` holds its kind, callout and other material on entry. */
typedef struct bc_try {
    const bc_quote_request *request;
    const bc_design_problem *problem; /* the layers that fit */
    const bc_warm *warm;
    bc_exception *exception;
} bc_try;

/* Fill result->exception: changes to the callouts that decide, the aperture, then layers, then glasses. The options
 * must stand. */
bc_status bc_exceptions_find(const bc_quote_request *request, const bc_design_problem *problem, bc_quote_result *result,
                             bc_error *error);

/* The lowest value of this callout's limit, the widest band, ..., or the largest aperture; fills the rest of the
 * exception. */
bc_status bc_try_relaxed(const bc_try *attempt, bc_error *error);
/* Whether anything would do with the callout left out. */
bc_status bc_try_without(const bc_try *attempt, bool *found, bc_error *error);
/* Another layer or glass. */
bc_status bc_try_material(const bc_try *attempt, bc_error *error);

/* From the warm designs and `previous` (may be NULL): the first that, refined for `problem`, is good in `runs` runs,
 * with its judgment; stack->layers stays 0 and *found false when none is. */
bc_status bc_try_designs(const bc_try *attempt, const bc_design_problem *problem, const bc_stack *previous,
                         bc_stack *stack, bool *found, bc_error *error);
/* Judge anew with more runs of another seed; fills the figures of the exception. */
bc_status bc_try_verify(const bc_try *attempt, const bc_design_problem *problem, const bc_stack *stack, bool *good,
                        bc_error *error);

#endif
