/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_STARTS_H
#define BLOOMCOAT_STARTS_H
/*
 * Where a fit of all layers begins: the design; the best minima of the misfit over one factor of all layers; and the
 * design, and the best of those, with the factor of a single layer or of one material that suits best.
 */
#include "fit.h"

#define BC_VALLEYS 3
#define BC_STARTS  (BC_VALLEYS + 3)

typedef struct bc_start {
    double *thickness_nm; /* [layers] */
    double chi_squared;   /* of the data alone */
} bc_start;

typedef struct bc_starts {
    bc_fit *fit;
    bc_arena arena;
    bc_start start[BC_STARTS]; /* the best first */
    size_t count;
    double scale;     /* the factor of all layers that suits best */
    double *trial_nm; /* [layers] to work with */
} bc_starts;

bc_status bc_starts_open(bc_fit *fit, bc_starts *starts, bc_error *error);
void bc_starts_close(bc_starts *starts);

#endif
