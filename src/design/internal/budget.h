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

/* The same of what would be laid out. */
bc_status bc_looks_bytes(const bc_design_problem *problem, size_t max_layers, const bc_sampling_extras *extras,
                         double *bytes, bc_error *error);

/* BC_ERROR_INPUT, in words, for more than BC_MOST_BYTES. */
bc_status bc_refuse_bytes(double bytes, size_t layers, bc_error *error);

#endif
