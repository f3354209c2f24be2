/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "moves.h"
#include <gsl/gsl_randist.h>
#include <math.h>

#define MOST_CHOICES 8

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

typedef struct place {
    double slope; /* of t with the new layer's thickness; negative is good */
    size_t piece; /* of the cut-up stack, on whose outer face the layer would lie */
    unsigned material;
} place;

void bc_move_add(const bc_palette *palette, gsl_rng *rng, bc_recipe *recipe)
{
    const size_t before = gsl_rng_uniform_int(rng, recipe->layers + 1);
    const unsigned material = (unsigned)gsl_rng_uniform_int(rng, palette->materials);
    const double quarters = 2.2 * pow(gsl_rng_uniform(rng), 1.3);
    bc_recipe_insert(recipe, before, material,
                     fmax(palette->limits.lower_nm, quarters * palette->quarter_nm[material]));
    bc_recipe_tidy(recipe, 0.0);
}

static bool any_fixed(const bc_recipe *recipe)
{
    for (size_t j = 0; j < recipe->layers; j++)
        if (recipe->fixed[j])
            return true;
    return false;
}

void bc_cross(const bc_recipe *other, size_t kept, size_t layers, bc_recipe *recipe)
{
    size_t taken;
    if (kept > recipe->layers || any_fixed(recipe) || any_fixed(other))
        return;
    taken = layers > kept ? layers - kept : 0;
    taken = taken < other->layers ? taken : other->layers;
    recipe->layers = kept;
    for (size_t j = other->layers - taken; j < other->layers; j++)
        bc_recipe_insert(recipe, recipe->layers, other->material[j], other->thickness_nm[j]);
    bc_recipe_tidy(recipe, 0.0);
}

void bc_move_cross(gsl_rng *rng, const bc_recipe *other, size_t layers, bc_recipe *recipe)
{
    if (other != NULL && recipe->layers > 0)
        bc_cross(other, 1 + gsl_rng_uniform_int(rng, recipe->layers), layers, recipe);
}

/* Cut every layer into equal pieces, so that the fields inside it are at hand. Fixed layers stay whole. */
static void cut_up(const bc_recipe *recipe, bc_recipe *split)
{
    split->layers = 0;
    for (size_t j = 0; j < recipe->layers; j++) {
        const size_t pieces = recipe->fixed[j] ? 1 : BC_PIECES;
        for (size_t k = 0; k < pieces; k++) {
            split->material[split->layers] = recipe->material[j];
            split->fixed[split->layers] = recipe->fixed[j];
            split->thickness_nm[split->layers++] = recipe->thickness_nm[j] / (double)pieces;
        }
    }
}

static void note(place *places, size_t *count, place found)
{
    size_t at = *count;
    while (at > 0 && found.slope < places[at - 1].slope)
        at--;
    if (at == MOST_CHOICES)
        return;
    *count += *count < MOST_CHOICES;
    for (size_t k = *count - 1; k > at; k--)
        places[k] = places[k - 1];
    places[at] = found;
}

static bool next_to_itself(const bc_recipe *split, size_t piece, unsigned material)
{
    return (piece < split->layers && split->material[piece] == material) ||
           (piece > 0 && split->material[piece - 1] == material);
}

/* Put the layer into the whole stack, between or inside layers. */
static void insert_at(const place *chosen, const bc_recipe *split, double thickness_nm, bc_recipe *recipe)
{
    size_t layer = 0, first = 0, pieces;
    double above = 0.0;
    for (;;) {
        pieces = layer < recipe->layers && !recipe->fixed[layer] ? BC_PIECES : 1;
        if (layer == recipe->layers || chosen->piece < first + pieces)
            break;
        first += pieces;
        layer++;
    }
    for (size_t k = first; k < chosen->piece; k++)
        above += split->thickness_nm[k];
    if (above > 0.0) {
        const unsigned around = recipe->material[layer];
        const double below = recipe->thickness_nm[layer] - above;
        recipe->thickness_nm[layer] = above;
        bc_recipe_insert(recipe, layer + 1, chosen->material, thickness_nm);
        bc_recipe_insert(recipe, layer + 2, around, below);
    } else {
        bc_recipe_insert(recipe, layer, chosen->material, thickness_nm);
    }
}

bool bc_insert_best(bc_optimizer *optimizer, bc_merit *merit, size_t materials, double thickness_nm, size_t choice,
                    bc_recipe *split, bc_recipe *recipe)
{
    place places[MOST_CHOICES];
    size_t count = 0;
    const double *z = bc_minimax_multipliers(optimizer);
    cut_up(recipe, split);
    bc_merit_evaluate(merit, split->layers, split->material, split->thickness_nm, true);
    for (size_t piece = 0; piece <= split->layers; piece++) {
        for (unsigned m = 0; m < materials; m++) {
            if (!next_to_itself(split, piece, m)) {
                const place found = {bc_merit_insertion(merit, z, piece, m), piece, m};
                if (found.slope < 0.0)
                    note(places, &count, found);
            }
        }
    }
    if (choice >= count)
        return false;
    insert_at(&places[choice], split, thickness_nm, recipe);
    return true;
}
