/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SEARCH_H
#define BLOOMCOAT_SEARCH_H
/*
 * Many local refinements at once. Tasks are made by one thread, refined by all, and taken up again in their order, so
 * the outcome does not depend on how many threads there are.
 */
#include "best.h"
#include "moves.h"

#define BC_BATCH 24 /* tasks between two looks at the best so far */

typedef struct bc_task {
    bc_recipe recipe; /* in: the start; out: the refined design, limit_used INFINITY when there is none */
    bool rough;       /* a start far from any optimum: least squares first */
    int grow;         /* >= 0: first insert a layer at the grow-th best place */
    double give_up;   /* limit_used after a first descent above which the rest is not worth its time */
    double work;      /* out: what it took, see bc_search_work() */
    bool failed;      /* out: memory ran out */
} bc_task;

typedef struct bc_search bc_search;

/* `watch` must live as long as the search. */
bc_status bc_search_alloc(const bc_design_problem *problem, size_t threads, bc_watch *watch, bc_search **out,
                          bc_error *error);
void bc_search_free(bc_search *search);

bc_task *bc_search_task(bc_search *search, size_t task); /* task < BC_BATCH */
const bc_palette *bc_search_palette(const bc_search *search);

/* From now on all layers together measure at most so much: the problem's own limit, or less. */
void bc_search_set_most(bc_search *search, double most_nm);

size_t bc_search_constraints(const bc_search *search); /* of the merit: what one evaluation costs */

/* Refine the first `tasks` tasks. Returns false when memory ran out: what was found is then not to be used. */
bool bc_search_run(bc_search *search, size_t tasks);

/* Starts that are made where they are looked at: on any thread, so `make` may change nothing but the recipe, which has
 * room for twice the most layers. */
#define BC_SCORES 512
typedef struct bc_starts {
    size_t first, count; /* at most BC_SCORES */
    void (*make)(const void *context, size_t i, bc_recipe *recipe);
    const void *context;
} bc_starts;

/* The mean of u over all constraints for each start as it is, into score[starts->count]: how far it is from what is
 * asked, without a refinement. */
void bc_search_rate(bc_search *search, const bc_starts *starts, double *score);

size_t bc_search_refined(const bc_search *search); /* tasks refined so far */

/* What all tasks so far took: evaluations of the merit, each counted as its constraints times the layers squared, which
 * is what its Hessian costs. The same on every machine of one kind, however busy, and for every number of threads. */
double bc_search_work(const bc_search *search);

#endif
