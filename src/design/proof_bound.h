/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PROOF_BOUND_H
#define BLOOMCOAT_PROOF_BOUND_H
/*
 * What the quantities of one group of samples can be over a box of thicknesses (src/THEORY.md, section 13).
 */
#include "proof_light.h"
#include <bloomcoat/proof.h>

/* Layer 0 lies on the substrate. */
typedef struct bc_proof_box {
    size_t layers;
    const unsigned *material;
    const double *centre_nm, *half_nm;
} bc_proof_box;

/* Scratch of one thread: arrays of [longest] samples, those of a layer for every layer. */
typedef struct bc_proof_work {
    double *x[BC_PROOF_MOST_LAYERS], *y[BC_PROOF_MOST_LAYERS]; /* the layer's point at its upper face */
    double *cosine[BC_PROOF_MOST_LAYERS], *sine[BC_PROOF_MOST_LAYERS];
    double *sinh_a[BC_PROOF_MOST_LAYERS], *cosh_a[BC_PROOF_MOST_LAYERS]; /* of its distance: the largest in the box, */
    double *cosh_least[BC_PROOF_MOST_LAYERS];                            /* and the least */
    double *p[3];                                                        /* the point at hand */
    double *grow, *shrink;                   /* exp of how far all so far can have moved it, and its inverse */
    double *lost;                            /* by absorption; after bc_proof_slopes(): the quantity, at most */
    double *cosh_c, *cosh_min, *cosh_max;    /* of the distance to no reflection: centre, and over the box */
    double *low, *high;                      /* the quantity over the box, by distance alone */
    double *value;                           /* the quantity of the clear centre, */
    double *slope[BC_PROOF_MOST_LAYERS];     /* its slopes per nm, */
    double *below_plane, *above_plane;       /* and how far it can be from that plane, either way */
    double *w[3], *turned, *cross, *bend[2]; /* on the way back */
} bc_proof_work;

/* By distance: cosh_*, low, high. */
void bc_proof_reach(const bc_light *light, const bc_light_group *group, const bc_proof_box *box, bc_proof_work *work);

/* And by slopes, after bc_proof_reach() of the same: value, slope, below_plane, above_plane. */
void bc_proof_slopes(const bc_light *light, const bc_light_group *group, const bc_proof_box *box, bc_proof_work *work);

/* The largest of the row's constraints that every stack of the box exceeds, by distance alone. */
double bc_proof_row_low(const bc_light_row *row, const bc_proof_work *work, const bc_light_group *group);

/* The row's constraints as planes: at any thicknesses of the box at least level + slope . (thickness - centre). `value`
 * is what the bound would be were the box its centre: the centre's own but for absorption. Arrays of constraints,
 * written from row->first on. */
void bc_proof_row_planes(const bc_light_row *row, const bc_proof_work *work, const bc_light_group *group, size_t layers,
                         double *level, double *value, double *const *slope);

/* Take the arrays from an arena. */
void bc_proof_work_take(bc_proof_work *work, size_t layers, size_t longest, bc_arena *arena);

#endif
