/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "insertion.h"
#include <math.h>

#define MOST_CHOICES 8

typedef struct place {
    double slope; /* of t with the new layer's thickness; negative is good */
    size_t piece; /* of the cut-up stack, on whose outer face the layer would lie */
    unsigned material;
} place;

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
