/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_OPTIMIZER_H
#define BLOOMCOAT_OPTIMIZER_H
/*
 * The workspace that least squares and minimax share: which layers move, and the normal matrix of their steps.
 */
#include "arena.h"
#include "minimax.h"

struct bc_optimizer {
    bc_arena arena;
    size_t max_layers, constraints;
    bc_limits limits;
    bc_watch *watch;
    bool asks;
    size_t moving;   /* layers that are not fixed */
    size_t *layer;   /* [moving] their places in the recipe */
    size_t layers;   /* all of them */
    double fixed_nm; /* thickness of the rest */
    double *x, *y, *saved;
    double *z, *ratio, *push, *along; /* [constraints] */
    double *coupling, *pull;          /* [moving] */
    double *per_layer;                /* [layers] */
    double *all;                      /* [layers * layers] */
    double *system, *rhs;             /* [(moving + 1)^2], [moving + 1] */
    double *gram;
};

void bc_optimizer_choose(bc_optimizer *optimizer, const bc_limits *limits, const bc_recipe *recipe);

/* Whether the watch says stop. */
bool bc_optimizer_stopped(const bc_optimizer *optimizer);

/* Set the upper left corner of the (moving + 1)-wide system to the Hessian of sum(z u); the rest to zero. */
void bc_optimizer_hessian(bc_optimizer *optimizer, bc_merit *merit, const double *z);

/* target[j] = sum_c weight[c] slope_j[c] for every layer that moves. */
void bc_optimizer_pull(bc_optimizer *optimizer, bc_merit *merit, const double *weight, double *target);

/* target[c] = the change of u[c] when the layers that move change by move[j]. */
void bc_optimizer_along(bc_optimizer *optimizer, bc_merit *merit, const double *move, double *target);

/* Add sum_c weight[c] slope slope^T to that corner. */
void bc_optimizer_add_slopes(bc_optimizer *optimizer, bc_merit *merit, const double *weight);

#endif
