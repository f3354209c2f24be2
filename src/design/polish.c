/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "polish.h"
#include "minimax.h"
#include <bloomcoat/sampling.h>
#include <math.h>

#define STEPS     120
#define TOLERANCE 1e-6

bc_status bc_problem_check(const bc_design_problem *problem, const bc_stack *stack, bc_check_result *result,
                           bc_error *error)
{
    return bc_check_zones(stack, problem->callouts, problem->substrates, problem->substrate, &problem->back,
                          problem->zones, problem->zone, result, error);
}

bc_status bc_judge(const bc_design_problem *problem, const bc_recipe *recipe, double *limit_used, bc_error *error)
{
    bc_stack stack = {0};
    bc_check_result result;
    bc_status status = bc_recipe_to_stack(recipe, problem, &stack, error);
    if (status != BC_OK)
        return status;
    status = bc_problem_check(problem, &stack, &result, error);
    if (status == BC_OK) {
        *limit_used = result.limit_used;
        bc_check_result_clear(&result);
    }
    bc_stack_clear(&stack);
    return status;
}

/* Sampling must resolve the fringes of the stack as it may become: half as thick again as it is. */
bc_status bc_fringes_to_resolve(const bc_design_problem *problem, const bc_recipe *recipe, bc_fringes *fringes,
                                bc_error *error)
{
    bc_stack stack = {0};
    bc_status status = bc_recipe_to_stack(recipe, problem, &stack, error);
    if (status == BC_OK)
        status = bc_stack_fringes(&stack, bc_shortest_wavelength(problem->callouts), fringes, error);
    *fringes = bc_scale_fringes(*fringes, 1.5);
    bc_stack_clear(&stack);
    return status;
}

/* The double nearest to a whole number of thousandths: what a file with three decimals reads back as. */
static double on_grid(double thickness_nm)
{
    return round(thickness_nm * 1000.0) / 1000.0;
}

/* To three decimals without leaving the limits. */
void bc_round_films(const bc_design_problem *problem, bc_recipe *recipe)
{
    size_t thickest = recipe->films;
    for (size_t j = 0; j < recipe->films; j++) {
        double *thickness = &recipe->thickness_nm[j];
        if (recipe->fixed[j])
            continue;
        *thickness = fmax(on_grid(*thickness), BC_ROUND_NM);
        if (*thickness < problem->minimum_nm)
            *thickness = on_grid(*thickness + BC_ROUND_NM);
        if (thickest == recipe->films || *thickness > recipe->thickness_nm[thickest])
            thickest = j;
    }
    for (int step = 0; thickest < recipe->films && step < 1000 && bc_recipe_total_nm(recipe) > problem->max_total_nm;
         step++)
        recipe->thickness_nm[thickest] = on_grid(recipe->thickness_nm[thickest] - BC_ROUND_NM);
}

bc_status bc_polish(const bc_design_problem *problem, bc_recipe *recipe, size_t *evaluations, bc_stop *stop,
                    bc_error *error)
{
    const bc_limits limits = {problem->minimum_nm, problem->max_total_nm};
    bc_merit *merit = NULL;
    bc_optimizer *optimizer = NULL;
    bc_fringes fringes = BC_NO_FRINGES;
    bc_status status = bc_fringes_to_resolve(problem, recipe, &fringes, error);
    if (status == BC_OK)
        status = bc_merit_alloc(problem, BC_DENSITY_VERDICT, recipe->films, fringes, &merit, error);
    if (status == BC_OK)
        status = bc_optimizer_alloc(recipe->films, bc_merit_constraints(merit), &optimizer, error);
    if (status == BC_OK) {
        *stop = bc_minimax(optimizer, merit, &limits, recipe, STEPS, TOLERANCE);
        *evaluations += bc_merit_evaluations(merit);
        bc_round_films(problem, recipe);
        status = bc_judge(problem, recipe, &recipe->limit_used, error);
    }
    bc_optimizer_free(optimizer);
    bc_merit_free(merit);
    return status;
}
