/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_BUDGET_H
#define BLOOMCOAT_BUDGET_H
/*
 * What a merit may take: memory, and work. Both are counted and no clock or free memory is asked, so that the same
 * question has the same answer on every machine.
 */
#include "segments.h"

/* Of one merit, and of those of all threads together as long as there is more than one. */
#define BC_MOST_BYTES 2e9

/* The work of one descent on the verdict's samples with all its rounds, and of each on the search's, counted as
 * BC_MOST_WORK is (draft.h): about a minute of one processor. Some fifty layers at ten angles stay below. */
#define BC_MOST_REFINEMENT 5e10

/* What the engines, and the arrays beside them, take for `max_layers` layers of `materials` materials. */
double bc_segments_bytes(const bc_segments *segments, size_t materials, size_t max_layers, bool values_only);

/* The same of what would be laid out. */
bc_status bc_looks_bytes(const bc_design_problem *problem, size_t max_layers, const bc_sampling_extras *extras,
                         double *bytes, bc_error *error);

/* BC_ERROR_INPUT, in words, for more than BC_MOST_BYTES. */
bc_status bc_refuse_bytes(double bytes, size_t layers, bc_error *error);

/* As many of `threads` as may each have a merit like this one; at least 1. */
size_t bc_merit_threads(const bc_merit *merit, size_t threads);

/* Of one evaluation of so many layers with their slopes. */
double bc_merit_work(const bc_merit *merit, size_t layers);

/* Of one evaluation without slopes, counted in the same way as those of a run are bounded (BC_MOST_YIELD_WORK). */
double bc_merit_value_work(const bc_merit *merit, size_t layers);

/* The steps of a descent that `work` suffices for, from 1 to `most`. */
unsigned bc_merit_steps(const bc_merit *merit, size_t layers, double work, unsigned most);

#endif
