/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef OPTICS_SPECIMEN_H
#define OPTICS_SPECIMEN_H
/*
 * A stack on a grid of its own, in plain arrays, ready for the public API; random ones of several kinds.
 */
#include "random.h"
#include <bloomcoat/surface.h>

#define PI               3.14159265358979323846
#define MOST_WAVELENGTHS 32
#define MOST_MATERIALS   7 /* one more than a random stack has */
#define MOST_LAYERS      40

typedef struct specimen {
    size_t wavelengths;
    double wavelength_nm[MOST_WAVELENGTHS];
    double aoi_rad;
    double incident_n[MOST_WAVELENGTHS];
    double substrate_n[MOST_WAVELENGTHS], substrate_k[MOST_WAVELENGTHS];
    size_t materials;
    double n[MOST_MATERIALS][MOST_WAVELENGTHS], k[MOST_MATERIALS][MOST_WAVELENGTHS];
    size_t layers;
    unsigned material[MOST_LAYERS];
    double thickness_nm[MOST_LAYERS];
} specimen;

typedef enum specimen_kind {
    CLEAR_LAYERS,          /* nothing absorbs, light travels in every medium */
    PAST_TOTAL_REFLECTION, /* nothing absorbs; from a dense medium, most layers and substrates hold no travelling light
                            */
    ABSORBING_LAYERS,      /* clear, weakly absorbing and metal layers; clear substrate */
    ABSORBING_ANYWHERE,    /* the same from any incident medium at any angle, and the substrate may absorb as well */
    SPECIMEN_KINDS
} specimen_kind;

/* Up to `most_layers` layers (at least one) of 5 to 250 nm, dispersive, on 1 to 16 wavelengths in no order. */
specimen random_specimen(random_source *random, specimen_kind kind, size_t most_layers);

/* Both ends without dispersion: the values of the first wavelength. */
void flatten_ends(specimen *stack);

/* Give one material the same constant index everywhere. */
void set_material(specimen *stack, unsigned material, double n, double k);

/* Put a layer in front of layer `before` (before = layers: on the substrate). There must be room. */
void insert_layer(specimen *stack, size_t before, unsigned material, double thickness_nm);
void remove_layer(specimen *stack, size_t layer);

/* The setup of `stack`; `index` has room for its materials and lives as long as the setup. */
bc_surface_setup setup_of(const specimen *stack, bc_index index[MOST_MATERIALS]);

/* A workspace with room for the layers of `stack` and no more, evaluated once; fails the test when it cannot be had. */
bc_surface *open_surface(const specimen *stack, bc_path path, bc_want want);
void evaluate(bc_surface *surface, const specimen *stack, bc_want want);

/* R, T and rho of every wavelength and plane. */
typedef struct response {
    double R[2][MOST_WAVELENGTHS], T[2][MOST_WAVELENGTHS];
    double rho_re[2][MOST_WAVELENGTHS], rho_im[2][MOST_WAVELENGTHS];
} response;

response response_of(const specimen *stack);
response read_response(const bc_surface *surface);

/* Fails the test when R or T of the two differ by more than `tolerance` anywhere on the grid. */
void expect_same_RT(const specimen *stack, const response *one, const response *other, double tolerance);

#endif
