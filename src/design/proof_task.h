/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PROOF_TASK_H
#define BLOOMCOAT_PROOF_TASK_H
/*
 * The proof for one number of layers: rounds of boxes on all threads, and what is learned between them.
 */
#include "proof_search.h"
#include <bloomcoat/proof.h>

#define BC_PROOF_MOST_SPOTS 48
#define BC_PROOF_ROUNDING   1e-9

typedef struct bc_proof_task {
    const bc_design_problem *problem; /* with the proof's own total */
    const bc_proof_options *options;
    bc_proof *proof;
    bc_proof_step *step;
    bc_light light;
    bc_sequences sequences;
    bc_light_spot extra_sample[BC_PROOF_MOST_SPOTS];
    size_t extra_samples, threads;
    bc_excluder *excluder; /* [threads] */
    bc_search_job *job;
    bc_open_box *open;
    size_t opened, capacity;
    double aim; /* share of the best limit_used to be proved */
    double cap; /* what the samples, or absorption, allow at most; INFINITY: as much as asked */
    double target;
    double boxes, work, excluded, unresolved;
    bool cancelled, ended_early;
    bc_error *error;
} bc_proof_task;

/* Exclude all boxes of so many layers, as far as the options let it; fills the step. */
bc_status bc_proof_layers(bc_proof_task *t, size_t layers, bc_error *error);
void bc_proof_task_close(bc_proof_task *t);

#endif
