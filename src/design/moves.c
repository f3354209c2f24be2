/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "moves.h"
#include <gsl/gsl_randist.h>
#include <math.h>

static unsigned other_material(const bc_palette *palette, gsl_rng *rng, unsigned not_this)
{
    unsigned material;
    if (palette->materials < 2)
        return 0;
    material = (unsigned)gsl_rng_uniform_int(rng, palette->materials - 1);
    return material >= not_this ? material + 1 : material;
}

/* A layer that moves, or `layers` when there is none. */
static size_t pick_layer(gsl_rng *rng, const bc_recipe *recipe)
{
    size_t moving = 0, chosen;
    for (size_t j = 0; j < recipe->layers; j++)
        moving += !recipe->fixed[j];
    if (moving == 0)
        return recipe->layers;
    chosen = gsl_rng_uniform_int(rng, moving);
    for (size_t j = 0; j < recipe->layers; j++)
        if (!recipe->fixed[j] && chosen-- == 0)
            return j;
    return recipe->layers;
}

void bc_move_random(const bc_palette *palette, gsl_rng *rng, size_t layers, bc_recipe *recipe)
{
    /* Some problems want thin stacks, some thick ones: no start should say which. */
    const double scale = exp(gsl_ran_gaussian(rng, 0.4));
    recipe->layers = layers;
    for (size_t j = 0; j < layers; j++) {
        const unsigned material = j == 0 ? (unsigned)gsl_rng_uniform_int(rng, palette->materials)
                                         : other_material(palette, rng, recipe->material[j - 1]);
        /* Good coatings are mostly layers well below a quarter wave, with a few thick ones. */
        const double quarters = scale * 2.2 * pow(gsl_rng_uniform(rng), 1.7);
        recipe->material[j] = material;
        recipe->fixed[j] = false;
        recipe->thickness_nm[j] = fmax(palette->limits.lower_nm, quarters * palette->quarter_nm[material]);
    }
}

void bc_move_shake(const bc_palette *palette, gsl_rng *rng, double spread, bc_recipe *recipe)
{
    for (size_t j = 0; j < recipe->layers; j++)
        if (!recipe->fixed[j])
            recipe->thickness_nm[j] =
                fmax(palette->limits.lower_nm, recipe->thickness_nm[j] * exp(gsl_ran_gaussian(rng, spread)));
}

void bc_move_material(const bc_palette *palette, size_t layer, unsigned material, bc_recipe *recipe)
{
    const double quarters = recipe->thickness_nm[layer] / palette->quarter_nm[recipe->material[layer]];
    recipe->material[layer] = material;
    recipe->thickness_nm[layer] = fmax(palette->limits.lower_nm, quarters * palette->quarter_nm[material]);
    bc_recipe_tidy(recipe, 0.0);
}

void bc_move_swap(const bc_palette *palette, gsl_rng *rng, bc_recipe *recipe)
{
    const size_t j = pick_layer(rng, recipe);
    if (j < recipe->layers && palette->materials > 1)
        bc_move_material(palette, j, other_material(palette, rng, recipe->material[j]), recipe);
}

void bc_move_drop(gsl_rng *rng, bc_recipe *recipe)
{
    const size_t a = pick_layer(rng, recipe), b = pick_layer(rng, recipe);
    if (a == recipe->layers || recipe->layers < 2)
        return;
    bc_recipe_remove(recipe, recipe->thickness_nm[a] < recipe->thickness_nm[b] ? a : b);
    bc_recipe_tidy(recipe, 0.0);
}

void bc_move_half_wave(const bc_palette *palette, gsl_rng *rng, bc_recipe *recipe)
{
    const size_t j = pick_layer(rng, recipe);
    double half;
    if (j == recipe->layers)
        return;
    half = 2.0 * palette->quarter_nm[recipe->material[j]];
    if (recipe->thickness_nm[j] > half + palette->limits.lower_nm)
        recipe->thickness_nm[j] -= half;
    else
        recipe->thickness_nm[j] += half;
}

void bc_move_cut_in(const bc_palette *palette, gsl_rng *rng, bc_recipe *recipe)
{
    const size_t j = pick_layer(rng, recipe);
    const double share = gsl_rng_uniform(rng);
    double whole;
    unsigned around, material;
    if (j == recipe->layers || palette->materials < 2)
        return;
    whole = recipe->thickness_nm[j];
    around = recipe->material[j];
    material = other_material(palette, rng, around);
    recipe->thickness_nm[j] = whole * share;
    bc_recipe_insert(recipe, j + 1, material,
                     fmax(palette->limits.lower_nm, 0.3 * gsl_rng_uniform(rng) * palette->quarter_nm[material]));
    bc_recipe_insert(recipe, j + 2, around, whole * (1.0 - share));
    bc_recipe_tidy(recipe, 0.0);
}
