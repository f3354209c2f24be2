/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_POLISH_H
#define BLOOMCOAT_POLISH_H
/*
 * From a recipe of the search to a stack that can be handed out: refined once more on the verdict's own samples,
 * rounded to the decimals of a run sheet, and judged as `check` will judge it.
 */
#include "minimax.h"
#include "recipe.h"
#include <bloomcoat/sampling.h>

#define BC_ROUND_NM 0.001

/* Refine `recipe` on the verdict's wavelengths, at few angles and at those where a verdict then finds it worse, round
 * it, and check it; its limit_used is then the verdict's. An engine for every angle of a verdict would cost a stack of
 * forty layers gigabytes. Ends within BC_MOST_REFINEMENT and BC_MOST_BYTES (budget.h), with BC_STOP_BUDGET where that
 * cuts it short. */
bc_status bc_polish(const bc_design_problem *problem, bc_recipe *recipe, size_t *evaluations, bc_stop *stop,
                    bc_error *error);

/* The same under a watch: when it says stop the recipe is rounded and checked as it is (BC_STOP_INTERRUPTED). */
bc_status bc_polish_watched(const bc_design_problem *problem, bc_watch *watch, bc_recipe *recipe, size_t *evaluations,
                            bc_stop *stop, bc_error *error);

/* The problem's limits, with steps for what is to end near where it starts (refine.h). BC_ERROR_INPUT when a material
 * of the layers does not reach the shortest wavelength asked about. */
bc_status bc_near_limits(const bc_design_problem *problem, bc_limits *limits, bc_error *error);

/* limit_used of a recipe as it is, by bc_check() on every glass. */
bc_status bc_judge(const bc_design_problem *problem, const bc_recipe *recipe, double *limit_used, bc_error *error);

/* Only the rounding. */
void bc_round_layers(const bc_design_problem *problem, bc_recipe *recipe);

/* The optical thickness that the verdict's sampling of this recipe, and of what it may become, has to resolve. */
bc_status bc_fringes_to_resolve(const bc_design_problem *problem, const bc_recipe *recipe, bc_fringes *fringes,
                                bc_error *error);

#endif
