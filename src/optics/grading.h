/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_GRADING_H
#define BLOOMCOAT_GRADING_H
/*
 * A graded layer as homogeneous sublayers.
 *
 * Across a layer N = n (1 + g (u - 1/2)) - ik, u running from 0 at its substrate side to 1 at its outer side. A stair
 * takes its place whose steps in the permittivity N^2 lie at the nodes x_i of the Gauss-Legendre rule on (0, 1) and are
 * as high as the rule's weights w_i say: w_i d(N^2)/du at x_i. To first order in g a gradient reflects
 *     integral of (n'/2n) exp(-2i phase) du
 * (Jacobsson, Progress in Optics 5, 247 (1966), from memory) and the stair the rule's sum for it, which for m steps is
 * exact to the power 2m - 1 of the phase; as is the stair's average of N^2. What is left is of second order in g and
 * falls with 1/m^2. (The stair is derived here; the tests hold it against Bessel functions and integrated equations.)
 */
#include "media.h"
#include <bloomcoat/surface.h>

/* Of one layer material. Sublayers run from the incident medium to the substrate, as layers do. */
typedef struct bc_grading {
    size_t sublayers;    /* 0: the material is homogeneous */
    size_t first;        /* of its sublayers among the media of the workspace */
    double *at, *weight; /* of the steps, from the substrate side; the outer side is the last and steps no more */
    double *share;       /* of the layer's thickness, from the outer side, as are the next */
    double *square;      /* N^2 = n^2 square - k^2 - 2i n k linear */
    double *linear;
} bc_grading;

/* How many sublayers layer material m of the setup takes: 0 without a gradient. BC_ERROR_INPUT for a gradient beyond
 * BC_MOST_GRADIENT or no number, and for a layer so thick that its waves would take more than a thousand. */
bc_status bc_count_sublayers(const bc_surface_setup *setup, size_t m, size_t *sublayers, bc_error *error);

/* Where the steps are, and their weights. */
bc_status bc_set_steps(bc_grading *grading, bc_error *error);

/* The stair of `gradient`. */
void bc_set_stair(bc_grading *grading, double gradient);

/* n and k of one sublayer of a material with n + dn and k (`of`), into the n and k of `to`. */
void bc_set_sublayer(const bc_light *light, const bc_grading *grading, size_t sublayer, const bc_medium_arrays *of,
                     double dn, const bc_medium_arrays *to);

#endif
