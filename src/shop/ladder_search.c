/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "found.h"
#include "ladder.h"
#include "options.h"
#include <bloomcoat/sampling.h>
#include <math.h>
#include <stdlib.h>

#define FIRST_SEED   1u /* of the first search, whatever the request's */
#define FEW_LAYERS   4  /* with more than these a search is for the usual number, or more */
#define USUAL_LAYERS 8

/* Searches, one after the other. Layers crowd towards thick stacks where a band is narrow, whose many orders all meet
 * it on paper: so thin ones are searched for by themselves. */
static const struct {
    double effort; /* of a draft, times the quote's */
    double waves;  /* no thicker in all than so many of the longest wavelength; 0: as thick as may be */
    bc_ladder_part part, part_of_few; /* of the progress, measured; where few layers are enough */
} searches[] = {{0.006, 0.85, {0.0, 0.04}, {0.0, 0.04}},
                {0.02, 0.85, {0.09, 0.27}, {0.4, 0.55}},
                {0.014, 0.0, {0.27, 0.5}, {0.55, 0.95}}};

static const bc_ladder_part first_climb = {0.04, 0.09}, last_climb = {0.5, 1.0}, last_climb_of_few = {0.95, 1.0};
#define SEARCHES (sizeof searches / sizeof *searches)

typedef struct reported {
    bc_pool *pool;
    bc_ladder_part part;
} reported;

static bool pass_on(void *context, double fraction, double limit_used)
{
    const reported *to = context;
    bc_ladder_report(to->pool, &to->part, fraction, limit_used);
    return !bc_watch_stopped(to->pool->watch);
}

/* Every design the draft hands out, as it is; of one that was stopped the best, since whoever stops it does not wait.
 */
static bc_status take_draft(bc_pool *pool, const bc_draft_result *draft, bc_error *error)
{
    const size_t most = draft->rungs + draft->candidates;
    const size_t first = bc_watch_stopped(pool->watch) ? draft->chosen : 0;
    bc_making *making = calloc(most + 1, sizeof *making);
    size_t count = 0;
    bc_status status;
    if (making == NULL)
        return bc_fail_memory(error);
    for (size_t r = first; r < draft->rungs; r++)
        if (draft->rung[r].stack.layers > 0)
            making[count++] = (bc_making){.problem = pool->problem, .start = &draft->rung[r].stack};
    for (size_t k = 0; k < draft->candidates; k++)
        if (draft->candidate[k].stack.layers > 0)
            making[count++] = (bc_making){.problem = pool->problem, .start = &draft->candidate[k].stack};
    status = bc_pool_make(pool, count, making, NULL, error);
    free(making);
    return status;
}

/* Rounded up, so that what is found with few layers does not depend on how many more are allowed. */
static size_t layers_searched(size_t max_layers)
{
    return max_layers > FEW_LAYERS && max_layers < USUAL_LAYERS ? USUAL_LAYERS : max_layers;
}

static bc_status search(bc_pool *pool, size_t which, double effort, unsigned long seed, size_t most_layers,
                        const bc_ladder_part *part, bc_proof *proof, bc_error *error)
{
    const bc_quote_request *request = pool->request;
    bc_design_problem problem = *pool->problem;
    reported to = {pool, *part};
    const bc_draft_options options = {.aim = BC_AIM_BEST,
                                      .seed = seed,
                                      .effort = bc_share_of_effort(searches[which].effort, effort),
                                      .threads = request->threads,
                                      .progress = pass_on,
                                      .progress_context = &to};
    bc_draft_result draft;
    double from_nm, to_nm;
    bc_status status;
    bc_asked_band(problem.callouts, problem.substrates, problem.substrate, &from_nm, &to_nm);
    if (searches[which].waves * to_nm > 2.0 * problem.minimum_nm)
        problem.max_total_nm = fmin(problem.max_total_nm, searches[which].waves * to_nm);
    problem.max_layers = most_layers;
    status = bc_draft(&problem, &options, &draft, error);
    if (status != BC_OK)
        return status;
    /* Once, and for the last search: it is for the problem as it was asked. */
    if (which + 1 == SEARCHES && proof != NULL && request->proof != NULL && proof->steps == 0 &&
        !bc_watch_stopped(pool->watch)) {
        status = bc_draft_prove(&problem, &options, request->proof, &draft, proof, NULL, error);
        if (status != BC_OK) {
            bc_draft_result_clear(&draft);
            return status;
        }
    }
    status = take_draft(pool, &draft, error);
    bc_draft_result_clear(&draft);
    return status == BC_OK ? bc_show_designs(pool, error) : status;
}

static size_t fewer_of(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* Few layers first. Where no run fails with them, the other searches have no need of more. */
static bc_status search_all(bc_pool *pool, double effort, unsigned long seed, bool robust, bc_proof *proof,
                            bc_error *error)
{
    const size_t allowed = pool->problem->max_layers, few = fewer_of(allowed, FEW_LAYERS);
    size_t most = layers_searched(allowed), enough = 0;
    bc_status status = BC_OK;
    if (pool->problem->materials == 0)
        return BC_OK;
    for (size_t s = 0; status == BC_OK && s < SEARCHES && !bc_watch_stopped(pool->watch); s++) {
        const bc_ladder_part *part = enough > 0 ? &searches[s].part_of_few : &searches[s].part;
        status = search(pool, s, effort, seed, s == 0 ? few : most, part, proof, error);
        if (status == BC_OK && s == 0 && robust)
            status = bc_ladder_climb(pool, few, &first_climb, &enough, error);
        if (enough > 0)
            most = few;
    }
    if (status != BC_OK || !robust)
        return status;
    return bc_ladder_climb(pool, fewer_of(most, allowed), enough > 0 ? &last_climb_of_few : &last_climb, &enough,
                           error);
}

bc_status bc_ladder_search(bc_pool *pool, bc_proof *proof, bc_error *error)
{
    const bc_quote_request *request = pool->request;
    return search_all(pool, fmin(request->effort, 1.0), FIRST_SEED, bc_yield_is_known(request), proof, error);
}

bc_status bc_ladder_search_more(bc_pool *pool, bc_error *error)
{
    const bc_quote_request *request = pool->request;
    return search_all(pool, request->effort, request->seed, bc_yield_is_known(request), NULL, error);
}
