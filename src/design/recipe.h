/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_RECIPE_H
#define BLOOMCOAT_RECIPE_H
/*
 * A stack as the optimizer holds it: materials by number, thicknesses, nothing else. Outer layer first.
 */
#include <bloomcoat/design.h>

typedef struct bc_recipe {
    size_t layers, capacity;
    unsigned *material;
    double *thickness_nm;
    bool *fixed;
    double limit_used; /* on the samples it was last refined on; INFINITY before */
    void *memory;
} bc_recipe;

bc_status bc_recipe_alloc(size_t capacity, bc_recipe *recipe, bc_error *error);
void bc_recipe_clear(bc_recipe *recipe);

/* The target's capacity must hold the layers. */
void bc_recipe_copy(const bc_recipe *from, bc_recipe *to);

/* Insert a layer before layer `before`; there must be room. */
void bc_recipe_insert(bc_recipe *recipe, size_t before, unsigned material, double thickness_nm);
void bc_recipe_remove(bc_recipe *recipe, size_t layer);

/* Drop layers that move and are thinner than `thinnest_nm`, and join neighbours of one material. Fixed layers are
 * neither dropped nor joined. Returns whether anything changed. */
bool bc_recipe_tidy(bc_recipe *recipe, double thinnest_nm);

double bc_recipe_total_nm(const bc_recipe *recipe);

/* A list that grows: zero it, and clear it at the end. */
typedef struct bc_recipes {
    size_t count, capacity;
    bc_recipe *recipe;
} bc_recipes;

bc_status bc_recipes_add(bc_recipes *list, const bc_recipe *recipe); /* a copy of it */
void bc_recipes_clear(bc_recipes *list);

/* Fill `stack` (cleared or zero) with the recipe on the problem's first glass. */
bc_status bc_recipe_to_stack(const bc_recipe *recipe, const bc_design_problem *problem, bc_stack *stack,
                             bc_error *error);

/* Share of the thickness of the thicker one where the two differ in material, both laid from the outside; 1 where
 * either has no layers. */
double bc_recipe_distance(const bc_recipe *a, const bc_recipe *b);

/* Whether both have the same materials in the same order, and thicknesses that differ by less than `share` of b in all.
 */
bool bc_recipe_is_near(const bc_recipe *a, const bc_recipe *b, double share);

#endif
