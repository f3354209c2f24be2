/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sight.h"
#include <stdlib.h>
#include <string.h>

static size_t number_materials(const bc_stack *stack, unsigned *material, const bc_medium **medium)
{
    size_t materials = 0;
    for (size_t j = 0; j < stack->layers; j++) {
        size_t first = 0;
        while (stack->layer[first].material.dispersion != stack->layer[j].material.dispersion)
            first++;
        if (first == j && medium != NULL)
            medium[materials] = &stack->layer[j].material;
        if (material != NULL)
            material[j] = first == j ? (unsigned)materials : material[first];
        materials += first == j;
    }
    return materials;
}

static void lay_out(bc_sight *sight, const bc_stack *stack, const bc_stack *behind, bc_arena *arena)
{
    const size_t back_layers = behind == NULL ? 0 : behind->layers;
    const size_t media = 3 + stack->layers + back_layers;
    sight->medium = bc_arena_take(arena, stack->layers, sizeof *sight->medium);
    sight->material = bc_arena_take(arena, stack->layers, sizeof *sight->material);
    sight->R = bc_arena_take(arena, sight->count, sizeof(double));
    sight->T = bc_arena_take(arena, sight->count, sizeof(double));
    sight->dR = bc_arena_take(arena, sight->both_planes ? stack->layers : 0, sight->count * sizeof(double));
    sight->dT = bc_arena_take(arena, sight->both_planes ? stack->layers : 0, sight->count * sizeof(double));
    sight->index = bc_arena_take(arena, stack->layers, sizeof *sight->index);
    sight->behind = bc_arena_take(arena, back_layers, sizeof *sight->behind);
    sight->thickness_behind = bc_arena_take(arena, back_layers, sizeof(double));
    sight->material_behind = bc_arena_take(arena, back_layers, sizeof(unsigned));
    sight->n = bc_arena_take(arena, media, sight->count * sizeof(double));
    sight->k = bc_arena_take(arena, media, sight->count * sizeof(double));
}

/* The next medium's index on the grid. */
static bc_status load(bc_sight *sight, const bc_medium *medium, size_t *loaded, const double *wavelength_nm,
                      bc_index *index, bc_error *error)
{
    double *n = sight->n + *loaded * sight->count, *k = sight->k + *loaded * sight->count;
    ++*loaded;
    *index = (bc_index){n, k};
    return bc_dispersion_index(medium->dispersion, sight->count, wavelength_nm, n, k, error);
}

static bc_status open_part(bc_sight *sight, const bc_surface_setup *setup, const bc_back *back,
                           const double *wavelength_nm, size_t loaded, bc_error *error)
{
    bc_part_setup part = {.front = *setup, .back = back->kind, .substrate_mm = back->substrate_mm};
    bc_status status = BC_OK;
    if (back->kind == BC_BACK_OWN) {
        const bc_stack *stack = back->stack;
        status = load(sight, &stack->incident, &loaded, wavelength_nm, &part.back_medium, error);
        for (size_t j = 0; status == BC_OK && j < stack->layers; j++) {
            status = load(sight, &stack->layer[j].material, &loaded, wavelength_nm, &sight->behind[j], error);
            sight->material_behind[j] = (unsigned)j;
            sight->thickness_behind[j] = stack->layer[j].thickness_nm;
        }
        part.back_materials = stack->layers;
        part.back_index = sight->behind;
        part.back_layers = stack->layers;
        part.back_material = sight->material_behind;
        part.back_thickness_nm = sight->thickness_behind;
    }
    return status == BC_OK ? bc_part_alloc(&part, &sight->part, error) : status;
}

static bc_status fill(bc_sight *sight, const bc_stack *stack, const bc_back *back, const double *wavelength_nm,
                      double aoi_rad, bc_error *error)
{
    bc_surface_setup setup = {.wavelengths = sight->count,
                              .wavelength_nm = wavelength_nm,
                              .aoi_rad = aoi_rad,
                              .materials = sight->materials,
                              .material = sight->index,
                              .max_layers = stack->layers};
    size_t loaded = 0;
    bc_status status = load(sight, &stack->incident, &loaded, wavelength_nm, &setup.incident, error);
    if (status == BC_OK)
        status = load(sight, &stack->substrate, &loaded, wavelength_nm, &setup.substrate, error);
    for (size_t m = 0; status == BC_OK && m < sight->materials; m++)
        status = load(sight, sight->medium[m], &loaded, wavelength_nm, &sight->index[m], error);
    if (status != BC_OK)
        return status;
    return back == NULL || back->kind == BC_BACK_NONE ? bc_surface_alloc(&setup, &sight->surface, error)
                                                      : open_part(sight, &setup, back, wavelength_nm, loaded, error);
}

bc_status bc_sight_open(const bc_stack *stack, const bc_back *back, size_t count, const double *wavelength_nm,
                        double aoi_rad, bc_polarization polarization, bc_sight *sight, bc_error *error)
{
    const bc_stack *behind = back != NULL && back->kind == BC_BACK_OWN ? back->stack : NULL;
    bc_status status;
    memset(sight, 0, sizeof *sight);
    sight->count = count;
    sight->layers = stack->layers;
    sight->both_planes = polarization == BC_POL_UNPOLARIZED && aoi_rad > 0.0;
    sight->plane = polarization == BC_POL_P ? BC_P : BC_S;
    lay_out(sight, stack, behind, &sight->arena);
    status = bc_arena_open(&sight->arena, error);
    if (status != BC_OK)
        return status;
    lay_out(sight, stack, behind, &sight->arena);
    sight->materials = number_materials(stack, sight->material, sight->medium);
    status = fill(sight, stack, back, wavelength_nm, aoi_rad, error);
    if (status != BC_OK)
        bc_sight_close(sight);
    return status;
}

void bc_sight_close(bc_sight *sight)
{
    bc_surface_free(sight->surface);
    bc_part_free(sight->part);
    free(sight->arena.memory);
    memset(sight, 0, sizeof *sight);
}

void bc_sight_shift(bc_sight *sight, size_t material, double dn)
{
    if (sight->part != NULL)
        bc_part_shift_index(sight->part, (unsigned)material, dn);
    else
        bc_surface_shift_index(sight->surface, (unsigned)material, dn);
}

static const double *plane_value(const bc_sight *sight, bc_quantity quantity, bc_plane plane)
{
    if (sight->part != NULL)
        return quantity == BC_R ? bc_part_R(sight->part, plane) : bc_part_T(sight->part, plane);
    return quantity == BC_R ? bc_surface_R(sight->surface, plane) : bc_surface_T(sight->surface, plane);
}

static const double *plane_slope(const bc_sight *sight, bc_quantity quantity, bc_plane plane, size_t layer)
{
    if (sight->part != NULL)
        return quantity == BC_R ? bc_part_dR(sight->part, plane, layer) : bc_part_dT(sight->part, plane, layer);
    return quantity == BC_R ? bc_surface_dR(sight->surface, plane, layer) : bc_surface_dT(sight->surface, plane, layer);
}

static void average(size_t count, const double *s, const double *p, double *mean)
{
    for (size_t i = 0; i < count; i++)
        mean[i] = 0.5 * (s[i] + p[i]);
}

void bc_sight_look(bc_sight *sight, const double *thickness_nm, bool gradient)
{
    static const bc_quantity quantities[] = {BC_R, BC_T};
    if (sight->part != NULL)
        bc_part_evaluate(sight->part, sight->layers, sight->material, thickness_nm, gradient);
    else
        bc_surface_evaluate(sight->surface, sight->layers, sight->material, thickness_nm,
                            gradient ? BC_WANT_GRADIENT : BC_WANT_VALUES);
    for (size_t q = 0; sight->both_planes && q < 2; q++) {
        const bc_quantity quantity = quantities[q];
        average(sight->count, plane_value(sight, quantity, BC_S), plane_value(sight, quantity, BC_P),
                quantity == BC_R ? sight->R : sight->T);
        for (size_t j = 0; gradient && j < sight->layers; j++)
            average(sight->count, plane_slope(sight, quantity, BC_S, j), plane_slope(sight, quantity, BC_P, j),
                    (quantity == BC_R ? sight->dR : sight->dT) + j * sight->count);
    }
}

const double *bc_sight_value(const bc_sight *sight, bc_quantity quantity)
{
    if (sight->both_planes)
        return quantity == BC_R ? sight->R : sight->T;
    return plane_value(sight, quantity, sight->plane);
}

const double *bc_sight_slope(const bc_sight *sight, bc_quantity quantity, size_t layer)
{
    if (sight->both_planes)
        return (quantity == BC_R ? sight->dR : sight->dT) + layer * sight->count;
    return plane_slope(sight, quantity, sight->plane, layer);
}
