/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef OUTSIDE_SUPPORT_H
#define OUTSIDE_SUPPORT_H
/*
 * What the published checks share: a surface of constant indices put through the public API, and seeded random numbers.
 */
#include "many_or_few.h"
#include "reference.h"
#include <bloomcoat/surface.h>
#include <check.h>
#include <stdint.h>

#define PI 3.14159265358979323846

/* `layers` layers on a substrate, seen from air at normal incidence; a check changes what it needs. */
reference_stack coated(double substrate_n, size_t layers, const reference_layer *layer, double wavelength_nm);

/* The layer a quarter wave thick at `wavelength_nm`, at normal incidence. */
reference_layer quarter_wave(double n, double wavelength_nm);

typedef struct observation {
    double R, T;
    double rho_re, rho_im;
} observation;

/* What bc_surface_evaluate() says of a surface. */
observation observe(const reference_stack *stack, bc_plane plane);

/* The one-wavelength setup of `stack`, on the caller's arrays: material j is layer j. It points into `stack`. */
bc_surface_setup setup_of(const reference_stack *stack, bc_index *material);
void number_layers(const reference_stack *stack, unsigned *material, double *thickness_nm);

/* The same surface met from the other side. Its layers are written to `layer`; the substrate must be clear. The angle
 * is still measured in the old incident medium. */
reference_stack reversed(const reference_stack *stack, reference_layer *layer);

/* SplitMix64 (Steele, Lea and Flood, OOPSLA 2014), constants from memory: only its spread over the cases matters. */
typedef struct random_source {
    uint64_t state;
} random_source;

double uniform(random_source *random, double from, double to);
size_t below(random_source *random, size_t count); /* 0 .. count - 1 */

typedef enum layer_kind { CLEAR_LAYER, WEAK_LAYER, METAL_LAYER } layer_kind;

/* A layer of 0 to 300 nm (0 to 200 nm for a metal), n from 0.05 to 4.2, k up to 5. */
reference_layer random_layer(random_source *random, layer_kind kind);

TCase *reference_case(void);
TCase *interfaces_case(void);
TCase *few_layers_case(void);
TCase *many_layers_case(void);
TCase *parts_case(void);
TCase *precision_case(void);
TCase *designs_case(void);
TCase *signal_case(void);
TCase *curved_case(void);
TCase *extremes_case(void);
TCase *graded_case(void);

#endif
