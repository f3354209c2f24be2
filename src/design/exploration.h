/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_EXPLORATION_H
#define BLOOMCOAT_EXPLORATION_H
/*
 * What all searches found, together: their ends are crossed with each other, and the neighbours of every good design
 * are looked at, best first and each only once, so that a narrow valley beside one that most searches end in is found.
 */
#include "multistart.h"

#define BC_EXPLORATION 1.5 /* work of the exploration, over that of the searches */

/* Look at every neighbour (neighbours.h) of a design, and offer what comes of it to `own` and to the best of all.
 * Returns whether `own` has a better design of up to `layers` layers then. */
bool bc_explore(bc_multistart *multistart, const bc_recipe *design, bool wide, size_t layers, bc_best *own);

/* Explore designs of `layers` layers, and of one less, until none is left within reach or `work` more is done
 * (bc_search_work()). `decides`: a draft of so many layers is asked for, which is worth more looks. `expected` is the
 * work that the progress expects of it. Sets multistart->failed where memory runs out. */
void bc_explore_all(bc_multistart *multistart, size_t layers, bool decides, double work, double expected);

#endif
