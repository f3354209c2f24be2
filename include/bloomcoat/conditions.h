/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CONDITIONS_H
#define BLOOMCOAT_CONDITIONS_H
/*
 * The same stack at other conditions: an estimate of what air and temperature do to it.
 *
 * A porous layer of packing density p has n = p n_solid + (1 - p) n_void (common practice, no source), so when what
 * fills its pores changes n changes by (1 - p) (n_void_then - n_void_before), whatever the solid. With temperature n
 * changes by dn/dT and the thickness by the expansion, both linear. k stays as it is. Nothing is said of stress, of a
 * glass that grows under a layer, or of how fast water enters.
 */
#include <bloomcoat/stack.h>

BC_API_BEGIN

#define BC_N_WATER 1.333 /* liquid, visible, 20 C, from memory; its dispersion is left out */

/* What a material does. */
typedef struct bc_behaviour {
    char material[BC_NAME_SIZE];
    double packing_density; /* in (0, 1]; 1: no pores */
    double dn_dt;           /* per K */
    double expansion;       /* of the thickness, relative, per K */
} bc_behaviour;

typedef struct bc_conditions {
    double n_void; /* of what fills pores: 1 in vacuum and dry air, BC_N_WATER in humid air */
    double temperature_c;
} bc_conditions;

/* A stack with tables of its own. */
typedef struct bc_shifted {
    bc_stack stack;
    size_t tables;
    bc_dispersion **table;
} bc_shifted;

/* `stack`, whose figures hold at `before`, as it is `then`: its layers, and for temperature its glass. Materials that
 * no behaviour names stay as they are. BC_ERROR_INPUT for a packing density out of range, an index that comes out at 0
 * or less, a thickness that does. */
bc_status bc_shift(const bc_stack *stack, size_t behaviours, const bc_behaviour *behaviour, const bc_conditions *before,
                   const bc_conditions *then, bc_shifted *out, bc_error *error);
void bc_shifted_clear(bc_shifted *shifted);

/* The behaviour of a material; a dense one that does not change where none names it. */
bc_behaviour bc_behaviour_of(size_t behaviours, const bc_behaviour *behaviour, const char *material);

/* Sum of n times thickness of the layers at a wavelength, in nm; NAN where a table does not reach. */
double bc_optical_thickness_nm(const bc_stack *stack, double wavelength_nm);

BC_API_END

#endif
