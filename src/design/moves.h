/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MOVES_H
#define BLOOMCOAT_MOVES_H
/*
 * How one design becomes the start of another. Every move leaves fixed layers alone and draws from the generator it is
 * given, so that a start depends on the seed and its number, never on the thread that runs it.
 */
#include "minimax.h"
#include "recipe.h"
#include <gsl/gsl_rng.h>

#define BC_PIECES 4 /* places tried inside each layer, its outer face included */

typedef struct bc_palette {
    size_t materials;
    const double *quarter_nm; /* [materials] thickness of a quarter wave in the middle of the bands */
    bc_limits limits;
} bc_palette;

/* `layers` layers of random materials and thicknesses up to a half wave or so. */
void bc_move_random(const bc_palette *palette, gsl_rng *rng, size_t layers, bc_recipe *recipe);

/* Every layer that moves is scaled by a random factor of spread `spread` (lognormal). */
void bc_move_shake(const bc_palette *palette, gsl_rng *rng, double spread, bc_recipe *recipe);

/* One layer is made of another material, optically as thick, and joined to neighbours of that material. */
void bc_move_material(const bc_palette *palette, size_t layer, unsigned material, bc_recipe *recipe);

/* The same with a layer and a material drawn at random. */
void bc_move_swap(const bc_palette *palette, gsl_rng *rng, bc_recipe *recipe);

/* One layer, a thin one more likely, is taken out and its neighbours joined. */
void bc_move_drop(gsl_rng *rng, bc_recipe *recipe);

/* A half wave more, or less, in one layer: absent at one wavelength, and often the way to a wider band. */
void bc_move_half_wave(const bc_palette *palette, gsl_rng *rng, bc_recipe *recipe);

/* A layer of random material at a random place inside another. Needs room for two more layers. */
void bc_move_cut_in(const bc_palette *palette, gsl_rng *rng, bc_recipe *recipe);

/* A layer of random material and thickness between two, or outside. Needs room for one more layer. */
void bc_move_add(const bc_palette *palette, gsl_rng *rng, bc_recipe *recipe);

/* The `kept` outer layers of the recipe upon as many of the inner layers of another as make `layers` of them at most.
 * Nothing where either has fixed layers, or the recipe not so many layers. */
void bc_cross(const bc_recipe *other, size_t kept, size_t layers, bc_recipe *recipe);

/* The same with a random number of outer layers; nothing where the other is NULL. */
void bc_move_cross(gsl_rng *rng, const bc_recipe *other, size_t layers, bc_recipe *recipe);

/* Insertion of a layer where the merit falls fastest (the idea: Tikhonravov, Trubetskov and DeBell, Appl. Opt. 35, 5493
 * (1996)): at a minimax optimum d t / d thickness of a new layer is sum(z du) with the multipliers z. Insert one layer
 * at the `choice`-th best place of `recipe` (0: the best), a thin one at first. The recipe needs room for two more
 * layers, `merit` for BC_PIECES times as many. Returns false when no such place lowers the merit. The optimizer must
 * hold the multipliers of a minimax of this very recipe. */
bool bc_insert_best(bc_optimizer *optimizer, bc_merit *merit, size_t materials, double thickness_nm, size_t choice,
                    bc_recipe *split, bc_recipe *recipe);

#endif
