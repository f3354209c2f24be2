/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_POOL_H
#define BLOOMCOAT_POOL_H
/*
 * Every design a quote meets, for whatever question: each is looked at for all others.
 */
#include "estimate.h"

#define BC_SHARE_WITH_EXCEPTIONS 0.55 /* of the progress: what comes before them */

/* What was made of a design already, so that it is not made again. */
typedef enum bc_made {
    BC_MADE_ROBUST = 1,
    BC_MADE_ROBUST_AGAIN = 2,
    BC_MADE_LAYER_MORE = 4,
    BC_MADE_TWO_MORE = 8,
    BC_MADE_YIELD = 16
} bc_made;

typedef struct bc_pooled {
    bc_stack stack;
    bc_forecast forecast; /* at the callouts as asked */
    double *limit_factor; /* [callouts]: with the limit of that callout alone times this, the share asked for is good */
    unsigned made;        /* of bc_made */
    bool estimated;
    bc_estimate estimate; /* where it was */
    double *fails;        /* [callouts] with it */
    bool shown;           /* to request->found */
} bc_pooled;

/* Where a part of the ladder (ladder.h) lies in its progress. */
typedef struct bc_ladder_part {
    double from, to;
} bc_ladder_part;

typedef struct bc_pool {
    const bc_quote_request *request;
    const bc_design_problem *problem; /* the callouts as asked, the materials that fit */
    bc_watch *watch;                  /* whether the quote is to end with what it has */
    double share;        /* of the progress: the ladder's; 0: it goes by whether exceptions will be needed */
    bc_ladder_part part; /* of the ladder that is climbed: 0 to 1, or less where it is climbed twice */
    double samples;      /* of the callouts on the search's samples; 0: not counted yet */
    double work;         /* of the ladder so far, counted as BC_MOST_WORK is (draft.h) */
    size_t count, room;
    bc_pooled *design;
} bc_pool;

/* A design to be made: `start` as it is (spread 0), or refined for `problem` so that it holds under errors of `spread`
 * standard deviations. */
typedef struct bc_making {
    const bc_design_problem *problem;
    const bc_stack *start;
    double spread;
    size_t rounds;  /* of bc_raise_yield() after that */
    unsigned step;  /* of bc_made: noted of what comes out */
    bc_pooled made; /* no stack (and no layers) where the start does not keep the problem's bounds */
    bc_status status;
    bc_error error;
} bc_making;

/* Make all of them on the request's threads, look at each at the callouts as asked, and add them in their order; what
 * is in the pool already is not added again. `added` (may be NULL): how many designs are new; they stand at the end.
 * Once the watch says stop, nothing more is refined; starts that were there before are still looked at. */
bc_status bc_pool_make(bc_pool *pool, size_t count, bc_making *making, size_t *added, bc_error *error);

/* The effort of a draft that takes `share` of a quote's: not less than a thousandth, and no more than a draft takes. */
double bc_share_of_effort(double share, double effort);

/* The design with just these layers; NULL: it is not in the pool. */
bc_pooled *bc_pool_find(bc_pool *pool, const bc_stack *stack);
/* Whether a refinement of one would be one of the other. */
bool bc_pool_near(const bc_stack *a, const bc_stack *b);
void bc_pool_clear(bc_pool *pool);

#endif
