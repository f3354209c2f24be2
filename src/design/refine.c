/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "budget.h"
#include "merit_work.h"
#include "minimax.h"
#include "polish.h"
#include <bloomcoat/refine.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SQUARES_STEPS      60
#define MINIMAX_STEPS      200
#define TOLERANCE          1e-5
#define SCENARIO_STEPS     60
#define SCENARIO_TOLERANCE 1e-4

/* The problem with the stack's own materials, and the stack as a recipe of them. */
static void take_stack(const bc_design_problem *problem, const bc_stack *stack, bc_design_problem *own,
                       bc_medium *material, bc_recipe *recipe)
{
    *own = *problem;
    own->material = material;
    own->materials = 0;
    own->max_layers = stack->layers;
    own->incident = stack->incident;
    for (size_t j = 0; j < stack->layers; j++) {
        size_t m = 0;
        while (m < own->materials && material[m].dispersion != stack->layer[j].material.dispersion)
            m++;
        if (m == own->materials)
            material[own->materials++] = stack->layer[j].material;
        recipe->material[j] = (unsigned)m;
        recipe->thickness_nm[j] = stack->layer[j].thickness_nm;
        recipe->fixed[j] = stack->layer[j].fixed;
    }
    recipe->layers = stack->layers;
}

/* Whether the limits leave room, and whether the stack keeps them as it is. */
static bc_status look_at_limits(const bc_design_problem *problem, const bc_recipe *recipe, bool *kept, bc_error *error)
{
    double least = 0.0;
    size_t moving = 0;
    *kept = bc_recipe_total_nm(recipe) <= problem->max_total_nm;
    for (size_t j = 0; j < recipe->layers; j++) {
        moving += !recipe->fixed[j];
        least += recipe->fixed[j] ? recipe->thickness_nm[j] : problem->minimum_nm;
        *kept = *kept && (recipe->fixed[j] || recipe->thickness_nm[j] >= problem->minimum_nm);
    }
    if (moving > 0 && least >= problem->max_total_nm)
        return bc_fail(
            error, BC_ERROR_INPUT,
            "the layers need %g nm at their thinnest (fixed layers, and %g nm for every other); at most %g nm "
            "are allowed in all",
            least, problem->minimum_nm, problem->max_total_nm);
    return BC_OK;
}

/* Before the first look at a stack, which takes long where this is refused. */
static bc_status refuse_memory(const bc_design_problem *problem, size_t layers, bc_error *error)
{
    const bc_sampling_extras extras = {.density = BC_DENSITY_SEARCH};
    double bytes = 0.0;
    const bc_status status = bc_looks_bytes(problem, layers, &extras, &bytes, error);
    return status == BC_OK ? bc_refuse_bytes(bytes, layers, error) : status;
}

/* Two ways down on the search's samples, through least squares and straight from where the stack stands; `trial` is the
 * lower end. */
static bc_status descend(const bc_design_problem *problem, const bc_recipe *start, bc_recipe *trial, bc_recipe *other,
                         bc_watch *watch, bc_refine_result *result, bc_error *error)
{
    bc_limits limits;
    bc_merit *merit = NULL;
    bc_optimizer *optimizer = NULL;
    unsigned steps = 0;
    bc_status status = bc_merit_alloc(problem, BC_DENSITY_SEARCH, start->layers, BC_NO_FRINGES, &merit, error);
    if (status == BC_OK)
        status = bc_near_limits(problem, &limits, error);
    if (status == BC_OK)
        status = bc_optimizer_alloc(start->layers, bc_merit_constraints(merit), &optimizer, error);
    if (status == BC_OK) {
        bc_recipe_copy(start, trial);
        bc_recipe_copy(start, other);
        bc_optimizer_watch(optimizer, watch, true);
        steps = bc_merit_steps(merit, start->layers, BC_MOST_REFINEMENT, MINIMAX_STEPS);
        if (bc_least_squares(optimizer, merit, &limits, trial, steps < SQUARES_STEPS ? steps : SQUARES_STEPS) != BC_OK)
            status = bc_fail_memory(error);
    }
    if (status == BC_OK) {
        bc_minimax(optimizer, merit, &limits, trial, steps, TOLERANCE);
        bc_minimax(optimizer, merit, &limits, other, steps, TOLERANCE);
        if (other->limit_used < trial->limit_used)
            bc_recipe_copy(other, trial);
        if (watch != NULL)
            watch->limit_used = trial->limit_used;
        result->evaluations += bc_merit_evaluations(merit);
    }
    bc_optimizer_free(optimizer);
    bc_merit_free(merit);
    return status;
}

/* The end of the descent, polished unless it is good enough as it is; the start itself where it counts and that is not
 * lower. */
static bc_status refine(const bc_design_problem *problem, const bc_recipe *start, bool start_counts, double good_enough,
                        bc_watch *watch, bc_recipe *trial, bc_recipe *best, bc_refine_result *result, bc_error *error)
{
    bc_recipe *unrounded = best;
    bc_status status = descend(problem, start, trial, best, watch, result, error);
    if (status == BC_OK && good_enough > 0.0) {
        bc_recipe_copy(trial, unrounded);
        bc_round_layers(problem, trial);
        status = bc_judge(problem, trial, &trial->limit_used, error);
        result->stop = BC_STOP_GOOD;
    }
    if (status == BC_OK && !(good_enough > 0.0 && trial->limit_used <= good_enough)) {
        if (good_enough > 0.0)
            bc_recipe_copy(unrounded, trial);
        status = bc_polish_watched(problem, watch, trial, &result->evaluations, &result->stop, error);
    }
    bc_recipe_copy(start, best);
    best->limit_used = start_counts ? result->limit_used_before : INFINITY;
    if (status == BC_OK && trial->limit_used < best->limit_used)
        bc_recipe_copy(trial, best);
    return status;
}

static bc_status refine_stack(const bc_design_problem *problem, double good_enough, bc_watch *watch, bc_stack *stack,
                              bc_refine_result *result, bc_error *error)
{
    bc_design_problem own;
    bc_recipe recipe[3] = {0}; /* the start, a trial, the best */
    bc_medium *material = calloc(stack->layers + 1, sizeof *material);
    bool start_counts = true;
    bc_status status = material == NULL ? bc_fail_memory(error) : bc_design_validate(problem, error);
    memset(result, 0, sizeof *result);
    for (int r = 0; status == BC_OK && r < 3; r++)
        status = bc_recipe_alloc(stack->layers + 1, &recipe[r], error);
    if (status == BC_OK) {
        take_stack(problem, stack, &own, material, &recipe[0]);
        status = bc_design_validate(&own, error);
    }
    if (status == BC_OK)
        status = look_at_limits(&own, &recipe[0], &start_counts, error);
    if (status == BC_OK)
        status = refuse_memory(&own, stack->layers, error);
    if (status == BC_OK)
        status = bc_judge(&own, &recipe[0], &result->limit_used_before, error);
    if (watch != NULL)
        watch->limit_used = result->limit_used_before;
    if (status == BC_OK)
        status = refine(&own, &recipe[0], start_counts, good_enough, watch, &recipe[1], &recipe[2], result, error);
    if (status == BC_OK) {
        result->limit_used = recipe[2].limit_used;
        for (size_t j = 0; j < stack->layers; j++)
            stack->layer[j].thickness_nm = recipe[2].thickness_nm[j];
    }
    for (int r = 0; r < 3; r++)
        bc_recipe_clear(&recipe[r]);
    free(material);
    return status;
}

bc_status bc_refine(const bc_design_problem *problem, bc_stack *stack, bc_refine_result *result, bc_error *error)
{
    return bc_refine_until(problem, 0.0, stack, result, error);
}

bc_status bc_refine_until(const bc_design_problem *problem, double good_enough, bc_stack *stack,
                          bc_refine_result *result, bc_error *error)
{
    return refine_stack(problem, good_enough, NULL, stack, result, error);
}

bc_status bc_refine_with_progress(const bc_design_problem *problem, bc_progress progress, void *context,
                                  bc_stack *stack, bc_refine_result *result, bc_error *error)
{
    return bc_refine_until_with_progress(problem, 0.0, progress, context, stack, result, error);
}

bc_status bc_refine_until_with_progress(const bc_design_problem *problem, double good_enough, bc_progress progress,
                                        void *context, bc_stack *stack, bc_refine_result *result, bc_error *error)
{
    bc_watch watch = {.progress = progress, .context = context, .fraction = NAN, .limit_used = INFINITY};
    return refine_stack(problem, good_enough, &watch, stack, result, error);
}

static bc_status descend_scenarios(const bc_design_problem *problem, const bc_scenarios *scenarios, bc_watch *watch,
                                   bc_recipe *recipe, bc_refine_result *result, bc_error *error)
{
    bc_limits limits;
    bc_merit *merit = NULL;
    bc_optimizer *optimizer = NULL;
    bc_fringes fringes = BC_NO_FRINGES;
    bc_status status = bc_fringes_to_resolve(problem, recipe, &fringes, error);
    if (status == BC_OK)
        status = bc_near_limits(problem, &limits, error);
    if (status == BC_OK)
        status = bc_merit_alloc_scenarios(problem, BC_DENSITY_SEARCH, recipe->layers, fringes, scenarios->count + 1,
                                          &merit, error);
    if (status == BC_OK)
        status = bc_optimizer_alloc(recipe->layers, bc_merit_constraints(merit), &optimizer, error);
    if (status == BC_OK) {
        bc_optimizer_watch(optimizer, watch, true);
        for (size_t s = 0; s < scenarios->count; s++)
            bc_merit_set_scenario(merit, s + 1, recipe->layers, scenarios->error + s * recipe->layers,
                                  scenarios->materials, scenarios->dn + s * scenarios->materials);
        const bc_stop stop =
            bc_minimax(optimizer, merit, &limits, recipe,
                       bc_merit_steps(merit, recipe->layers, BC_MOST_REFINEMENT, SCENARIO_STEPS), SCENARIO_TOLERANCE);
        bc_round_layers(problem, recipe);
        if (result != NULL) {
            result->stop = stop;
            result->evaluations += bc_merit_evaluations(merit);
            status = bc_judge(problem, recipe, &result->limit_used, error);
        }
    }
    bc_optimizer_free(optimizer);
    bc_merit_free(merit);
    return status;
}

bc_status bc_refine_scenarios(const bc_design_problem *problem, const bc_scenarios *scenarios, bc_stack *stack,
                              bc_refine_result *result, bc_error *error)
{
    return bc_refine_scenarios_with_progress(problem, scenarios, NULL, NULL, stack, result, error);
}

bc_status bc_refine_scenarios_with_progress(const bc_design_problem *problem, const bc_scenarios *scenarios,
                                            bc_progress progress, void *context, bc_stack *stack,
                                            bc_refine_result *result, bc_error *error)
{
    bc_watch watch = {.progress = progress, .context = context, .fraction = NAN, .limit_used = INFINITY};
    bc_design_problem own;
    bc_recipe recipe = {0};
    bc_medium *material = calloc(stack->layers + 1, sizeof *material);
    bool kept = true;
    bc_status status = material == NULL ? bc_fail_memory(error) : bc_design_validate(problem, error);
    if (result != NULL)
        memset(result, 0, sizeof *result);
    if (status == BC_OK)
        status = bc_recipe_alloc(stack->layers + 1, &recipe, error);
    if (status == BC_OK) {
        take_stack(problem, stack, &own, material, &recipe);
        status = bc_design_validate(&own, error);
    }
    if (status == BC_OK)
        status = look_at_limits(&own, &recipe, &kept, error);
    if (status == BC_OK && result != NULL)
        status = bc_judge(&own, &recipe, &result->limit_used_before, error);
    if (status == BC_OK)
        status = descend_scenarios(&own, scenarios, &watch, &recipe, result, error);
    for (size_t j = 0; status == BC_OK && j < stack->layers; j++)
        stack->layer[j].thickness_nm = recipe.thickness_nm[j];
    bc_recipe_clear(&recipe);
    free(material);
    return status;
}
