/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_LADDER_H
#define BLOOMCOAT_LADDER_H
/*
 * The best designs found so far, for every number of layers.
 */
#include "recipe.h"

#define BC_ELITE 6 /* different designs kept for one number of layers */

typedef struct bc_step {
    size_t count;
    bc_recipe elite[BC_ELITE]; /* best first */
} bc_step;

typedef struct bc_ladder {
    size_t max_layers;
    bc_step *step; /* [max_layers + 1], by number of layers */
} bc_ladder;

bc_status bc_ladder_alloc(size_t max_layers, bc_ladder *ladder, bc_error *error);
void bc_ladder_clear(bc_ladder *ladder);

/* Keep the recipe if it is one of the best of its number of layers and not there already. Recipes of more than
 * max_layers layers are ignored. */
void bc_ladder_offer(bc_ladder *ladder, const bc_recipe *recipe);

/* The lowest limit_used with at most `layers` layers; INFINITY when there is none yet. */
double bc_ladder_best(const bc_ladder *ladder, size_t layers);

#endif
