/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "neighbours.h"
#include <math.h>

#define EXCHANGES 3 /* places tried for a layer that was taken out */
#define GROWTHS   8 /* places tried for one layer more */
#define ADDED     2 /* thicknesses of a layer put between two: one quarter wave, and two */

static void remove_layer(bc_recipe *recipe, size_t layer)
{
    if (recipe->fixed[layer])
        return;
    bc_recipe_remove(recipe, layer);
    bc_recipe_tidy(recipe, 0.0);
}

static void change_material(const bc_palette *palette, const bc_recipe *design, size_t number, bc_recipe *recipe)
{
    const size_t others = palette->materials - 1, layer = number / others;
    const unsigned material = (unsigned)(number % others);
    if (!design->fixed[layer])
        bc_move_material(palette, layer, material + (material >= design->material[layer]), recipe);
}

/* The first half of the numbers adds a half wave, the other takes one away where there is so much. */
static void change_half_wave(const bc_palette *palette, size_t number, bc_recipe *recipe)
{
    const size_t layer = number % recipe->layers;
    const double half = 2.0 * palette->quarter_nm[recipe->material[layer]];
    double *thickness = &recipe->thickness_nm[layer];
    if (recipe->fixed[layer])
        return;
    if (number < recipe->layers)
        *thickness += half;
    else if (*thickness > half)
        *thickness = fmax(*thickness - half, palette->limits.lower_nm);
}

static void add_layer(const bc_palette *palette, size_t number, bc_recipe *recipe)
{
    const unsigned material = (unsigned)(number / ADDED % palette->materials);
    const size_t before = number / (ADDED * palette->materials);
    const double thickness = (double)(1 + number % ADDED) * palette->quarter_nm[material];
    bc_recipe_insert(recipe, before, material, fmax(thickness, palette->limits.lower_nm));
    bc_recipe_tidy(recipe, 0.0);
}

bool bc_neighbour(const bc_palette *palette, const bc_recipe *design, bool wide, size_t number, bc_task *task)
{
    const size_t layers = design->layers;
    const size_t kinds[] = {layers * (palette->materials - 1),
                            layers * EXCHANGES,
                            GROWTHS,
                            wide ? 2 * layers : 0,
                            wide ? (layers + 1) * palette->materials * ADDED : 0,
                            wide ? layers : 0};
    size_t kind = 0;
    while (kind < sizeof kinds / sizeof *kinds && number >= kinds[kind])
        number -= kinds[kind++];
    bc_recipe_copy(design, &task->recipe);
    task->grow = -1;
    switch (kind) {
    case 0:
        change_material(palette, design, number, &task->recipe);
        return true;
    case 1:
        task->grow = (int)(number % EXCHANGES);
        remove_layer(&task->recipe, number / EXCHANGES);
        return true;
    case 2:
        task->grow = (int)number;
        return true;
    case 3:
        change_half_wave(palette, number, &task->recipe);
        return true;
    case 4:
        add_layer(palette, number, &task->recipe);
        return true;
    case 5:
        remove_layer(&task->recipe, number);
        return true;
    default:
        return false;
    }
}
