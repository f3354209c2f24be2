/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model.h"
#include <stdlib.h>
#include <string.h>

static int by_name(const void *one, const void *other)
{
    return strcmp(((const bc_medium *)one)->name, ((const bc_medium *)other)->name);
}

static void lay_out(bc_run_model *model, bc_arena *arena)
{
    model->medium = bc_arena_take(arena, model->layers, sizeof *model->medium);
    model->material = bc_arena_take(arena, model->layers, sizeof *model->material);
    model->nominal_nm = bc_arena_take(arena, model->layers, sizeof(double));
    model->layer_bias = bc_arena_take(arena, model->layers, sizeof(double));
    model->layer_sigma = bc_arena_take(arena, model->layers, sizeof(double));
    model->index_sigma = bc_arena_take(arena, model->layers, sizeof(double));
}

/* The distinct materials of the layers, by name. */
static void gather_materials(const bc_stack *stack, bc_run_model *model)
{
    size_t kept = 0;
    for (size_t j = 0; j < stack->layers; j++)
        model->medium[j] = stack->layer[j].material;
    if (stack->layers > 0)
        qsort(model->medium, stack->layers, sizeof *model->medium, by_name);
    for (size_t j = 0; j < stack->layers; j++)
        if (kept == 0 || strcmp(model->medium[j].name, model->medium[kept - 1].name) != 0)
            model->medium[kept++] = model->medium[j];
    model->materials = kept;
}

static void fill(const bc_stack *stack, const bc_process *process, bc_run_model *model)
{
    for (size_t m = 0; m < model->materials; m++)
        model->index_sigma[m] = bc_process_for(process, model->medium[m].name).index_sigma;
    for (size_t j = 0; j < stack->layers; j++) {
        const bc_layer *layer = &stack->layer[j];
        const bc_process_row row = bc_process_for(process, layer->material.name);
        const bc_medium *medium = bsearch(&layer->material, model->medium, model->materials, sizeof *medium, by_name);
        model->material[j] = (unsigned)(medium - model->medium);
        model->nominal_nm[j] = layer->thickness_nm;
        model->layer_bias[j] = row.run_thickness_sigma;
        model->layer_sigma[j] = row.thickness_sigma;
    }
}

/* A material has one index error in a run, and in the model one index. */
static bc_status refuse_mixed(const bc_stack *stack, bc_error *error)
{
    for (size_t j = 0; j < stack->layers; j++)
        for (size_t i = 0; i < j; i++) {
            const bc_medium *one = &stack->layer[i].material, *other = &stack->layer[j].material;
            if (strcmp(one->name, other->name) == 0 && one->dispersion != other->dispersion)
                return bc_fail(error, BC_ERROR_INPUT,
                               "layers %zu and %zu are of %s with two index gradients, %g and %g %%; expected one for "
                               "each material where runs are simulated",
                               bc_layer_number(stack->layers, j), bc_layer_number(stack->layers, i), one->name,
                               100.0 * bc_dispersion_gradient(other->dispersion),
                               100.0 * bc_dispersion_gradient(one->dispersion));
        }
    return BC_OK;
}

bc_status bc_run_model_open(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                            bc_run_model *model, bc_error *error)
{
    bc_status status;
    memset(model, 0, sizeof *model);
    status = refuse_mixed(stack, error);
    if (status != BC_OK)
        return status;
    model->layers = stack->layers;
    lay_out(model, &model->arena);
    status = bc_arena_open(&model->arena, error);
    if (status != BC_OK)
        return status;
    lay_out(model, &model->arena);
    gather_materials(stack, model);
    fill(stack, process, model);
    model->draws = 1 + model->materials + model->layers;
    model->problem = *problem;
    model->problem.incident = stack->incident;
    model->problem.materials = model->materials;
    model->problem.material = model->medium;
    model->problem.max_layers = stack->layers;
    return BC_OK;
}

void bc_run_model_close(bc_run_model *model)
{
    free(model->arena.memory);
    memset(model, 0, sizeof *model);
}

size_t bc_draw_of_material(size_t material)
{
    return 1 + material;
}

size_t bc_draw_of_layer(const bc_run_model *model, size_t layer)
{
    return 1 + model->materials + (model->layers - 1 - layer);
}

static bool counts_for_anything(const bc_run_model *model, size_t draw)
{
    bool counts = false;
    if (draw > model->materials) {
        const size_t layer = model->draws - 1 - draw;
        return model->layer_sigma[layer] != 0.0 && model->nominal_nm[layer] > 0.0;
    }
    if (draw != BC_DRAW_OF_BIAS)
        return model->index_sigma[draw - 1] != 0.0;
    for (size_t j = 0; j < model->layers; j++)
        counts = counts || (model->layer_bias[j] != 0.0 && model->nominal_nm[j] > 0.0);
    return counts;
}

size_t bc_draws_that_count(const bc_run_model *model, size_t *draw)
{
    size_t count = 0;
    for (size_t d = 0; d < model->draws; d++)
        if (counts_for_anything(model, d)) {
            if (draw != NULL)
                draw[count] = d;
            count++;
        }
    return count;
}

void bc_run_thicknesses(const bc_run_model *model, const double *draw, double scale, double *thickness_nm)
{
    for (size_t j = 0; j < model->layers; j++) {
        const double relative =
            model->layer_bias[j] * draw[BC_DRAW_OF_BIAS] + model->layer_sigma[j] * draw[bc_draw_of_layer(model, j)];
        const double grown = model->nominal_nm[j] * (1.0 + scale * relative);
        thickness_nm[j] = grown > 0.0 ? grown : 0.0;
    }
}
