/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_STARTS_H
#define BLOOMCOAT_STARTS_H
/*
 * Where one round of a search begins: fresh designs, and moved ones.
 */
#include "multistart.h"

#define BC_GIVE_UP 2.0 /* a first descent that ends this far above the best is left there */

/* Fill all tasks of the search for a round at `layers` layers. */
void bc_starts_make(bc_multistart *d, const bc_best *own, size_t layers, size_t round);

#endif
