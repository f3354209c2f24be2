/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef OUTSIDE_REFERENCE_H
#define OUTSIDE_REFERENCE_H
/*
 * R, T, A and rho of a coated surface in GNU MPC, to as many bits as asked for: what the engine is held against.
 *
 * Written from the published equations (Abeles, J. Phys. Radium 11, 307 (1950); Born and Wolf, Principles of Optics,
 * ch. 1.6; Heavens, Optical Properties of Thin Solid Films, 1955, ch. 4; Knittl, Optics of Thin Films, 1976, ch. 2),
 * with no line in common with src/: full 2x2 complex matrices, complex sine and cosine, no scaling. MPFR's exponents do
 * not overflow, and 256 bits leave 60 digits to spare where a double leaves none. N = n - ik; of q = sqrt(N^2 - (n0 sin
 * aoi)^2) the root with Im q <= 0 and Re q >= 0.
 */
#include <stddef.h>

#define REFERENCE_BITS          256
#define REFERENCE_GRADIENT_BITS 512
#define REFERENCE_STEP_NM       1e-20

typedef struct reference_layer {
    double n, k;
    double thickness_nm;
} reference_layer;

/* A surface at one wavelength. */
typedef struct reference_stack {
    double wavelength_nm;
    double aoi_rad;
    double invariant_n; /* index of the medium in which aoi_rad is measured; most often incident_n */
    double incident_n;
    double substrate_n, substrate_k;
    size_t layers;
    const reference_layer *layer; /* from the incident medium */
} reference_stack;

/* Of one plane; also used for derivatives of all five, per nm. Indices of the plane: 0 s, 1 p. */
typedef struct reference_value {
    double R, T, A;
    double rho_re, rho_im;
} reference_value;

typedef struct reference reference;

reference *reference_alloc(long bits, size_t max_layers); /* NULL when memory runs out */
void reference_free(reference *engine);

void reference_evaluate(reference *engine, const reference_stack *stack, reference_value value[2]);

/* The derivatives with respect to the thickness of each layer: central differences of step `step_nm`, whose error is of
 * the order of step^2 as long as the bits hold out. derivative[layer][plane]. */
void reference_gradient(reference *engine, const reference_stack *stack, double step_nm,
                        reference_value (*derivative)[2]);

/* The values with `offset_nm`, which may be far below the last bit of a double, added to one layer. */
void reference_evaluate_offset(reference *engine, const reference_stack *stack, size_t layer, double offset_nm,
                               reference_value value[2]);

#endif
