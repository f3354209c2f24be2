/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_OBSTACLE_H
#define BLOOMCOAT_OBSTACLE_H
/*
 * Whether a design can be made at all.
 */
#include <bloomcoat/quote.h>

/* The first layer, from outside, that is thinner than the process can control; the stack's number of layers: none. */
size_t bc_thin_layer(const bc_process *process, const bc_stack *stack);

/* Set obstacle and what belongs to it for the recommended option; the verdict is then BC_NOT_FEASIBLE. */
void bc_find_obstacle(const bc_quote_request *request, bc_quote_result *result);

#endif
