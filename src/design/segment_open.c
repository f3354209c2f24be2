/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "arena.h"
#include "segments.h"
#include <math.h>
#include <stdlib.h>

/* Fringes are evenly spaced in wave number, so few samples are best spent so; their weights are the trapezoid rule's.
 */
static void set_samples(bc_segment *segment, bc_density density)
{
    const size_t last = segment->count - 1;
    const double from_nm = segment->callout->from_nm, to_nm = segment->callout->to_nm;
    if (density != BC_DENSITY_SEARCH || last == 0) {
        bc_sampling_set(segment->callout, segment->count, segment->wavelength_nm, segment->weight);
        if (segment->colour != NULL)
            bc_sampling_colour(segment->callout, segment->count, segment->wavelength_nm, NULL, segment->colour);
        return;
    }
    for (size_t i = 0; i <= last; i++)
        segment->wavelength_nm[i] = 1.0 / bc_sampling_at(1.0 / from_nm, 1.0 / to_nm, segment->count, i);
    segment->wavelength_nm[0] = from_nm; /* 1 / (1 / x) may leave the table by a rounding */
    segment->wavelength_nm[last] = to_nm;
    for (size_t i = 0; i <= last; i++) {
        const double before = segment->wavelength_nm[i == 0 ? 0 : i - 1];
        const double after = segment->wavelength_nm[i == last ? last : i + 1];
        segment->weight[i] = 0.5 * (after - before) / (to_nm - from_nm);
    }
    if (segment->colour != NULL)
        bc_sampling_colour(segment->callout, segment->count, segment->wavelength_nm, segment->weight, segment->colour);
    bc_sampling_weigh(segment->callout, segment->count, segment->wavelength_nm, segment->weight);
}

/* The indices of every medium on the grid, for as long as an engine is being set up. */
typedef struct indices {
    bc_arena arena;
    bc_index incident, substrate, *material;
} indices;

static bc_status sample(const bc_medium *medium, const bc_segment *segment, bc_arena *arena, bc_index *index,
                        bc_error *error)
{
    double *n = bc_arena_take(arena, segment->count, sizeof(double));
    double *k = bc_arena_take(arena, segment->count, sizeof(double));
    *index = (bc_index){n, k};
    if (arena->memory == NULL)
        return BC_OK;
    return bc_dispersion_index(medium->dispersion, segment->count, segment->wavelength_nm, n, k, error);
}

static bc_status sample_all(const bc_design_problem *problem, const bc_segment *segment, bc_index *material,
                            indices *all, bc_error *error)
{
    bc_status status = sample(&problem->incident, segment, &all->arena, &all->incident, error);
    if (status == BC_OK)
        status = sample(&problem->substrate[segment->glass], segment, &all->arena, &all->substrate, error);
    for (size_t m = 0; status == BC_OK && m < problem->materials; m++)
        status = sample(&problem->material[m], segment, &all->arena, &material[m], error);
    all->material = material;
    return status;
}

static bc_status open_part(const bc_design_problem *problem, const bc_surface_setup *front, bc_segment *segment,
                           bc_error *error)
{
    const bc_stack *behind = problem->back.kind == BC_BACK_OWN ? problem->back.stack : NULL;
    const size_t layers = behind == NULL ? 0 : behind->layers;
    bc_part_setup setup = {.front = *front, .back = problem->back.kind, .substrate_mm = problem->back.substrate_mm};
    bc_index *index = calloc(layers + 1, sizeof *index);
    unsigned *material = calloc(layers + 1, sizeof *material);
    double *thickness_nm = calloc(2 * layers + 1, sizeof *thickness_nm), *gradient = thickness_nm + layers;
    bc_arena arena = {0};
    bc_status status = index == NULL || material == NULL || thickness_nm == NULL ? bc_fail_memory(error) : BC_OK;
    for (int pass = 0; status == BC_OK && behind != NULL && pass < 2; pass++) {
        status = sample(&behind->incident, segment, &arena, &setup.back_medium, error);
        for (size_t j = 0; status == BC_OK && j < layers; j++) {
            status = sample(&behind->layer[j].material, segment, &arena, &index[j], error);
            material[j] = (unsigned)j;
            thickness_nm[j] = behind->layer[j].thickness_nm;
            gradient[j] = bc_dispersion_gradient(behind->layer[j].material.dispersion);
        }
        if (status == BC_OK && pass == 0)
            status = bc_arena_open(&arena, error);
    }
    setup.back_materials = setup.back_layers = layers;
    setup.back_index = index;
    setup.back_material = material;
    setup.back_thickness_nm = thickness_nm;
    setup.back_gradient = gradient;
    if (status == BC_OK)
        status = bc_part_alloc(&setup, &segment->part, error);
    free(arena.memory);
    free(index);
    free(material);
    free(thickness_nm);
    return status;
}

/* No layer is thicker than all together, where that is known. */
static double graded_optical_nm(const bc_sampling_extras *extras, const bc_segment *segment)
{
    const double most = extras->density == BC_DENSITY_VERDICT ? extras->fringes.optical_nm : 0.0;
    return fmax(most * segment->thickness_factor, segment->callout->from_nm);
}

static bc_status open_engine(const bc_design_problem *problem, const bc_sampling_extras *extras, size_t max_layers,
                             bc_segment *segment, bc_error *error)
{
    indices all = {0};
    bc_index *material = calloc(problem->materials + 1, sizeof *material);
    double *gradient = calloc(problem->materials + 1, sizeof *gradient);
    bc_status status = material == NULL || gradient == NULL ? bc_fail_memory(error) : BC_OK;
    for (size_t m = 0; status == BC_OK && m < problem->materials; m++)
        gradient[m] = bc_dispersion_gradient(problem->material[m].dispersion);
    if (status == BC_OK)
        status = sample_all(problem, segment, material, &all, error);
    if (status == BC_OK)
        status = bc_arena_open(&all.arena, error);
    if (status == BC_OK)
        status = sample_all(problem, segment, material, &all, error);
    if (status == BC_OK) {
        const bc_surface_setup setup = {.wavelengths = segment->count,
                                        .wavelength_nm = segment->wavelength_nm,
                                        .aoi_rad = segment->aoi_rad,
                                        .incident = all.incident,
                                        .substrate = all.substrate,
                                        .materials = problem->materials,
                                        .material = material,
                                        .max_layers = max_layers,
                                        .values_only = extras->values_only,
                                        .gradient = gradient,
                                        .graded_optical_nm = graded_optical_nm(extras, segment)};
        status = bc_surface_alloc(&setup, &segment->surface, error);
        if (status == BC_OK && segment->is_part)
            status = open_part(problem, &setup, segment, error);
    }
    free(all.arena.memory);
    free(material);
    free(gradient);
    return status;
}

bc_status bc_segment_open(const bc_design_problem *problem, const bc_sampling_extras *extras, size_t max_layers,
                          bc_segment *segment, bc_error *error)
{
    const bool is_colour = segment->callout->colour != BC_NO_COLOUR;
    /* NOLINTNEXTLINE(clang-analyzer-optin.portability.UnixAPI): a segment has a sample */
    segment->wavelength_nm = calloc((is_colour ? 5 : 2) * segment->count, sizeof(double));
    if (segment->wavelength_nm == NULL)
        return bc_fail_memory(error);
    segment->weight = segment->wavelength_nm + segment->count;
    segment->colour = is_colour ? segment->weight + segment->count : NULL;
    set_samples(segment, extras->density);
    if (segment->is_part && problem->back.kind == BC_BACK_NONE)
        return bc_fail(error, BC_ERROR_INPUT,
                       "a callout has scope part; say what the back surface is: uncoated, same, or a stack file");
    return open_engine(problem, extras, max_layers, segment, error);
}
