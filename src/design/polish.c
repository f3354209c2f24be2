/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "polish.h"
#include "budget.h"
#include <bloomcoat/sampling.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define STEPS_PER_WAVE 8.0
#define STEPS          120
#define TOLERANCE      1e-6
#define ROUNDS         8 /* of descents, each with the places where the verdict was worse than the one before */
#define THINNER        0.7
#define NO_FRINGE_NM   100.0 /* so thin that its fringes no longer decide how many samples there are */
#define BELIEVED       1e-4  /* of the descent's limit_used: between two samples a band is always a little worse */

bc_status bc_problem_check(const bc_design_problem *problem, const bc_stack *stack, bc_check_result *result,
                           bc_error *error)
{
    memset(result, 0, sizeof *result);
    if (problem->callouts == NULL)
        return bc_fail(error, BC_ERROR_INPUT, "the problem has no callouts (NULL); expected at least one");
    return bc_check_zones(stack, problem->callouts, problem->substrates, problem->substrate, &problem->back,
                          problem->zones, problem->zone, result, error);
}

static bc_status judge(const bc_design_problem *problem, const bc_recipe *recipe, bc_check_result *result,
                       bc_error *error)
{
    bc_stack stack = {0};
    bc_status status = bc_recipe_to_stack(recipe, problem, &stack, error);
    if (status != BC_OK)
        return status;
    status = bc_problem_check(problem, &stack, result, error);
    bc_stack_clear(&stack);
    return status;
}

bc_status bc_judge(const bc_design_problem *problem, const bc_recipe *recipe, double *limit_used, bc_error *error)
{
    bc_check_result result;
    const bc_status status = judge(problem, recipe, &result, error);
    if (status == BC_OK) {
        *limit_used = result.limit_used;
        bc_check_result_clear(&result);
    }
    return status;
}

/* Sampling must resolve the fringes of the stack as it may become: half as thick again as it is. */
bc_status bc_fringes_to_resolve(const bc_design_problem *problem, const bc_recipe *recipe, bc_fringes *fringes,
                                bc_error *error)
{
    double from_nm, to_nm;
    bc_stack stack = {0};
    bc_status status = bc_recipe_to_stack(recipe, problem, &stack, error);
    bc_asked_band(problem->callouts, problem->substrates, problem->substrate, &from_nm, &to_nm);
    if (status == BC_OK)
        status = bc_fringes_of(&stack, NULL, from_nm, fringes, error);
    *fringes = bc_scale_fringes(*fringes, 1.5);
    bc_stack_clear(&stack);
    return status;
}

bc_status bc_near_limits(const bc_design_problem *problem, bc_limits *limits, bc_error *error)
{
    double from_nm, to_nm, highest = 0.0;
    bc_asked_band(problem->callouts, problem->substrates, problem->substrate, &from_nm, &to_nm);
    for (size_t m = 0; m < problem->materials; m++) {
        double n, k;
        const bc_status status = bc_dispersion_index(problem->material[m].dispersion, 1, &from_nm, &n, &k, error);
        if (status != BC_OK)
            return status;
        highest = fmax(highest, hypot(n, k));
    }
    *limits = (bc_limits){problem->minimum_nm, problem->max_total_nm, from_nm / (STEPS_PER_WAVE * highest)};
    return BC_OK;
}

/* The double nearest to a whole number of thousandths: what a file with three decimals reads back as. */
static double on_grid(double thickness_nm)
{
    return round(thickness_nm * 1000.0) / 1000.0;
}

/* To three decimals without leaving the limits. */
void bc_round_layers(const bc_design_problem *problem, bc_recipe *recipe)
{
    size_t thickest = recipe->layers;
    for (size_t j = 0; j < recipe->layers; j++) {
        double *thickness = &recipe->thickness_nm[j];
        if (recipe->fixed[j])
            continue;
        *thickness = fmax(on_grid(*thickness), BC_ROUND_NM);
        if (*thickness < problem->minimum_nm)
            *thickness = on_grid(*thickness + BC_ROUND_NM);
        if (thickest == recipe->layers || *thickness > recipe->thickness_nm[thickest])
            thickest = j;
    }
    for (int step = 0; thickest < recipe->layers && step < 1000 && bc_recipe_total_nm(recipe) > problem->max_total_nm;
         step++)
        recipe->thickness_nm[thickest] = on_grid(recipe->thickness_nm[thickest] - BC_ROUND_NM);
}

/* Where the verdict found a callout worse than the merit did: to be looked at from now on. */
static size_t add_spots(const bc_design_problem *problem, const bc_check_result *result, double claimed,
                        size_t extra_samples, bc_extra_sample *extra_sample)
{
    const size_t before = extra_samples;
    for (size_t f = 0; f < result->count; f++) {
        const bc_finding *finding = &result->finding[f];
        if (finding->limit_used > claimed)
            extra_sample[extra_samples++] =
                (bc_extra_sample){.callout = finding->callout,
                                  .glass = (size_t)(finding->substrate - problem->substrate),
                                  .zone = finding->zone,
                                  .aoi_rad = finding->at_aoi_rad};
    }
    return extra_samples - before;
}

/* As many wavelengths as there is memory for: the verdict takes all of them, so fewer here cost quality at most. False
 * where even the fewest are too many. */
static bc_status thin_out(const bc_design_problem *problem, size_t layers, size_t extra_samples,
                          const bc_extra_sample *extra_sample, bc_fringes *fringes, bool *fits, bc_error *error)
{
    bc_status status;
    double bytes = INFINITY;
    for (;;) {
        const bc_sampling_extras extras = {.density = BC_DENSITY_POLISH,
                                           .fringes = *fringes,
                                           .extra_samples = extra_samples,
                                           .extra_sample = extra_sample};
        status = bc_looks_bytes(problem, layers, &extras, &bytes, error);
        *fits = status == BC_OK && bytes <= BC_MOST_BYTES;
        if (status != BC_OK || *fits || fringes->optical_nm < NO_FRINGE_NM)
            return status;
        *fringes = bc_scale_fringes(*fringes, THINNER);
    }
}

/* One descent on the samples and spots; `claimed` is the largest u it ended with, `work` what is left of it. */
static bc_status descend(const bc_design_problem *problem, bc_watch *watch, bc_fringes fringes, size_t extra_samples,
                         const bc_extra_sample *extra_sample, bc_recipe *recipe, double *claimed, double *work,
                         size_t *evaluations, bc_stop *stop, bc_error *error)
{
    bc_limits limits;
    bc_merit *merit = NULL;
    bc_optimizer *optimizer = NULL;
    bc_status status = bc_merit_alloc_spots(problem, BC_DENSITY_POLISH, recipe->layers, fringes, extra_samples,
                                            extra_sample, &merit, error);
    if (status == BC_OK)
        status = bc_near_limits(problem, &limits, error);
    if (status == BC_OK)
        status = bc_optimizer_alloc(recipe->layers, bc_merit_constraints(merit), &optimizer, error);
    if (status == BC_OK) {
        bc_optimizer_watch(optimizer, watch, true);
        *stop = bc_minimax(optimizer, merit, &limits, recipe, bc_merit_steps(merit, recipe->layers, *work, STEPS),
                           TOLERANCE);
        *work -= (double)bc_merit_evaluations(merit) * bc_merit_work(merit, recipe->layers);
        *claimed = recipe->limit_used;
        *evaluations += bc_merit_evaluations(merit);
        bc_round_layers(problem, recipe);
    }
    bc_optimizer_free(optimizer);
    bc_merit_free(merit);
    return status;
}

bc_status bc_polish(const bc_design_problem *problem, bc_recipe *recipe, size_t *evaluations, bc_stop *stop,
                    bc_error *error)
{
    return bc_polish_watched(problem, NULL, recipe, evaluations, stop, error);
}

bc_status bc_polish_watched(const bc_design_problem *problem, bc_watch *watch, bc_recipe *recipe, size_t *evaluations,
                            bc_stop *stop, bc_error *error)
{
    const size_t findings = problem->callouts->count * problem->substrates;
    bc_extra_sample *extra_sample = calloc(ROUNDS * findings + 1, sizeof *extra_sample);
    bc_recipe trial = {0};
    bc_fringes fringes = BC_NO_FRINGES;
    size_t extra_samples = 0;
    double work = BC_MOST_REFINEMENT;
    bc_status status =
        extra_sample == NULL ? bc_fail_memory(error) : bc_recipe_alloc(recipe->layers + 1, &trial, error);
    if (status == BC_OK)
        status = bc_fringes_to_resolve(problem, recipe, &fringes, error);
    if (status == BC_OK)
        bc_recipe_copy(recipe, &trial);
    recipe->limit_used = INFINITY;
    for (int round = 0; status == BC_OK && round < ROUNDS; round++) {
        bc_check_result verdict = {0};
        double claimed = 0.0;
        size_t more = 0;
        bool fits = true;
        const bool stopped = bc_watch_ask(watch);
        if (stopped)
            bc_round_layers(problem, &trial);
        else
            status = thin_out(problem, recipe->layers, extra_samples, extra_sample, &fringes, &fits, error);
        if (status == BC_OK && !stopped && fits)
            status = descend(problem, watch, fringes, extra_samples, extra_sample, &trial, &claimed, &work, evaluations,
                             stop, error);
        if (!fits)
            *stop = BC_STOP_BUDGET;
        if (bc_watch_stopped(watch))
            *stop = BC_STOP_INTERRUPTED;
        if (status == BC_OK)
            status = judge(problem, &trial, &verdict, error);
        if (status == BC_OK) {
            trial.limit_used = verdict.limit_used;
            if (trial.limit_used < recipe->limit_used)
                bc_recipe_copy(&trial, recipe);
            more = add_spots(problem, &verdict, claimed * (1.0 + BELIEVED), extra_samples, extra_sample);
        }
        bc_check_result_clear(&verdict);
        if (more == 0 || !fits || bc_watch_stopped(watch))
            break;
        if (!(work > 0.0)) {
            *stop = BC_STOP_BUDGET;
            break;
        }
        extra_samples += more;
    }
    bc_recipe_clear(&trial);
    free(extra_sample);
    return status;
}
