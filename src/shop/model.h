/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_RUN_MODEL_H
#define BLOOMCOAT_RUN_MODEL_H
/*
 * What goes wrong in a run: which normal numbers a run draws, and what each does to the layers.
 *
 * Drawn are, in this order: one for the run, one for every material by name, one for every layer in order of
 * deposition. A number is drawn whether or not the process makes use of it, so that the others stay what they are.
 */
#include "arena.h"
#include <bloomcoat/design.h>
#include <bloomcoat/process.h>

typedef struct bc_run_model {
    bc_arena arena;
    bc_design_problem problem; /* with the stack's incident medium and materials, by name */
    bc_medium *medium;         /* problem.material */
    size_t layers, materials, draws;
    unsigned *material;                            /* [layers] from the outer one */
    double *nominal_nm, *layer_bias, *layer_sigma; /* [layers] the errors as fractions */
    double *index_sigma;                           /* [materials] */
} bc_run_model;

bc_status bc_run_model_open(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                            bc_run_model *model, bc_error *error);
void bc_run_model_close(bc_run_model *model);

/* The place of a number among those that are drawn. */
#define BC_DRAW_OF_BIAS ((size_t)0)
size_t bc_draw_of_material(size_t material);
size_t bc_draw_of_layer(const bc_run_model *model, size_t layer);

/* How many numbers change anything; draw, NULL or [draws], is given which, in their order. */
size_t bc_draws_that_count(const bc_run_model *model, size_t *draw);

/* The layers as they come out with every error times `scale`; none is thinner than 0. */
void bc_run_thicknesses(const bc_run_model *model, const double *draw, double scale, double *thickness_nm);

#endif
