/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PROOF_GAME_H
#define BLOOMCOAT_PROOF_GAME_H
/*
 * The least of the largest of many planes over the cube |y| <= 1, from below.
 *
 *     min over y of max over i of (level_i + slope_i . y)
 *
 * is the value of a linear program, and of its dual: the largest sum(z level) - sum over j of |sum(z slope_j)| over
 * weights z >= 0 that add up to 1. Every such z gives a lower bound, so none has to be the best, and no rounding of the
 * simplex method (Dantzig; revised, dense) counts: the bound is worked out anew from the weights.
 */
#include <bloomcoat/proof.h>

typedef struct bc_planes {
    size_t count, variables; /* variables <= BC_PROOF_MOST_LAYERS */
    const double *level;
    double *const *slope; /* [variables][count] */
    const double *scale;  /* [variables] of the slopes */
} bc_planes;

/* A lower bound, and that of one plane alone at least; stops once it is above `enough`, or where it cannot get there.
 */
double bc_planes_least(const bc_planes *planes, double enough);

#endif
