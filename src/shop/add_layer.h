/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_ADD_LAYER_H
#define BLOOMCOAT_ADD_LAYER_H
/*
 * More layers for a design that is good already: a search that has reached limit_used 0 with few layers has no reason
 * to add one, although a run may have.
 */
#include <bloomcoat/design.h>

/* Room for what bc_add_layer() returns of a stack with so many layers. */
size_t bc_add_layer_most(size_t layers, size_t materials);

/* Every stack with one thin layer more: outside, next to the substrate, between two layers of other materials (one
 * layer more), or in the middle of a layer, which then is two (two more); `more` says which, 1 or 2. Layers that are
 * fixed stay whole. Sets *count of `grown`; each is released with bc_stack_clear(). On failure none is left. */
bc_status bc_add_layer(const bc_design_problem *problem, const bc_stack *stack, size_t more, bc_stack *grown,
                       size_t *count, bc_error *error);

#endif
