/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "arena.h"
#include <bloomcoat/spectrum.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Indices of all media of a stack on the grid, and the arrays the engine wants. */
typedef struct stack_indices {
    bc_arena arena;
    double *n0, *k0, *ns, *ks;
    size_t materials;
    bc_index *layer; /* [materials] */
    unsigned *material;
    double *thickness_nm;
    double *layer_n, *layer_k;
    double *gradient; /* [materials] */
    double graded_optical_nm;
} stack_indices;

/* The first layer made of `dispersion`, or `layers`. */
static size_t first_layer_of(const bc_stack *stack, const bc_dispersion *dispersion)
{
    size_t j = 0;
    while (j < stack->layers && stack->layer[j].material.dispersion != dispersion)
        j++;
    return j;
}

static size_t count_materials(const bc_stack *stack)
{
    size_t materials = 0;
    for (size_t j = 0; j < stack->layers; j++)
        materials += first_layer_of(stack, stack->layer[j].material.dispersion) == j;
    return materials;
}

static void lay_out_indices(stack_indices *indices, const bc_stack *stack, size_t count, bc_arena *arena)
{
    const size_t layers = stack->layers, materials = count_materials(stack);
    double **grid[] = {&indices->n0, &indices->k0, &indices->ns, &indices->ks};
    for (size_t a = 0; a < sizeof grid / sizeof *grid; a++)
        *grid[a] = bc_arena_take(arena, count, sizeof(double));
    indices->layer = bc_arena_take(arena, materials, sizeof *indices->layer);
    indices->materials = materials;
    indices->material = bc_arena_take(arena, layers, sizeof *indices->material);
    indices->thickness_nm = bc_arena_take(arena, layers, sizeof(double));
    indices->layer_n = bc_arena_take(arena, materials, count * sizeof(double));
    indices->layer_k = bc_arena_take(arena, materials, count * sizeof(double));
    indices->gradient = bc_arena_take(arena, materials, sizeof(double));
}

bc_status bc_refuse_waves(double optical_nm, double wavelength_nm, bc_error *error)
{
    if (optical_nm <= BC_MOST_WAVES * wavelength_nm)
        return BC_OK;
    return bc_fail(
        error, BC_ERROR_INPUT,
        "the layers hold %.3g waves of %g nm, too many to find where their fringes lie; expected %.0f at most: "
        "a longer wavelength or thinner layers",
        optical_nm / wavelength_nm, wavelength_nm, BC_MOST_WAVES);
}

static bc_status count_waves(const bc_stack *stack, const stack_indices *indices, size_t count,
                             const double *wavelength_nm, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i < count; i++) {
        double optical_nm = 0.0;
        for (size_t j = 0; j < stack->layers; j++)
            optical_nm += indices->layer[indices->material[j]].n[i] * indices->thickness_nm[j];
        status = bc_refuse_waves(optical_nm, wavelength_nm[i], error);
    }
    return status;
}

static void set_graded_optical(const bc_stack *stack, stack_indices *indices, size_t count)
{
    for (size_t j = 0; j < stack->layers; j++) {
        const unsigned m = indices->material[j];
        for (size_t i = 0; indices->gradient[m] != 0.0 && i < count; i++)
            indices->graded_optical_nm =
                fmax(indices->graded_optical_nm, indices->layer[m].n[i] * indices->thickness_nm[j]);
    }
}

static bc_status load_indices(const bc_stack *stack, size_t count, const double *wavelength_nm, stack_indices *indices,
                              bc_error *error)
{
    bc_status status;
    memset(indices, 0, sizeof *indices);
    lay_out_indices(indices, stack, count, &indices->arena);
    status = bc_arena_open(&indices->arena, error);
    if (status != BC_OK)
        return status;
    lay_out_indices(indices, stack, count, &indices->arena);
    status = bc_dispersion_index(stack->incident.dispersion, count, wavelength_nm, indices->n0, indices->k0, error);
    if (status == BC_OK)
        status =
            bc_dispersion_index(stack->substrate.dispersion, count, wavelength_nm, indices->ns, indices->ks, error);
    for (size_t j = 0, materials = 0; status == BC_OK && j < stack->layers; j++) {
        const size_t first = first_layer_of(stack, stack->layer[j].material.dispersion);
        indices->thickness_nm[j] = stack->layer[j].thickness_nm;
        if (first < j) {
            indices->material[j] = indices->material[first];
        } else {
            double *n = indices->layer_n + materials * count, *k = indices->layer_k + materials * count;
            status = bc_dispersion_index(stack->layer[j].material.dispersion, count, wavelength_nm, n, k, error);
            indices->layer[materials] = (bc_index){n, k};
            indices->gradient[materials] = bc_dispersion_gradient(stack->layer[j].material.dispersion);
            indices->material[j] = (unsigned)materials++;
        }
    }
    if (status == BC_OK)
        set_graded_optical(stack, indices, count);
    return status == BC_OK ? count_waves(stack, indices, count, wavelength_nm, error) : status;
}

static bc_surface_setup surface_setup(const bc_stack *stack, const stack_indices *indices, size_t count,
                                      const double *wavelength_nm, double aoi_rad, bc_path path)
{
    const bc_surface_setup setup = {.wavelengths = count,
                                    .wavelength_nm = wavelength_nm,
                                    .aoi_rad = aoi_rad,
                                    .incident = {indices->n0, indices->k0},
                                    .substrate = {indices->ns, indices->ks},
                                    .materials = indices->materials,
                                    .material = indices->layer,
                                    .max_layers = stack->layers,
                                    .path = path,
                                    .values_only = true,
                                    .gradient = indices->gradient,
                                    .graded_optical_nm = indices->graded_optical_nm};
    return setup;
}

static bc_status alloc_spectrum(size_t count, const double *wavelength_nm, bc_spectrum *spectrum, bc_error *error)
{
    bc_arena arena = {0};
    memset(spectrum, 0, sizeof *spectrum);
    for (int pass = 0; pass < 2; pass++) {
        spectrum->wavelength_nm = bc_arena_take(&arena, count, sizeof(double));
        for (int p = 0; p < 3; p++) {
            spectrum->R[p] = bc_arena_take(&arena, count, sizeof(double));
            spectrum->T[p] = bc_arena_take(&arena, count, sizeof(double));
            spectrum->A[p] = bc_arena_take(&arena, count, sizeof(double));
        }
        if (pass == 0 && bc_arena_open(&arena, error) != BC_OK)
            return BC_ERROR_MEMORY;
    }
    spectrum->memory = arena.memory;
    spectrum->count = count;
    memcpy(spectrum->wavelength_nm, wavelength_nm, count * sizeof(double));
    return BC_OK;
}

static void set_values(bc_spectrum *spectrum, unsigned p, const double *R, const double *T)
{
    memcpy(spectrum->R[p], R, spectrum->count * sizeof(double));
    memcpy(spectrum->T[p], T, spectrum->count * sizeof(double));
}

bc_status bc_refuse_impossible(double wavelength_nm, double R, double T, bc_error *error)
{
    if (R >= -BC_ROUNDING && T >= -BC_ROUNDING && R + T <= 1.0 + BC_ROUNDING)
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT,
                   "at %.10g nm the model gives R %.6g %% and T %.6g %%, which light cannot do: its assumptions do not "
                   "hold for this stack; expected, where the substrate absorbs, one that is thick against the "
                   "wavelength, and indices that belong to a material",
                   wavelength_nm, 100.0 * R, 100.0 * T);
}

static double within(double fraction)
{
    return fmin(1.0, fmax(0.0, fraction));
}

/* What is left is rounding, not absorption, when it is smaller than the engine resolves. */
static double absorbed(double R, double T)
{
    const double A = 1.0 - R - T;
    return A < 1e-13 ? 0.0 : A;
}

static bc_status finish(bc_spectrum *spectrum, bc_error *error)
{
    for (size_t i = 0; i < spectrum->count; i++) {
        for (int p = BC_POL_S; p <= BC_POL_P; p++) {
            const bc_status status =
                bc_refuse_impossible(spectrum->wavelength_nm[i], spectrum->R[p][i], spectrum->T[p][i], error);
            if (status != BC_OK)
                return status;
            spectrum->R[p][i] = within(spectrum->R[p][i]);
            spectrum->T[p][i] = within(spectrum->T[p][i]);
        }
        spectrum->R[BC_POL_UNPOLARIZED][i] = 0.5 * (spectrum->R[BC_POL_S][i] + spectrum->R[BC_POL_P][i]);
        spectrum->T[BC_POL_UNPOLARIZED][i] = 0.5 * (spectrum->T[BC_POL_S][i] + spectrum->T[BC_POL_P][i]);
        for (int p = 0; p < 3; p++)
            spectrum->A[p][i] = absorbed(spectrum->R[p][i], spectrum->T[p][i]);
    }
    return BC_OK;
}

static bc_status compute_surface(const bc_surface_setup *setup, const stack_indices *indices, bc_spectrum *spectrum,
                                 bc_error *error)
{
    bc_surface *surface;
    bc_status status = bc_surface_alloc(setup, &surface, error);
    if (status != BC_OK)
        return status;
    bc_surface_evaluate(surface, setup->max_layers, indices->material, indices->thickness_nm, BC_WANT_VALUES);
    for (unsigned p = 0; p < 2; p++)
        set_values(spectrum, BC_POL_S + p, bc_surface_R(surface, (bc_plane)p), bc_surface_T(surface, (bc_plane)p));
    bc_surface_free(surface);
    return BC_OK;
}

static bc_status compute_part(const bc_surface_setup *setup, const stack_indices *indices, const bc_back *back,
                              const stack_indices *behind, bc_spectrum *spectrum, bc_error *error)
{
    bc_part_setup part_setup = {.front = *setup, .back = back->kind, .substrate_mm = back->substrate_mm};
    bc_part *part;
    bc_status status;
    if (back->kind == BC_BACK_OWN) {
        part_setup.back_medium = (bc_index){behind->n0, behind->k0};
        part_setup.back_layers = back->stack->layers;
        part_setup.back_materials = behind->materials;
        part_setup.back_index = behind->layer;
        part_setup.back_material = behind->material;
        part_setup.back_thickness_nm = behind->thickness_nm;
        part_setup.back_gradient = behind->gradient;
        part_setup.front.graded_optical_nm = fmax(setup->graded_optical_nm, behind->graded_optical_nm);
    }
    status = bc_part_alloc(&part_setup, &part, error);
    if (status != BC_OK)
        return status;
    bc_part_evaluate(part, setup->max_layers, indices->material, indices->thickness_nm, false);
    for (unsigned p = 0; p < 2; p++)
        set_values(spectrum, BC_POL_S + p, bc_part_R(part, (bc_plane)p), bc_part_T(part, (bc_plane)p));
    bc_part_free(part);
    return BC_OK;
}

static bc_status same_glass(const bc_stack *stack, const bc_back *back, bc_error *error)
{
    if (back->kind == BC_BACK_OWN && strcmp(stack->substrate.name, back->stack->substrate.name) != 0)
        return bc_fail(error, BC_ERROR_INPUT, "the back's stack is on '%s', the front's on '%s'; a part has one glass",
                       back->stack->substrate.name, stack->substrate.name);
    return BC_OK;
}

bc_status bc_spectrum_compute(const bc_stack *stack, const bc_back *back, size_t count, const double *wavelength_nm,
                              double aoi_rad, bc_path path, bc_spectrum *spectrum, bc_error *error)
{
    const bool is_part = back != NULL && back->kind != BC_BACK_NONE;
    stack_indices front = {0}, behind = {0};
    bc_surface_setup setup;
    bc_status status = is_part ? same_glass(stack, back, error) : BC_OK;
    memset(spectrum, 0, sizeof *spectrum);
    if (status == BC_OK)
        status = load_indices(stack, count, wavelength_nm, &front, error);
    if (status == BC_OK && is_part && back->kind == BC_BACK_OWN)
        status = load_indices(back->stack, count, wavelength_nm, &behind, error);
    if (status == BC_OK)
        status = alloc_spectrum(count, wavelength_nm, spectrum, error);
    if (status == BC_OK) {
        setup = surface_setup(stack, &front, count, wavelength_nm, aoi_rad, path);
        status = is_part ? compute_part(&setup, &front, back, &behind, spectrum, error)
                         : compute_surface(&setup, &front, spectrum, error);
    }
    if (status == BC_OK)
        status = finish(spectrum, error);
    if (status != BC_OK)
        bc_spectrum_clear(spectrum);
    free(front.arena.memory);
    free(behind.arena.memory);
    return status;
}

void bc_spectrum_clear(bc_spectrum *spectrum)
{
    free(spectrum->memory);
    memset(spectrum, 0, sizeof *spectrum);
}
