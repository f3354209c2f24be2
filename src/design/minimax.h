/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MINIMAX_H
#define BLOOMCOAT_MINIMAX_H
/*
 * The smallest largest limit_used: a local minimax over the thicknesses.
 *
 *     minimize t   subject to   u_c(x) <= t,   x_j >= lower,   sum x <= most
 *
 * by a primal-dual interior-point method (Nocedal and Wright, Numerical Optimization, 2nd ed., ch. 19). Each step
 * solves one least-squares system whose weights have moved to the constraints nearest to the worst; the Hessian of the
 * Lagrangian is Gauss-Newton's (merit.h). Slacks t - u are kept exact and positive, so every iterate is a design that
 * could be returned.
 */
#include "merit.h"
#include "recipe.h"
#include "watch.h"

typedef struct bc_limits {
    double lower_nm; /* of every layer that moves */
    double most_nm;  /* of all layers together; INFINITY for none */
    double step_nm;  /* that one layer may move in one step; INFINITY for as far as the model says */
} bc_limits;

typedef struct bc_optimizer bc_optimizer;

/* Workspace for up to max_layers layers and the constraints of `merit`. */
bc_status bc_optimizer_alloc(size_t max_layers, size_t constraints, bc_optimizer **out, bc_error *error);
void bc_optimizer_free(bc_optimizer *optimizer);

/* From now on a descent ends, where it stands, when the watch says stop. `asks`: this optimizer is the calling
 * thread's, and asks the caller's progress between two steps. `watch` may be NULL. */
void bc_optimizer_watch(bc_optimizer *optimizer, bc_watch *watch, bool asks);

/* Lower the largest u of `recipe` from where it is; layers under the lower bound are lifted onto it first. Returns why
 * it stopped; recipe->limit_used is the largest u. `tolerance` is the duality gap as a share of t. */
bc_stop bc_minimax(bc_optimizer *optimizer, bc_merit *merit, const bc_limits *limits, bc_recipe *recipe,
                   unsigned max_steps, double tolerance);

/* The multipliers of the last minimax: how much each constraint holds t up; they add up to 1. */
const double *bc_minimax_multipliers(const bc_optimizer *optimizer);

/* Gauss-Newton least squares on sum of u (each u a sum of squares), Levenberg-Marquardt damped, thicknesses folded at
 * their lower bound: the quick way from a rough start into a valley. BC_OK, or BC_ERROR_MEMORY
 * with the recipe as it was. */
bc_status bc_least_squares(bc_optimizer *optimizer, bc_merit *merit, const bc_limits *limits, bc_recipe *recipe,
                           unsigned max_steps);

#endif
