/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recipe.h"
#include "arena.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

bc_status bc_recipe_alloc(size_t capacity, bc_recipe *recipe, bc_error *error)
{
    bc_arena arena = {0};
    memset(recipe, 0, sizeof *recipe);
    for (int pass = 0; pass < 2; pass++) {
        recipe->material = bc_arena_take(&arena, capacity, sizeof *recipe->material);
        recipe->thickness_nm = bc_arena_take(&arena, capacity, sizeof *recipe->thickness_nm);
        recipe->fixed = bc_arena_take(&arena, capacity, sizeof *recipe->fixed);
        if (pass == 0 && bc_arena_open(&arena, error) != BC_OK)
            return BC_ERROR_MEMORY;
    }
    recipe->memory = arena.memory;
    recipe->capacity = capacity;
    recipe->limit_used = INFINITY;
    return BC_OK;
}

void bc_recipe_clear(bc_recipe *recipe)
{
    free(recipe->memory);
    memset(recipe, 0, sizeof *recipe);
}

void bc_recipe_copy(const bc_recipe *from, bc_recipe *to)
{
    to->layers = from->layers;
    to->limit_used = from->limit_used;
    memcpy(to->material, from->material, from->layers * sizeof *from->material);
    memcpy(to->thickness_nm, from->thickness_nm, from->layers * sizeof *from->thickness_nm);
    memcpy(to->fixed, from->fixed, from->layers * sizeof *from->fixed);
}

bc_status bc_recipes_add(bc_recipes *list, const bc_recipe *recipe)
{
    bc_status status;
    if (list->count == list->capacity) {
        const size_t capacity = 2 * list->capacity + 16;
        bc_recipe *more = realloc(list->recipe, capacity * sizeof *more);
        if (more == NULL)
            return BC_ERROR_MEMORY;
        list->recipe = more;
        list->capacity = capacity;
    }
    status = bc_recipe_alloc(recipe->layers + 1, &list->recipe[list->count], NULL);
    if (status == BC_OK)
        bc_recipe_copy(recipe, &list->recipe[list->count++]);
    return status;
}

void bc_recipes_clear(bc_recipes *list)
{
    for (size_t k = 0; k < list->count; k++)
        bc_recipe_clear(&list->recipe[k]);
    free(list->recipe);
    memset(list, 0, sizeof *list);
}

/* Move the layers from `from` on by one place, up or down. */
static void shift(bc_recipe *recipe, size_t from, size_t to)
{
    const size_t moved = recipe->layers - from;
    memmove(recipe->material + to, recipe->material + from, moved * sizeof *recipe->material);
    memmove(recipe->thickness_nm + to, recipe->thickness_nm + from, moved * sizeof *recipe->thickness_nm);
    memmove(recipe->fixed + to, recipe->fixed + from, moved * sizeof *recipe->fixed);
    recipe->layers = to + moved;
}

void bc_recipe_insert(bc_recipe *recipe, size_t before, unsigned material, double thickness_nm)
{
    shift(recipe, before, before + 1);
    recipe->material[before] = material;
    recipe->thickness_nm[before] = thickness_nm;
    recipe->fixed[before] = false;
}

void bc_recipe_remove(bc_recipe *recipe, size_t layer)
{
    shift(recipe, layer + 1, layer);
}

bool bc_recipe_tidy(bc_recipe *recipe, double thinnest_nm)
{
    bool changed = false;
    for (size_t j = 0; j < recipe->layers;) {
        if (!recipe->fixed[j] && recipe->thickness_nm[j] < thinnest_nm) {
            bc_recipe_remove(recipe, j);
            changed = true;
        } else {
            j++;
        }
    }
    for (size_t j = 0; j + 1 < recipe->layers;) {
        if (recipe->material[j] == recipe->material[j + 1] && !recipe->fixed[j] && !recipe->fixed[j + 1]) {
            recipe->thickness_nm[j] += recipe->thickness_nm[j + 1];
            bc_recipe_remove(recipe, j + 1);
            changed = true;
        } else {
            j++;
        }
    }
    return changed;
}

double bc_recipe_total_nm(const bc_recipe *recipe)
{
    double total = 0.0;
    for (size_t j = 0; j < recipe->layers; j++)
        total += recipe->thickness_nm[j];
    return total;
}

bc_status bc_recipe_to_stack(const bc_recipe *recipe, const bc_design_problem *problem, bc_stack *stack,
                             bc_error *error)
{
    const bc_status status = bc_stack_alloc(recipe->layers, stack, error);
    if (status != BC_OK)
        return status;
    stack->incident = problem->incident;
    stack->substrate = problem->substrate[0];
    for (size_t j = 0; j < recipe->layers; j++)
        stack->layer[j] = (bc_layer){.material = problem->material[recipe->material[j]],
                                     .thickness_nm = recipe->thickness_nm[j],
                                     .fixed = recipe->fixed[j]};
    return BC_OK;
}

bool bc_recipe_is_near(const bc_recipe *a, const bc_recipe *b, double share)
{
    double differ = 0.0;
    if (a->layers != b->layers)
        return false;
    for (size_t j = 0; j < a->layers; j++) {
        if (a->material[j] != b->material[j])
            return false;
        differ += fabs(a->thickness_nm[j] - b->thickness_nm[j]);
    }
    return differ < share * bc_recipe_total_nm(b);
}

double bc_recipe_distance(const bc_recipe *a, const bc_recipe *b)
{
    const double thicker = fmax(bc_recipe_total_nm(a), bc_recipe_total_nm(b));
    double same = 0.0, at = 0.0, a_end = 0.0, b_end = 0.0;
    size_t i = 0, j = 0;
    if (a->layers == 0 || b->layers == 0)
        return 1.0;
    while (i < a->layers && j < b->layers) {
        const double a_next = a_end + a->thickness_nm[i], b_next = b_end + b->thickness_nm[j];
        const double to = fmin(a_next, b_next);
        if (a->material[i] == b->material[j])
            same += to - at;
        at = to;
        if (a_next <= to) {
            a_end = a_next;
            i++;
        }
        if (b_next <= to) {
            b_end = b_next;
            j++;
        }
    }
    return 1.0 - same / thicker;
}
