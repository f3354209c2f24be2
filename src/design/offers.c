/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "offers.h"
#include "polish.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WORTH_POLISHING 1.05  /* over the best of its number of layers */
#define AS_GOOD         1.001 /* times the lowest limit_used of that number of layers */
#define POLISHED        3     /* of them at most */
#define NEARLY_THE_SAME 1.1   /* limit_used of an alternative over the chosen one's */
#define CANDIDATES      6     /* of one number of layers */
#define CLEARLY_THICKER 1.3   /* the thinnest layer of an alternative over the chosen one's */

static bc_status polish_into(const bc_design_problem *problem, bc_watch *watch, const bc_recipe *recipe,
                             bc_recipe *trial, bc_error *error)
{
    size_t evaluations = 0;
    bc_stop stop;
    bc_recipe_copy(recipe, trial);
    return bc_polish_watched(problem, watch, trial, &evaluations, &stop, error);
}

bc_status bc_offer_from(const bc_design_problem *problem, const bc_recipe *recipe, bc_rung *rung, bc_error *error)
{
    rung->total_nm = bc_recipe_total_nm(recipe);
    rung->limit_used = recipe->limit_used;
    return bc_recipe_to_stack(recipe, problem, &rung->stack, error);
}

/* Among designs that are as good as the best: the thinnest. */
static size_t find_thinnest(const bc_best_of_count *of)
{
    size_t thinnest = 0;
    for (size_t e = 1; e < of->count && of->design[e].limit_used <= AS_GOOD * of->design[0].limit_used; e++)
        if (bc_recipe_total_nm(&of->design[e]) < bc_recipe_total_nm(&of->design[thinnest]))
            thinnest = e;
    return thinnest;
}

/* Let a polished design be the best if it is: lower, or as low and thinner. */
static void consider(const bc_design_problem *problem, const bc_recipe *trial, bc_recipe *best)
{
    const bool thinner = bc_recipe_total_nm(trial) < bc_recipe_total_nm(best);
    /* A start's fixed layers may be too thick together, and nothing can thin them. */
    if (bc_recipe_total_nm(trial) <= problem->max_total_nm &&
        trial->limit_used < (thinner ? AS_GOOD * best->limit_used : best->limit_used))
        bc_recipe_copy(trial, best);
}

bc_status bc_offer_make(const bc_design_problem *problem, bc_watch *watch, const bc_best_of_count *of, bc_rung *rung,
                        bc_error *error)
{
    bc_recipe trial = {0}, best = {0}, thin = {0};
    const size_t capacity = of->design[0].capacity, thinnest = of->count > 0 ? find_thinnest(of) : 0;
    bc_status status = bc_recipe_alloc(capacity, &trial, error);
    memset(rung, 0, sizeof *rung);
    rung->limit_used = INFINITY;
    if (status == BC_OK)
        status = bc_recipe_alloc(capacity, &best, error);
    if (status == BC_OK)
        status = bc_recipe_alloc(capacity, &thin, error);
    bool polished = false;
    for (size_t e = 0; status == BC_OK && e < of->count && e < POLISHED; e++) {
        if (e > 0 && (bc_watch_stopped(watch) || of->design[e].limit_used > WORTH_POLISHING * of->design[0].limit_used))
            break;
        status = polish_into(problem, watch, &of->design[e], &trial, error);
        if (status == BC_OK)
            consider(problem, &trial, &best);
        if (e == thinnest) {
            polished = true;
            bc_recipe_copy(&trial, &thin);
        }
    }
    if (status == BC_OK && of->count > 0 && !bc_watch_stopped(watch)) {
        if (!polished)
            status = polish_into(problem, watch, &of->design[thinnest], &thin, error);
        if (status == BC_OK)
            consider(problem, &thin, &best);
    }
    if (status == BC_OK && isfinite(best.limit_used))
        status = bc_offer_from(problem, &best, rung, error);
    bc_recipe_clear(&trial);
    bc_recipe_clear(&best);
    bc_recipe_clear(&thin);
    return status;
}

static double thinnest_nm(size_t layers, const double *thickness_nm)
{
    double thinnest = INFINITY;
    for (size_t j = 0; j < layers; j++)
        thinnest = fmin(thinnest, thickness_nm[j]);
    return thinnest;
}

static double thinnest_in(const bc_stack *stack)
{
    double thinnest = INFINITY;
    for (size_t j = 0; j < stack->layers; j++)
        thinnest = fmin(thinnest, stack->layer[j].thickness_nm);
    return thinnest;
}

/* The design with the thickest thinnest layer among those nearly as good as the chosen one; NULL when none is
 * clearly thicker. */
static const bc_recipe *find_thicker(const bc_best *best, const bc_rung *chosen)
{
    const bc_recipe *found = NULL;
    double thickest = CLEARLY_THICKER * thinnest_in(&chosen->stack);
    for (size_t n = 1; n <= chosen->stack.layers && n <= best->max_layers; n++) {
        for (size_t e = 0; e < best->of[n].count; e++) {
            const bc_recipe *design = &best->of[n].design[e];
            const double thinnest = thinnest_nm(design->layers, design->thickness_nm);
            if (design->limit_used <= NEARLY_THE_SAME * chosen->limit_used && thinnest > thickest) {
                thickest = thinnest;
                found = design;
            }
        }
    }
    return found;
}

bc_status bc_offer_alternative(const bc_design_problem *problem, bc_watch *watch, const bc_best *best,
                               bc_draft_result *result, bc_error *error)
{
    const bc_rung *chosen = &result->rung[result->chosen];
    const double most = NEARLY_THE_SAME * chosen->limit_used;
    const bc_recipe *thicker;
    bc_recipe trial = {0};
    bc_status status;
    for (size_t r = 0; r < result->chosen; r++) {
        if (result->rung[r].limit_used <= most && result->rung[r].stack.layers < chosen->stack.layers) {
            result->alternative = result->rung[r];
            memset(&result->alternative.stack, 0, sizeof result->alternative.stack);
            result->alternative_has = BC_FEWER_LAYERS;
            return bc_stack_copy(&result->rung[r].stack, &result->alternative.stack, error);
        }
    }
    thicker = find_thicker(best, chosen);
    if (thicker == NULL)
        return BC_OK;
    status = bc_recipe_alloc(thicker->capacity, &trial, error);
    if (status == BC_OK)
        status = polish_into(problem, watch, thicker, &trial, error);
    /* Polishing may thin the layer that made it worth offering. */
    if (status == BC_OK && trial.limit_used <= most &&
        thinnest_nm(trial.layers, trial.thickness_nm) > CLEARLY_THICKER * thinnest_in(&chosen->stack)) {
        result->alternative_has = BC_THICKER_LAYERS;
        status = bc_offer_from(problem, &trial, &result->alternative, error);
    }
    bc_recipe_clear(&trial);
    return status;
}

/* As a run sheet prints it: whoever takes a candidate as it is hands out thicknesses of three decimals. */
static bc_status add_candidate(const bc_design_problem *problem, const bc_recipe *design, bc_draft_result *result,
                               bc_error *error)
{
    bc_recipe rounded = {0};
    bc_status status = bc_recipe_alloc(design->capacity, &rounded, error);
    if (status == BC_OK) {
        bc_recipe_copy(design, &rounded);
        bc_round_layers(problem, &rounded);
        status = bc_offer_from(problem, &rounded, &result->candidate[result->candidates], error);
    }
    result->candidates += status == BC_OK;
    bc_recipe_clear(&rounded);
    return status;
}

/* Of those that meet the aim but are not among the first: the thinnest, which a process may make best. */
static const bc_recipe *find_thin(const bc_best_of_count *of)
{
    const bc_recipe *thin = NULL;
    for (size_t e = CANDIDATES; e < of->count; e++)
        if (of->design[e].limit_used <= BC_FEWEST_USES &&
            (thin == NULL || bc_recipe_total_nm(&of->design[e]) < bc_recipe_total_nm(thin)))
            thin = &of->design[e];
    return thin;
}

bc_status bc_offer_candidates(const bc_design_problem *problem, const bc_best *best, double most,
                              bc_draft_result *result, bc_error *error)
{
    bc_status status = BC_OK;
    result->candidate = calloc((best->max_layers + 1) * (2 * CANDIDATES + 1), sizeof *result->candidate);
    if (result->candidate == NULL)
        return bc_fail_memory(error);
    for (size_t n = 0; n <= best->max_layers; n++)
        for (size_t e = 0; status == BC_OK && e < best->of[n].count && e < CANDIDATES; e++)
            if (best->of[n].design[e].limit_used <= most)
                status = add_candidate(problem, &best->of[n].design[e], result, error);
    for (size_t n = 0; n <= best->max_layers; n++)
        if (status == BC_OK && best->of[n].count > CANDIDATES && find_thin(&best->of[n]) != NULL)
            status = add_candidate(problem, find_thin(&best->of[n]), result, error);
    return status;
}

void bc_offer_clear(bc_rung *rung)
{
    bc_stack_clear(&rung->stack);
    memset(rung, 0, sizeof *rung);
}
