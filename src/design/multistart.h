/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MULTISTART_H
#define BLOOMCOAT_MULTISTART_H
/*
 * Several independent searches. Each climbs from few layers to many with best designs of its own;
 * that some of them end at the same best design, and none at a better one, is what "sure" means here.
 */
#include "best.h"
#include "search.h"
#include <bloomcoat/draft.h>

#define BC_MOST_OPTIMA  4096
#define BC_LEAST_EFFORT 0.1 /* a search of less effort is bounded like one of so much */

typedef struct bc_multistart {
    const bc_design_problem *problem;
    const bc_draft_options *options;
    bc_search *search;
    bc_recipe start; /* where every search begins, unless from_nothing */
    bool from_nothing;
    size_t neighbourhoods; /* from neighbour to better neighbour at most so often */
    bc_recipe explored;    /* scratch */
    size_t searches;
    bc_best *own;         /* [searches] */
    bc_best best;         /* the best of all */
    bc_recipes looked_at; /* designs whose neighbours were */
    bc_best thin;         /* scratch: of one look for thinner designs */
    double *outer; /* [(max_layers + 1) * materials] lowest limit_used with that many layers and that outer layer */
    size_t optima; /* different ends of the searches for the present number of layers */
    double optimum[BC_MOST_OPTIMA];
    gsl_rng *rng;
    double done, exploring, all; /* expected work, for the progress: over, of the exploration under way, in all */
    bc_watch watch;
    bool failed; /* memory ran out */
} bc_multistart;

/* What is known about the best design of a number of layers. */
typedef struct bc_agreement {
    size_t searches; /* independent searches run */
    size_t agreeing; /* of them ended at the best */
    size_t optima;   /* different local optima they ended at and found worth following */
    bool enough;     /* more would bring nothing new */
} bc_agreement;

bc_status bc_multistart_open(const bc_design_problem *problem, const bc_draft_options *options,
                             bc_multistart *multistart, bc_error *error);
void bc_multistart_close(bc_multistart *multistart);

/* Say how far the search is. */
void bc_multistart_report(bc_multistart *multistart);

/* A random start, into a task. */
void bc_multistart_random(bc_multistart *multistart, size_t layers, bc_task *task);

/* Refine the first `tasks` tasks and take up what they found. Returns whether it is better than what `own` had. */
bool bc_multistart_run(bc_multistart *multistart, bc_best *own, size_t layers, size_t tasks);

/* Whether no further start is to be made: memory ran out, the work has reached BC_MOST_WORK, or the caller's progress
 * said stop. */
bool bc_multistart_stopped(const bc_multistart *multistart);

/* Search at `layers` layers until enough independent searches agree on the best, or bc_multistart_stopped(). */
bc_agreement bc_multistart_search(bc_multistart *multistart, size_t layers);

#endif
