/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_NEIGHBOURS_H
#define BLOOMCOAT_NEIGHBOURS_H
/*
 * What differs from a design in one thing: every neighbour has its number, so that all of them can be looked at.
 */
#include "search.h"

/* Make neighbour number `number` of the design the start of a task: one layer of another material, one layer taken out
 * and another put in where the merit falls fastest, or one put in; `wide`: also a half wave more or less in one layer,
 * a quarter or a half wave of any material between any two, or one layer less. Returns false past the last of them. */
bool bc_neighbour(const bc_palette *palette, const bc_recipe *design, bool wide, size_t number, bc_task *task);

#endif
