/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "multistart.h"
#include "offers.h"
#include "thin.h"
#include <bloomcoat/draft.h>
#include <bloomcoat/sampling.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define GOOD_ENOUGH      BC_FEWEST_USES
#define HARDLY_MORE      0.1  /* of the limit: a thinner design of equally many layers may use so much more */
#define MORE_LAYERS      2    /* looked at for a much thinner design */
#define HALF             0.5  /* so thin a design is worth a layer more */
#define EQUAL            1.01 /* times the lowest limit_used: as good as it */
#define TO_SPARE         0.8  /* of what is good enough: worth a look for thinner designs */
#define THIN_ENOUGH      0.8  /* times the total thickness */
#define NEGLIGIBLE       0.01 /* of the limit: designs that use no more are equally good */
#define CANDIDATE_WITHIN 1.5  /* candidates use at most this share of the limit, or of what the best uses */

/* A rung counts when it is better than every one below it, or thin where they are thick. */
static void add_rung(bc_draft_result *result, bc_rung *rung)
{
    bool counts = isfinite(rung->limit_used);
    for (size_t r = 0; r < result->rungs; r++)
        counts = counts && (rung->limit_used < result->rung[r].limit_used ||
                            (rung->limit_used <= GOOD_ENOUGH && rung->total_nm < HALF * result->rung[r].total_nm));
    if (counts)
        result->rung[result->rungs++] = *rung;
    else
        bc_offer_clear(rung);
}

static bc_status make_rung(bc_multistart *multistart, size_t layers, bc_draft_result *result, bc_error *error)
{
    bc_rung rung;
    const bc_status status =
        bc_offer_make(multistart->problem, &multistart->watch, &multistart->best.of[layers], &rung, error);
    if (status == BC_OK)
        add_rung(result, &rung);
    else
        bc_offer_clear(&rung);
    return status;
}

/* Thicker than one layer more of a quarter wave each would be: then a layer more may make it much thinner. */
static bool is_thick(const bc_multistart *multistart, const bc_rung *rung)
{
    const bc_palette *palette = bc_search_palette(multistart->search);
    double quarter_nm = 0.0, from_nm, to_nm;
    bc_asked_band(multistart->problem->callouts, multistart->problem->substrates, multistart->problem->substrate,
                  &from_nm, &to_nm);
    for (size_t m = 0; m < palette->materials; m++)
        quarter_nm = fmax(quarter_nm, palette->quarter_nm[m]);
    quarter_nm *= 0.5 * (1.0 + to_nm / from_nm); /* of the longest wavelength, not of the middle */
    return rung->total_nm > (double)(rung->stack.layers + 1) * quarter_nm;
}

/* "Fewest" on its way up. */
typedef struct ascent {
    bool met;    /* result->chosen meets the aim */
    size_t last; /* the most layers worth looking at */
} ascent;

/* "Fewest" at a number of layers: the rung, thin where it may be; the first that meets the aim, and then one of
 * a few layers more that is less than half as thick. */
static bc_status reach(bc_multistart *multistart, size_t layers, bc_draft_result *result, ascent *up, bc_error *error)
{
    const double most_nm = up->met ? HALF * result->rung[result->chosen].total_nm : INFINITY;
    const size_t before = result->rungs;
    bool thinner;
    bc_rung rung;
    bc_status status =
        bc_offer_make(multistart->problem, &multistart->watch, &multistart->best.of[layers], &rung, error);
    if (status == BC_OK && rung.limit_used <= GOOD_ENOUGH)
        status = bc_make_thinner(multistart, fmin(most_nm, rung.total_nm),
                                 up->met ? GOOD_ENOUGH : fmin(rung.limit_used + HARDLY_MORE, GOOD_ENOUGH), &rung,
                                 &thinner, error);
    if (status != BC_OK) {
        bc_offer_clear(&rung);
        return status;
    }
    add_rung(result, &rung);
    if (result->rungs > before && rung.limit_used <= GOOD_ENOUGH && rung.total_nm < most_nm) {
        result->chosen = before;
        up->met = true;
        up->last = is_thick(multistart, &result->rung[before]) ? layers + MORE_LAYERS : layers;
    }
    return status;
}

/* What is as good as the lowest limit_used; a design that meets the callouts is never as good as one that does not. */
static double as_good_as(double lowest)
{
    const double equal = fmax(EQUAL * lowest, NEGLIGIBLE);
    return lowest <= 1.0 ? fmin(equal, 1.0) : equal;
}

/* Of the designs that are as good as the lowest limit_used: the thinnest for "best", the fewest layers where nothing
 * met the aim of "fewest". */
static bc_status choose(bc_multistart *multistart, bc_draft_result *result, bc_error *error)
{
    const bool fewest = multistart->options->aim == BC_AIM_FEWEST;
    double lowest = INFINITY, acceptable;
    bc_status status = BC_OK;
    bool chosen = false;
    for (size_t r = 0; r < result->rungs; r++)
        lowest = fmin(lowest, result->rung[r].limit_used);
    acceptable = as_good_as(lowest);
    for (size_t r = 0; status == BC_OK && r < result->rungs; r++) {
        bc_rung *rung = &result->rung[r];
        bool thinner;
        if (rung->limit_used > acceptable)
            continue;
        if (!fewest)
            status = bc_make_thinner(multistart, rung->total_nm, acceptable, rung, &thinner, error);
        if (!chosen || (!fewest && rung->total_nm < result->rung[result->chosen].total_nm))
            result->chosen = r;
        chosen = true;
    }
    return status;
}

/* From few layers to many. "Fewest" looks at every rung as it is reached, the others only at the end. */
static bc_status climb(bc_multistart *multistart, bc_draft_result *result, bc_error *error)
{
    const bool fewest = multistart->options->aim == BC_AIM_FEWEST;
    const size_t most = multistart->problem->max_layers;
    bc_agreement agreement = {.enough = true};
    ascent up = {.last = most};
    bc_status status = BC_OK;
    for (size_t layers = 0;
         status == BC_OK && layers <= most && layers <= up.last && !bc_multistart_stopped(multistart); layers++) {
        result->looked_at = layers;
        if (layers > 0)
            agreement = bc_multistart_search(multistart, layers);
        if (multistart->failed)
            return bc_fail_memory(error);
        if (fewest)
            status = reach(multistart, layers, result, &up, error);
    }
    if (bc_watch_stopped(&multistart->watch))
        result->stop = BC_STOP_INTERRUPTED;
    else if (up.met)
        result->stop = BC_STOP_GOOD;
    else
        result->stop = agreement.enough && result->looked_at == most ? BC_STOP_CONVERGED : BC_STOP_BUDGET;
    /* A start may have more layers than were looked at before the search came to rest. */
    for (size_t layers = fewest ? result->looked_at + 1 : 0; status == BC_OK && layers <= most && !up.met; layers++)
        status = make_rung(multistart, layers, result, error);
    result->allowed = most;
    result->searches = agreement.searches;
    result->agreeing = agreement.agreeing;
    result->optima = agreement.optima;
    return status == BC_OK && !up.met ? choose(multistart, result, error) : status;
}

static bc_status refuse(const bc_design_problem *problem, const bc_draft_options *options, bc_error *error)
{
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

/* A process makes thin designs better than sharp ones: each rung with limit to spare, as thin as it may be. */
static bc_status add_thin_candidates(bc_multistart *multistart, bc_draft_result *result, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t r = 0; status == BC_OK && r < result->rungs; r++) {
        bc_rung *thin = &result->candidate[result->candidates];
        bool thinner = false;
        if (result->rung[r].limit_used > TO_SPARE * GOOD_ENOUGH)
            continue;
        *thin = (bc_rung){.total_nm = result->rung[r].total_nm, .limit_used = result->rung[r].limit_used};
        status = bc_stack_copy(&result->rung[r].stack, &thin->stack, error);
        if (status == BC_OK)
            status = bc_make_thinner(multistart, THIN_ENOUGH * thin->total_nm, GOOD_ENOUGH, thin, &thinner, error);
        if (status == BC_OK && thinner)
            result->candidates++;
        else
            bc_offer_clear(thin);
    }
    return status;
}

/* Which rung answers the aim, and what else is worth knowing. */
static bc_status conclude(bc_multistart *multistart, bc_draft_result *result, bc_error *error)
{
    bc_status status;
    double most;
    if (result->rungs == 0)
        return bc_fail(error, BC_ERROR_INPUT, "no stack of at most %zu layers keeps the limits on thickness",
                       multistart->problem->max_layers);
    result->starts = bc_search_refined(multistart->search);
    most = CANDIDATE_WITHIN * fmax(1.0, result->rung[result->chosen].limit_used);
    status = set_outers(multistart, result, error);
    if (bc_watch_stopped(&multistart->watch)) /* whoever stops a search does not wait for more of it */
        return status;
    if (status == BC_OK)
        status = bc_offer_alternative(multistart->problem, &multistart->watch, &multistart->best, result, error);
    if (status == BC_OK)
        status = bc_offer_candidates(multistart->problem, &multistart->best, most, result, error);
    if (status == BC_OK && multistart->options->aim == BC_AIM_YIELD)
        status = add_thin_candidates(multistart, result, error);
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
