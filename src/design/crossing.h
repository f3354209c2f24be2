/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CROSSING_H
#define BLOOMCOAT_CROSSING_H
/*
 * The outer layers of one design upon the inner layers of another, which may have fewer layers, and be the same one: so
 * a group of layers is put into a stack, left out, or repeated. Wide-band antireflection stacks of many layers consist
 * of such groups (Dobrowolski, Tikhonravov, Trubetskov, Sullivan and Verly, Appl. Opt. 35, 644 (1996); from memory).
 */
#include "multistart.h"

typedef struct bc_crossing bc_crossing;

/* Parents: the best designs of the searches, of `layers` layers and of fewer. All joints of them may take so much of
 * bc_search_work() to be rated. */
bc_status bc_crossing_alloc(bc_multistart *multistart, size_t layers, double most_rating, bc_crossing **out);
void bc_crossing_free(bc_crossing *crossing);

/* Refine some of the best starts that were not tried yet. Returns how many: 0 when none is left. */
size_t bc_crossing_turn(bc_crossing *crossing);

/* Make parents of what was found since, by whomever. Memory may run out. */
bc_status bc_crossing_take_up(bc_crossing *crossing);

#endif
