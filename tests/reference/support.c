/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support.h"
#include <math.h>

#define MOST_LAYERS 96

reference_stack coated(double substrate_n, size_t layers, const reference_layer *layer, double wavelength_nm)
{
    const reference_stack stack = {.wavelength_nm = wavelength_nm,
                                   .invariant_n = 1.0,
                                   .incident_n = 1.0,
                                   .substrate_n = substrate_n,
                                   .layers = layers,
                                   .layer = layer};
    return stack;
}

reference_layer quarter_wave(double n, double wavelength_nm)
{
    const reference_layer layer = {n, 0.0, wavelength_nm / (4.0 * n)};
    return layer;
}

bc_surface_setup setup_of(const reference_stack *stack, bc_index *material)
{
    const bc_surface_setup setup = {.wavelengths = 1,
                                    .wavelength_nm = &stack->wavelength_nm,
                                    .aoi_rad = stack->aoi_rad,
                                    .incident = {&stack->incident_n, NULL},
                                    .substrate = {&stack->substrate_n, &stack->substrate_k},
                                    .materials = stack->layers,
                                    .material = material,
                                    .max_layers = stack->layers,
                                    .invariant_n = &stack->invariant_n};
    for (size_t j = 0; j < stack->layers; j++)
        material[j] = (bc_index){&stack->layer[j].n, &stack->layer[j].k};
    return setup;
}

void number_layers(const reference_stack *stack, unsigned *material, double *thickness_nm)
{
    for (size_t j = 0; j < stack->layers; j++) {
        material[j] = (unsigned)j;
        thickness_nm[j] = stack->layer[j].thickness_nm;
    }
}

observation observe(const reference_stack *stack, bc_plane plane)
{
    bc_index index[MOST_LAYERS];
    unsigned material[MOST_LAYERS];
    double thickness_nm[MOST_LAYERS];
    bc_surface_setup setup;
    bc_surface *surface;
    bc_error error;
    observation seen;
    ck_assert_uint_le(stack->layers, MOST_LAYERS);
    setup = setup_of(stack, index);
    number_layers(stack, material, thickness_nm);
    ck_assert_msg(bc_surface_alloc(&setup, &surface, &error) == BC_OK, "%s", error.message);
    bc_surface_evaluate(surface, stack->layers, material, thickness_nm, BC_WANT_VALUES);
    seen = (observation){*bc_surface_R(surface, plane), *bc_surface_T(surface, plane),
                         *bc_surface_rho_re(surface, plane), *bc_surface_rho_im(surface, plane)};
    bc_surface_free(surface);
    return seen;
}

reference_stack reversed(const reference_stack *stack, reference_layer *layer)
{
    reference_stack other = *stack;
    ck_assert_double_eq(stack->substrate_k, 0.0);
    other.incident_n = stack->substrate_n;
    other.substrate_n = stack->incident_n;
    other.layer = layer;
    for (size_t j = 0; j < stack->layers; j++)
        layer[j] = stack->layer[stack->layers - 1 - j];
    return other;
}

static uint64_t next(random_source *random)
{
    uint64_t z = random->state += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

double uniform(random_source *random, double from, double to)
{
    return from + (to - from) * ((double)(next(random) >> 11) * 0x1p-53);
}

size_t below(random_source *random, size_t count)
{
    return (size_t)(next(random) % count);
}

reference_layer random_layer(random_source *random, layer_kind kind)
{
    reference_layer layer = {uniform(random, 1.2, 4.2), 0.0, uniform(random, 0.0, 300.0)};
    if (kind == WEAK_LAYER) {
        layer.k = pow(10.0, uniform(random, -6.0, -0.5));
    } else if (kind == METAL_LAYER) {
        layer.n = uniform(random, 0.05, 4.2);
        layer.k = uniform(random, 0.3, 5.0);
        layer.thickness_nm = uniform(random, 0.0, 200.0);
    }
    return layer;
}
