/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_EXCEPTIONS_H
#define BLOOMCOAT_EXCEPTIONS_H
/*
 * What could be offered instead: changes tried by several threads, each change for itself, so that the outcome does not
 * depend on how many threads there are.
 */
#include "pool.h"

/* One change to be tried: `exception` holds its kind, callout and other material on entry. */
typedef struct bc_try {
    const bc_pool *pool; /* the designs to begin with */
    bc_exception *exception;
    bc_thread_watch *watch; /* where it says stop, what comes out is of no use */
} bc_try;

/* Fill result->exception: all limits, bands and angles, the callouts that decide, the aperture, then layers, then
 * glasses. The options must stand. The designs that are offered enter the pool. */
bc_status bc_exceptions_find(bc_pool *pool, bc_quote_result *result, bc_error *error);

/* The lowest limits, the widest band, ..., or the largest aperture; fills the rest of the exception. */
bc_status bc_try_relaxed(const bc_try *attempt, bc_error *error);
/* Another layer or glass. */
bc_status bc_try_material(const bc_try *attempt, bc_error *error);

/* A design for a changed problem. */
typedef struct bc_found {
    bc_stack stack;       /* no layers: none */
    bc_forecast forecast; /* on that problem */
} bc_found;

/* How much is tried: until a design does, without refining one that does as it is; a few designs; more of them. */
typedef enum bc_try_extent { BC_TRY_UNTIL_GOOD, BC_TRY_FEW, BC_TRY_WIDE } bc_try_extent;

/* The best of *best (as it is handed in, where it has layers) and the pool's, refined for `problem`, by the factor its
 * limits want. */
bc_status bc_try_designs(const bc_try *attempt, const bc_design_problem *problem, bc_try_extent extent, bc_found *best,
                         bc_error *error);
/* The same for a stack of one's own: `start` as it is and refined, kept where it is better than *best. */
bc_status bc_try_start(const bc_try *attempt, const bc_design_problem *problem, const bc_stack *start,
                       bc_try_extent extent, bc_found *best, bc_error *error);
#define BC_TRY_FEW_LAYERS 6 /* of designs that a short search takes no time for */
/* The same for the designs of a short search for `problem`, which begins with those of the pool; `effort` of a draft,
 * times the quote's. Where the pool's come nowhere near, nothing is searched for: more than a few layers take long. */
bc_status bc_try_search(const bc_try *attempt, const bc_design_problem *problem, double effort, bc_found *best,
                        bc_error *error);
#define BC_EASIEST_FACTOR 6.0 /* times a limit: no more is offered */
/* A design for the lowest limit of the exception's callout alone, the others as asked: `problem` is that of the pool
 * with the callouts `row`, whose limits are changed on the way. best->forecast.factor is then what its own limit needs,
 * as predicted; no layers: none was found. */
bc_status bc_try_limit(const bc_try *attempt, const bc_design_problem *problem, bc_callout *row, bc_found *best,
                       bc_error *error);
/* Judge anew with runs of another stream; fills the figures of the exception. */
bc_status bc_try_verify(const bc_try *attempt, const bc_design_problem *problem, const bc_stack *stack, bool *good,
                        bc_error *error);
/* What a design may use on paper to be of use: errors add to it what they add to the pool's best, hardly more or less
 * where the limits are easier. */
double bc_try_wanted(const bc_pool *pool);
bool bc_found_good(const bc_found *found);
/* Keep `trial` where its limits want less; it is used up. */
void bc_found_keep(bc_stack *trial, const bc_forecast *forecast, bc_found *best);
/* The pool's best, by the factor that the limits as asked want, each with another number of layers than those before;
 * returns how many, at most `most`. */
size_t bc_try_list_starts(const bc_pool *pool, size_t most, size_t *start);
/* The yield that a forecast is to reach, so that few offers fail the verification. */
double bc_try_yield(const bc_try *attempt);
bool bc_try_stopped(const bc_try *attempt);

#endif
