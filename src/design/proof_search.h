/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PROOF_SEARCH_H
#define BLOOMCOAT_PROOF_SEARCH_H
/*
 * Boxes of thicknesses, excluded or halved.
 */
#include "proof_bound.h"

/* Every sequence of so many materials in which neighbours differ; sequence[s * layers] lies on the substrate. */
typedef struct bc_sequences {
    size_t layers, count;
    unsigned *material;
} bc_sequences;

typedef struct bc_open_box {
    double low_nm[BC_PROOF_MOST_LAYERS], high_nm[BC_PROOF_MOST_LAYERS];
    double share; /* of all there is to exclude for this number of layers */
    size_t sequence;
    size_t group; /* that excluded its neighbour: tried first */
} bc_open_box;

/* What a search asks of a box. */
typedef struct bc_exclusion {
    const bc_light *light;
    const bc_sequences *sequences;
    double least_nm, total_nm; /* of a layer, of all together */
    double target;             /* exclude what cannot use less */
} bc_exclusion;

/* What one thread needs, and what it finds in one job. */
typedef struct bc_excluder {
    bc_proof_work scratch;
    double *level, *value, *slope[BC_PROOF_MOST_LAYERS]; /* [constraints] */
    bc_arena arena;
    double work; /* samples followed through a layer */
} bc_excluder;

typedef struct bc_search_job {
    bc_open_box *box; /* [room] in: box[0]; out: those left open, to be taken up again from the last */
    size_t boxes, room;
    double most_boxes;
    double looked_at, work, excluded; /* out: boxes, samples through layers, share */
    double unresolved;                /* out: the least bound of boxes too small to halve; INFINITY: none */
    double best;                      /* out: the least limit_used of a centre, on the samples; INFINITY: none */
    double best_nm[BC_PROOF_MOST_LAYERS];
    size_t best_sequence;
} bc_search_job;

bc_status bc_sequences_list(const bc_design_problem *problem, size_t layers, bc_sequences *sequences, bc_error *error);
bc_status bc_excluder_open(const bc_light *light, size_t layers, bc_excluder *excluder, bc_error *error);
void bc_excluder_close(bc_excluder *excluder);

/* A bound on limit_used in the box, and the centre's limit_used on the samples (INFINITY where it was not needed). Ends
 * as soon as the bound is above the target; *group is then the one that has it. */
double bc_box_bound(const bc_exclusion *asked, bc_excluder *excluder, const bc_open_box *box, size_t *group,
                    double *centre);

/* Depth first from box[0], until nothing is open or most_boxes were looked at. */
void bc_search_boxes(const bc_exclusion *asked, bc_excluder *excluder, bc_search_job *job);

#define BC_OPEN_BOXES 512 /* that one job may have open */

#endif
