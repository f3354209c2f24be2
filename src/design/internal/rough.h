/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_ROUGH_H
#define BLOOMCOAT_ROUGH_H
/*
 * A short search that begins with designs for a problem much like this one, for whoever refines what it finds by
 * criteria of his own: neither polished nor made thinner, which is what takes longest of a short draft.
 */
#include <bloomcoat/draft.h>

#define BC_ROUGH_LAYERS 3 /* numbers of layers that a design comes out of */

typedef struct bc_rough {
    size_t count;
    bc_stack stack[BC_ROUGH_LAYERS]; /* most layers first; rounded to 0.001 nm */
} bc_rough;

/* What a search is for. */
typedef struct bc_rough_aim {
    double wanted;   /* limit_used from which on a design is of use; INFINITY: any is */
    bool seeds_tell; /* the seeds are made of all materials: how near they come tells how near a search will */
} bc_rough_aim;

/* Each of the `seed` designs (of the problem's materials, others are left out) is refined for the problem; then the
 * search looks at the two largest numbers of layers, and at all above those of the seeds. What comes out are the best
 * designs of the largest numbers of layers, but for one that is no better than another with fewer. The aim of the
 * options counts for nothing. Where what is wanted is out of reach of the searches that are left, as far as is known
 * from others, they are left out. Clear with bc_rough_clear(). */
bc_status bc_draft_rough(const bc_design_problem *problem, const bc_draft_options *options, size_t seeds,
                         const bc_stack *const *seed, const bc_rough_aim *aim, bc_rough *result, bc_error *error);
void bc_rough_clear(bc_rough *result);

#endif
