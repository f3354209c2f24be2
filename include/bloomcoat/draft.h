/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DRAFT_H
#define BLOOMCOAT_DRAFT_H
/*
 * Where films come from: a stack from nothing (or from a start) to the callouts.
 */
#include <bloomcoat/refine.h>

typedef enum bc_aim {
    BC_AIM_FEWEST, /* the fewest films with limit_used <= 0.9, else the best found */
    BC_AIM_BEST,   /* the lowest limit_used with at most max_films */
} bc_aim;

typedef struct bc_draft_options {
    bc_aim aim;
    unsigned long seed;
    double effort;         /* 1 is the default; 4 searches about four times as long; > 0 */
    size_t threads;        /* 0: as many as the machine has; the result does not depend on it */
    const bc_stack *start; /* NULL: from nothing. Its fixed films stay as they are */
    bc_progress progress;  /* may be NULL */
    void *progress_context;
} bc_draft_options;

/* The best stack found with a number of films. */
typedef struct bc_rung {
    bc_stack stack;
    double total_nm;
    double limit_used;
} bc_rung;

typedef struct bc_draft_result {
    size_t chosen; /* the rung that answers the aim */
    size_t rungs;  /* by rising number of films; each better than the one before */
    bc_rung *rung;
    size_t starts; /* local refinements run */
    bc_stop stop;
} bc_draft_result;

bc_status bc_draft(const bc_design_problem *problem, const bc_draft_options *options, bc_draft_result *result,
                   bc_error *error);
void bc_draft_result_clear(bc_draft_result *result);

#endif
