/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MODEL_SPECTRUM_H
#define BLOOMCOAT_MODEL_SPECTRUM_H
/*
 * What a spectrophotometer would see of a stack: one quantity against wavelength at one angle in one polarization, for
 * any thicknesses of its layers.
 */
#include "arena.h"
#include <bloomcoat/callouts.h>
#include <bloomcoat/spectrum.h>

typedef struct bc_model_spectrum {
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
    double *gradient, *gradient_behind;
    double *thickness_behind;
    unsigned *material_behind;
    double *n, *k; /* [media * count] */
} bc_model_spectrum;

/* `back` NULL or of kind BC_BACK_NONE: the front alone. Not BC_POL_EACH. */
bc_status bc_model_spectrum_open(const bc_stack *stack, const bc_back *back, size_t count, const double *wavelength_nm,
                                 double aoi_rad, bc_polarization polarization, bc_model_spectrum *simulated,
                                 bc_error *error);
void bc_model_spectrum_close(bc_model_spectrum *simulated);

/* n of the material plus dn from now on. */
void bc_model_spectrum_shift_index(bc_model_spectrum *simulated, size_t material, double dn);
void bc_model_spectrum_compute(bc_model_spectrum *simulated, const double *thickness_nm, bool gradient);
const double *bc_model_spectrum_value(const bc_model_spectrum *simulated,
                                      bc_quantity quantity); /* BC_R or BC_T; until the next look */
const double *bc_model_spectrum_slope(const bc_model_spectrum *simulated, bc_quantity quantity,
                                      size_t layer); /* per nm */

#endif
