/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "multistart.h"
#include "offers.h"
#include <bloomcoat/draft.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define GOOD_ENOUGH      0.9 /* limit_used at which "fewest" is content */
#define CANDIDATE_WITHIN 1.5 /* candidates use at most this share of the limit, or of what the best uses */

/* A rung counts only when it is better than every one below it. */
static void add_rung(bc_draft_result *result, bc_rung *rung)
{
    if (isfinite(rung->limit_used) &&
        (result->rungs == 0 || rung->limit_used < result->rung[result->rungs - 1].limit_used))
        result->rung[result->rungs++] = *rung;
    else
        bc_offer_clear(rung);
}

static bc_status make_rung(const bc_multistart *multistart, size_t layers, bc_draft_result *result, bc_error *error)
{
    bc_rung rung;
    const bc_status status = bc_offer_make(multistart->problem, &multistart->best.of[layers], &rung, error);
    if (status == BC_OK)
        add_rung(result, &rung);
    else
        bc_offer_clear(&rung);
    return status;
}

/* From few layers to many. "Fewest" looks at every rung as it is reached, "best" only at the end. */
static bc_status climb(bc_multistart *multistart, bc_draft_result *result, bc_error *error)
{
    const bool fewest = multistart->options->aim == BC_AIM_FEWEST;
    const size_t most = multistart->problem->max_layers;
    bc_agreement agreement = {.enough = true};
    bc_status status = BC_OK;
    for (size_t layers = 0; status == BC_OK && layers <= most && !bc_multistart_stopped(multistart); layers++) {
        result->looked_at = layers;
        if (layers > 0)
            agreement = bc_multistart_search(multistart, layers);
        if (multistart->failed)
            return bc_fail_memory(error);
        if (fewest)
            status = make_rung(multistart, layers, result, error);
        if (fewest && result->rungs > 0 && result->rung[result->rungs - 1].limit_used <= GOOD_ENOUGH) {
            result->stop = BC_STOP_GOOD;
            break;
        }
    }
    if (result->stop != BC_STOP_GOOD)
        result->stop = agreement.enough && result->looked_at == most ? BC_STOP_CONVERGED : BC_STOP_BUDGET;
    /* A start may have more layers than were looked at before the search came to rest. */
    for (size_t layers = fewest ? result->looked_at + 1 : 0; status == BC_OK && layers <= most; layers++)
        if (result->stop != BC_STOP_GOOD)
            status = make_rung(multistart, layers, result, error);
    result->allowed = most;
    result->searches = agreement.searches;
    result->agreeing = agreement.agreeing;
    result->optima = agreement.optima;
    return status;
}

static bc_status refuse(const bc_design_problem *problem, const bc_draft_options *options, bc_error *error)
{
    const bc_status status = bc_design_validate(problem, error);
    if (status != BC_OK)
        return status;
    if (problem->materials == 0 || problem->substrates == 0 || problem->callouts->count == 0)
        return bc_fail(error, BC_ERROR_INPUT, "a draft needs callouts, a substrate and at least one layer material");
    if (problem->max_layers == 0)
        return bc_fail(error, BC_ERROR_INPUT, "at most 0 layers; expected 1 or more");
    if (!(options->effort > 0.0 && options->effort <= 1000.0))
        return bc_fail(error, BC_ERROR_INPUT, "effort %g; expected more than 0 and at most 1000", options->effort);
    if (!(problem->minimum_nm >= 0.0) || !(problem->max_total_nm > problem->minimum_nm))
        return bc_fail(error, BC_ERROR_INPUT,
                       "at least %g nm a layer and at most %g nm in all leave no room for a layer", problem->minimum_nm,
                       problem->max_total_nm);
    return BC_OK;
}

static bc_status set_outers(const bc_multistart *multistart, bc_draft_result *result, bc_error *error)
{
    const bc_design_problem *problem = multistart->problem;
    const size_t layers = result->rung[result->chosen].stack.layers;
    result->outer = calloc(problem->materials, sizeof *result->outer);
    if (result->outer == NULL)
        return bc_fail_memory(error);
    result->outers = problem->materials;
    for (size_t m = 0; m < problem->materials; m++) {
        result->outer[m] = (bc_outer){&problem->material[m], INFINITY};
        for (size_t n = 1; n <= layers; n++)
            result->outer[m].limit_used =
                fmin(result->outer[m].limit_used, multistart->outer[n * problem->materials + m]);
    }
    return BC_OK;
}

/* Which rung answers the aim, and what else is worth knowing. */
static bc_status conclude(const bc_multistart *multistart, bc_draft_result *result, bc_error *error)
{
    bc_status status;
    double most;
    if (result->rungs == 0)
        return bc_fail(error, BC_ERROR_INPUT, "no stack of at most %zu layers keeps the limits on thickness",
                       multistart->problem->max_layers);
    result->chosen = result->rungs - 1;
    result->starts = bc_search_refined(multistart->search);
    most = CANDIDATE_WITHIN * fmax(1.0, result->rung[result->chosen].limit_used);
    status = set_outers(multistart, result, error);
    if (multistart->cancelled) /* whoever stops a search does not wait for more of it */
        return status;
    if (status == BC_OK)
        status = bc_offer_alternative(multistart->problem, &multistart->best, result, error);
    if (status == BC_OK)
        status = bc_offer_candidates(multistart->problem, &multistart->best, most, result, error);
    return status;
}

bc_status bc_draft(const bc_design_problem *problem, const bc_draft_options *options, bc_draft_result *result,
                   bc_error *error)
{
    bc_multistart multistart = {0};
    bc_status status = refuse(problem, options, error);
    memset(result, 0, sizeof *result);
    if (status == BC_OK)
        status = bc_multistart_open(problem, options, &multistart, error);
    if (status == BC_OK) {
        result->rung = calloc(problem->max_layers + 1, sizeof *result->rung);
        status = result->rung == NULL ? bc_fail_memory(error) : climb(&multistart, result, error);
        if (status == BC_OK)
            status = conclude(&multistart, result, error);
        bc_multistart_close(&multistart);
    }
    if (status != BC_OK)
        bc_draft_result_clear(result);
    return status;
}

void bc_draft_result_clear(bc_draft_result *result)
{
    for (size_t r = 0; r < result->rungs; r++)
        bc_offer_clear(&result->rung[r]);
    for (size_t c = 0; c < result->candidates; c++)
        bc_offer_clear(&result->candidate[c]);
    bc_offer_clear(&result->alternative);
    free(result->rung);
    free(result->candidate);
    free(result->outer);
    memset(result, 0, sizeof *result);
}
