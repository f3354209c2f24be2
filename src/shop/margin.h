/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MARGIN_H
#define BLOOMCOAT_MARGIN_H
/*
 * How far a design is from failing, in standard deviations of its own errors, if those are small.
 */
#include <bloomcoat/design.h>
#include <bloomcoat/process.h>

/* The smallest (1 - u) / sigma_u over the search's samples, with sigma_u from the slopes: layers independent, the bias
 * common, every material's index once. INFINITY when nothing varies and the design is good; negative when it fails. */
bc_status bc_linear_margin(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                           double *margin, bc_error *error);

#endif
