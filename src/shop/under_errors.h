/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_UNDER_ERRORS_H
#define BLOOMCOAT_UNDER_ERRORS_H
/*
 * A design that holds under the errors of a run.
 */
#include "watch.h"
#include <bloomcoat/process.h>
#include <bloomcoat/refine.h>

/* Refine so that the largest limit_used is smallest under single errors of `spread` standard deviations, both ways, as
 * well: of the drift of the run, of each layer, of each material's index. (bc_refine_scenarios(); the limits may all be
 * made larger or smaller by one factor without changing the result.) What comes out where `watch` (may be NULL) says
 * stop is no worse than a start, and no more. */
bc_status bc_refine_under_errors(const bc_design_problem *problem, const bc_process *process, double spread,
                                 bc_thread_watch *watch, bc_stack *stack, bc_error *error);

#endif
