/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_BEST_H
#define BLOOMCOAT_BEST_H
/*
 * The best designs found so far, for every number of layers.
 */
#include "recipe.h"

typedef struct bc_best_of_count {
    size_t count;
    bc_recipe *design; /* [count] best first */
} bc_best_of_count;

typedef struct bc_best {
    size_t max_layers;
    size_t kept;          /* different designs, for one number of layers */
    bc_best_of_count *of; /* [max_layers + 1], by number of layers */
} bc_best;

bc_status bc_best_alloc(size_t max_layers, size_t kept, bc_best *best, bc_error *error);
void bc_best_clear(bc_best *best);

/* Whether two descents ended in one minimum; the designs must have equally many layers. */
bool bc_same_design(const bc_recipe *a, const bc_recipe *b);

/* Keep the recipe if it is one of the best of its number of layers and not there already. Recipes of more than
 * max_layers layers are ignored. */
void bc_best_offer(bc_best *best, const bc_recipe *recipe);

/* The lowest limit_used with at most `layers` layers; INFINITY when there is none yet. */
double bc_best_limit_used(const bc_best *best, size_t layers);

#endif
