/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_KNOWN_YIELD_H
#define BLOOMCOAT_KNOWN_YIELD_H
/*
 * Between which bounds a yield is known when the process is known by some runs only: the yields of processes drawn as
 * in process_draw.h, each by the same runs of a response surface (response.h) that is fitted over the errors of all of
 * them. They are corrected by what the process as the file has it comes out at beside its simulated yield.
 */
#include "estimate.h"

/* `yield`: of these figures, as simulated. `watch` may be NULL; where it says stop, nothing is known. */
bc_status bc_known_yield_find(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                              double yield, size_t threads, bc_thread_watch *watch, bc_known_yield *known,
                              bc_error *error);

/* Runs of each of the 1023 processes, 2^m - 1 from 255 to 1023: as many as a surface of so many monomials and samples
 * is predicted for in a second or two. */
size_t bc_known_yield_runs(size_t monomials, size_t kept);

#endif
