/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SIGHT_H
#define BLOOMCOAT_SIGHT_H
/*
 * What a spectrophotometer would see of a stack: one quantity against wavelength at one angle in one polarization, for
 * any thicknesses of its layers.
 */
#include "arena.h"
#include <bloomcoat/callouts.h>
#include <bloomcoat/spectrum.h>

typedef struct bc_sight {
    bc_arena arena;
    bc_surface *surface; /* one of the two, the other NULL */
    bc_part *part;
    size_t count, layers, materials;
    bool both_planes;         /* the values are the mean of s and p */
    bc_plane plane;           /* else this one */
    const bc_medium **medium; /* [materials] as they first appear from the outer layer */
    unsigned *material;       /* [layers] */
    double *R, *T, *dR, *dT;  /* means of s and p; [count], [layers * count] */
    bc_index *index, *behind;
    double *thickness_behind;
    unsigned *material_behind;
    double *n, *k; /* [media * count] */
} bc_sight;

/* `back` NULL or of kind BC_BACK_NONE: the front alone. Not BC_POL_EACH. */
bc_status bc_sight_open(const bc_stack *stack, const bc_back *back, size_t count, const double *wavelength_nm,
                        double aoi_rad, bc_polarization polarization, bc_sight *sight, bc_error *error);
void bc_sight_close(bc_sight *sight);

/* n of the material plus dn from now on. */
void bc_sight_shift(bc_sight *sight, size_t material, double dn);
void bc_sight_look(bc_sight *sight, const double *thickness_nm, bool gradient);
const double *bc_sight_value(const bc_sight *sight, bc_quantity quantity); /* BC_R or BC_T; until the next look */
const double *bc_sight_slope(const bc_sight *sight, bc_quantity quantity, size_t layer); /* per nm */

#endif
