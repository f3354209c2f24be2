/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_INSERTION_H
#define BLOOMCOAT_INSERTION_H
/*
 * Insertion of a layer where the merit falls fastest (the idea: Tikhonravov, Trubetskov and DeBell, Appl. Opt. 35, 5493
 * (1996)). At a minimax optimum d t / d thickness of a new layer is sum(z du) with the multipliers z.
 */
#include "minimax.h"
#include "recipe.h"

#define BC_PIECES 4 /* places tried inside each layer, its outer face included */

/* Insert one layer at the `choice`-th best place of `recipe` (0: the best), a thin one at first. The recipe needs room
 * for two more layers, `merit` for BC_PIECES times as many. Returns false when no such place lowers the merit. The
 * optimizer must hold the multipliers of a minimax of this very recipe. */
bool bc_insert_best(bc_optimizer *optimizer, bc_merit *merit, size_t materials, double thickness_nm, size_t choice,
                    bc_recipe *split, bc_recipe *recipe);

#endif
