/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_LADDER_H
#define BLOOMCOAT_LADDER_H
/*
 * A ladder of designs for this process: for each number of layers the pool is given designs that hold under the errors
 * of a run. A quote and a draft for a process climb the same one.
 */
#include "pool.h"

/* Work that refining for the process may take at effort 1, counted as BC_MOST_WORK is (draft.h): some 20 seconds of two
 * processors. */
#define BC_MOST_LADDER_WORK 3e10

/* Fill the pool with the designs of short searches, few layers first, and climb the ladder where the yield is known; as
 * far as the watch lets it, with an effort of 1 at most and a seed of its own: what it finds depends on nothing else of
 * the request. `proof` (may be NULL): what request->proof asks for. */
bc_status bc_ladder_search(bc_pool *pool, bc_proof *proof, bc_error *error);

/* Once more with the request's seed, as much longer as its effort says. */
bc_status bc_ladder_search_more(bc_pool *pool, bc_error *error);

/* By the calling thread: so much of this part is done. */
void bc_ladder_report(bc_pool *pool, const bc_ladder_part *part, double fraction, double limit_used);

/* For each number of layers, designs of the pool made better for the process: refined under errors, grown by a layer or
 * two, their yield raised; up to `most` layers, within BC_MOST_LADDER_WORK. *enough: so many layers with which no run
 * fails, so that more would bring nothing, and designs with more were left as they are; 0: there are none. What was
 * made of a design before is not made again. */
bc_status bc_ladder_climb(bc_pool *pool, size_t most, const bc_ladder_part *part, size_t *enough, bc_error *error);

#endif
