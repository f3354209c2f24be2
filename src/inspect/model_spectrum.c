/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model_spectrum.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

static size_t number_materials(const bc_stack *stack, unsigned *material, const bc_medium **medium)
{
    size_t materials = 0;
    for (size_t j = 0; j < stack->layers; j++) {
        size_t first = 0;
        while (stack->layer[first].material.dispersion != stack->layer[j].material.dispersion)
            first++;
        material[j] = first == j ? (unsigned)materials : material[first];
        if (first == j)
            medium[materials++] = &stack->layer[j].material;
    }
    return materials;
}

static void lay_out(bc_model_spectrum *simulated, const bc_stack *stack, const bc_stack *behind, bc_arena *arena)
{
    const size_t back_layers = behind == NULL ? 0 : behind->layers;
    const size_t media = 3 + stack->layers + back_layers;
    simulated->medium = bc_arena_take(arena, stack->layers, sizeof *simulated->medium);
    simulated->material = bc_arena_take(arena, stack->layers, sizeof *simulated->material);
    simulated->R = bc_arena_take(arena, simulated->count, sizeof(double));
    simulated->T = bc_arena_take(arena, simulated->count, sizeof(double));
    simulated->dR = bc_arena_take(arena, simulated->both_planes ? stack->layers : 0, simulated->count * sizeof(double));
    simulated->dT = bc_arena_take(arena, simulated->both_planes ? stack->layers : 0, simulated->count * sizeof(double));
    simulated->index = bc_arena_take(arena, stack->layers, sizeof *simulated->index);
    simulated->gradient = bc_arena_take(arena, stack->layers, sizeof(double));
    simulated->gradient_behind = bc_arena_take(arena, back_layers, sizeof(double));
    simulated->behind = bc_arena_take(arena, back_layers, sizeof *simulated->behind);
    simulated->thickness_behind = bc_arena_take(arena, back_layers, sizeof(double));
    simulated->material_behind = bc_arena_take(arena, back_layers, sizeof(unsigned));
    simulated->n = bc_arena_take(arena, media, simulated->count * sizeof(double));
    simulated->k = bc_arena_take(arena, media, simulated->count * sizeof(double));
}

/* The next medium's index on the grid. */
static bc_status load(bc_model_spectrum *simulated, const bc_medium *medium, size_t *loaded,
                      const double *wavelength_nm, bc_index *index, bc_error *error)
{
    double *n = simulated->n + *loaded * simulated->count, *k = simulated->k + *loaded * simulated->count;
    ++*loaded;
    *index = (bc_index){n, k};
    return bc_dispersion_index(medium->dispersion, simulated->count, wavelength_nm, n, k, error);
}

static bc_status open_part(bc_model_spectrum *simulated, const bc_surface_setup *setup, const bc_back *back,
                           const double *wavelength_nm, size_t loaded, bc_error *error)
{
    bc_part_setup part = {.front = *setup, .back = back->kind, .substrate_mm = back->substrate_mm};
    bc_status status = BC_OK;
    if (back->kind == BC_BACK_OWN) {
        const bc_stack *stack = back->stack;
        status = load(simulated, &stack->incident, &loaded, wavelength_nm, &part.back_medium, error);
        for (size_t j = 0; status == BC_OK && j < stack->layers; j++) {
            status = load(simulated, &stack->layer[j].material, &loaded, wavelength_nm, &simulated->behind[j], error);
            simulated->material_behind[j] = (unsigned)j;
            simulated->thickness_behind[j] = stack->layer[j].thickness_nm;
            simulated->gradient_behind[j] = bc_dispersion_gradient(stack->layer[j].material.dispersion);
        }
        part.back_materials = stack->layers;
        part.back_index = simulated->behind;
        part.back_layers = stack->layers;
        part.back_material = simulated->material_behind;
        part.back_thickness_nm = simulated->thickness_behind;
        part.back_gradient = simulated->gradient_behind;
    }
    return status == BC_OK ? bc_part_alloc(&part, &simulated->part, error) : status;
}

/* Of the thickest layer of `stack`, were it a fifth thicker than it is: a fit moves it. 0: not known here. */
static double thickest_optical_nm(const bc_stack *stack, double wavelength_nm)
{
    double most = 0.0, n;
    for (size_t j = 0; j < stack->layers; j++)
        if (bc_dispersion_index(stack->layer[j].material.dispersion, 1, &wavelength_nm, &n, NULL, NULL) == BC_OK)
            most = fmax(most, 1.2 * n * stack->layer[j].thickness_nm);
    return most;
}

static bc_status fill(bc_model_spectrum *simulated, const bc_stack *stack, const bc_back *back,
                      const double *wavelength_nm, double aoi_rad, bc_error *error)
{
    bc_surface_setup setup = {.wavelengths = simulated->count,
                              .wavelength_nm = wavelength_nm,
                              .aoi_rad = aoi_rad,
                              .materials = simulated->materials,
                              .material = simulated->index,
                              .max_layers = stack->layers,
                              .gradient = simulated->gradient,
                              .graded_optical_nm = thickest_optical_nm(stack, wavelength_nm[0])};
    size_t loaded = 0;
    bc_status status = load(simulated, &stack->incident, &loaded, wavelength_nm, &setup.incident, error);
    if (status == BC_OK)
        status = load(simulated, &stack->substrate, &loaded, wavelength_nm, &setup.substrate, error);
    for (size_t m = 0; m < simulated->materials; m++)
        simulated->gradient[m] = bc_dispersion_gradient(simulated->medium[m]->dispersion);
    for (size_t m = 0; status == BC_OK && m < simulated->materials; m++)
        status = load(simulated, simulated->medium[m], &loaded, wavelength_nm, &simulated->index[m], error);
    if (status != BC_OK)
        return status;
    return back == NULL || back->kind == BC_BACK_NONE
               ? bc_surface_alloc(&setup, &simulated->surface, error)
               : open_part(simulated, &setup, back, wavelength_nm, loaded, error);
}

bc_status bc_model_spectrum_open(const bc_stack *stack, const bc_back *back, size_t count, const double *wavelength_nm,
                                 double aoi_rad, bc_polarization polarization, bc_model_spectrum *simulated,
                                 bc_error *error)
{
    const bc_stack *behind = back != NULL && back->kind == BC_BACK_OWN ? back->stack : NULL;
    bc_status status;
    memset(simulated, 0, sizeof *simulated);
    simulated->count = count;
    simulated->layers = stack->layers;
    simulated->both_planes = polarization == BC_POL_UNPOLARIZED && aoi_rad > 0.0;
    simulated->plane = polarization == BC_POL_P ? BC_P : BC_S;
    lay_out(simulated, stack, behind, &simulated->arena);
    status = bc_arena_open(&simulated->arena, error);
    if (status != BC_OK)
        return status;
    lay_out(simulated, stack, behind, &simulated->arena);
    simulated->materials = number_materials(stack, simulated->material, simulated->medium);
    status = fill(simulated, stack, back, wavelength_nm, aoi_rad, error);
    if (status != BC_OK)
        bc_model_spectrum_close(simulated);
    return status;
}

void bc_model_spectrum_close(bc_model_spectrum *simulated)
{
    bc_surface_free(simulated->surface);
    bc_part_free(simulated->part);
    free(simulated->arena.memory);
    memset(simulated, 0, sizeof *simulated);
}

void bc_model_spectrum_shift_index(bc_model_spectrum *simulated, size_t material, double dn)
{
    if (simulated->part != NULL)
        bc_part_shift_index(simulated->part, (unsigned)material, dn);
    else
        bc_surface_shift_index(simulated->surface, (unsigned)material, dn);
}

static const double *plane_value(const bc_model_spectrum *simulated, bc_quantity quantity, bc_plane plane)
{
    if (simulated->part != NULL)
        return quantity == BC_R ? bc_part_R(simulated->part, plane) : bc_part_T(simulated->part, plane);
    return quantity == BC_R ? bc_surface_R(simulated->surface, plane) : bc_surface_T(simulated->surface, plane);
}

static const double *plane_slope(const bc_model_spectrum *simulated, bc_quantity quantity, bc_plane plane, size_t layer)
{
    if (simulated->part != NULL)
        return quantity == BC_R ? bc_part_dR(simulated->part, plane, layer) : bc_part_dT(simulated->part, plane, layer);
    return quantity == BC_R ? bc_surface_dR(simulated->surface, plane, layer)
                            : bc_surface_dT(simulated->surface, plane, layer);
}

static void average(size_t count, const double *s, const double *p, double *mean)
{
    for (size_t i = 0; i < count; i++)
        mean[i] = 0.5 * (s[i] + p[i]);
}

void bc_model_spectrum_compute(bc_model_spectrum *simulated, const double *thickness_nm, bool gradient)
{
    static const bc_quantity quantities[] = {BC_R, BC_T};
    if (simulated->part != NULL)
        bc_part_evaluate(simulated->part, simulated->layers, simulated->material, thickness_nm, gradient);
    else
        bc_surface_evaluate(simulated->surface, simulated->layers, simulated->material, thickness_nm,
                            gradient ? BC_WANT_GRADIENT : BC_WANT_VALUES);
    for (size_t q = 0; simulated->both_planes && q < 2; q++) {
        const bc_quantity quantity = quantities[q];
        average(simulated->count, plane_value(simulated, quantity, BC_S), plane_value(simulated, quantity, BC_P),
                quantity == BC_R ? simulated->R : simulated->T);
        for (size_t j = 0; gradient && j < simulated->layers; j++)
            average(simulated->count, plane_slope(simulated, quantity, BC_S, j),
                    plane_slope(simulated, quantity, BC_P, j),
                    (quantity == BC_R ? simulated->dR : simulated->dT) + j * simulated->count);
    }
}

const double *bc_model_spectrum_value(const bc_model_spectrum *simulated, bc_quantity quantity)
{
    if (simulated->both_planes)
        return quantity == BC_R ? simulated->R : simulated->T;
    return plane_value(simulated, quantity, simulated->plane);
}

const double *bc_model_spectrum_slope(const bc_model_spectrum *simulated, bc_quantity quantity, size_t layer)
{
    if (simulated->both_planes)
        return (quantity == BC_R ? simulated->dR : simulated->dT) + layer * simulated->count;
    return plane_slope(simulated, quantity, simulated->plane, layer);
}
