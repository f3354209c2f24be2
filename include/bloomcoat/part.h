/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PART_H
#define BLOOMCOAT_PART_H
/*
 * R and T of a plane-parallel part: a coated front surface, glass, and a back surface, added incoherently.
 *
 * With R1, T1 the front from outside, R1' the front from inside, R2, T2 the back from inside and x the transmittance of
 * one crossing of the glass,
 *     R = R1 + T1^2 R2 x^2 / (1 - R1' R2 x^2),     T = T1 T2 x / (1 - R1' R2 x^2),     A = 1 - R - T
 * for s and p each (Knittl, Optics of Thin Films, 1976; for bare surfaces Born and Wolf, ch. 1.6, and 2R/(1+R)).
 * x = exp(-4 pi |Im q| d / wavelength). The front's T is the same from both sides (reciprocity).
 *
 * Holds when the glass is many coherence lengths thick and its faces parallel enough that every reflection is counted.
 * A weakly absorbing glass reflects inside as its real index does; in a strongly absorbing one x is zero and it does
 * not matter.
 */
#include <bloomcoat/surface.h>

BC_API_BEGIN

typedef enum bc_back_kind {
    BC_BACK_NONE,     /* the front surface alone; no part */
    BC_BACK_UNCOATED, /* polished and bare */
    BC_BACK_SAME,     /* the front's stack on the other face as well */
    BC_BACK_OWN,      /* a stack of its own */
} bc_back_kind;

typedef struct bc_part_setup {
    bc_surface_setup front; /* invariant_n is ignored */
    bc_back_kind back;      /* not BC_BACK_NONE */
    double substrate_mm;    /* thickness of the glass, >= 0; above 0 where it absorbs, else it does not matter */
    /* For BC_BACK_OWN: the medium behind the part, and the back's layers from that medium to the glass. */
    bc_index back_medium;
    size_t back_materials;
    const bc_index *back_index; /* [back_materials] */
    size_t back_layers;
    const unsigned *back_material; /* [back_layers], each < back_materials */
    const double *back_thickness_nm;
    /* [back_materials], as the front's; its graded_optical_nm holds for the back, too. NULL: none. */
    const double *back_gradient;
} bc_part_setup;

typedef struct bc_part bc_part;

bc_status bc_part_alloc(const bc_part_setup *setup, bc_part **out, bc_error *error);
void bc_part_free(bc_part *part);

/* As bc_surface_shift_index(), for the front's layer materials; with BC_BACK_SAME the back's are shifted alike, a back
 * with a stack of its own stays what it was. */
void bc_part_shift_index(bc_part *part, unsigned material, double dn);

/* As bc_surface_set_index(), for the front's layer materials; with BC_BACK_SAME the back's are set alike. */
void bc_part_set_index(bc_part *part, unsigned material, const bc_index *index);

/* As bc_surface_set_gradient(), likewise. */
void bc_part_set_gradient(bc_part *part, unsigned material, double gradient);

/* As bc_surface_evaluate(); the layers are the front's (with BC_BACK_SAME the back follows). `gradient` computes dR,
 * dT.
 */
void bc_part_evaluate(bc_part *part, size_t layers, const unsigned *material, const double *thickness_nm,
                      bool gradient);

const double *bc_part_R(const bc_part *part, bc_plane plane);
const double *bc_part_T(const bc_part *part, bc_plane plane);
const double *bc_part_dR(const bc_part *part, bc_plane plane, size_t layer); /* per nm */
const double *bc_part_dT(const bc_part *part, bc_plane plane, size_t layer);

BC_API_END

#endif
