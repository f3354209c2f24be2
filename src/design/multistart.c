/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "multistart.h"
#include "exploration.h"
#include "polish.h"
#include "starts.h"
#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SAME_LIMIT_USED 5e-4 /* relative: two searches agree */
/* Independent searches that ended at the same best, of half of those allowed: more bring nothing new. */
#define AGREEMENT 4
/* So do so many without a dissenter, of two materials: with more, a wide valley can fool them all. */
#define UNANIMOUS       8
#define KNOWN_END       2      /* searches that ended there */
#define SEARCHES_EVER   2000.0 /* whatever the effort: each keeps its own best designs */
#define FEWEST_SEARCHES 10     /* independent searches allowed at effort 1, ... */
#define MOST_SEARCHES   28     /* ... */
/* ... and in between this divided by the constraints, so that cheap problems get more, and by how many times the usual
 * layers are allowed. */
#define SEARCH_CONSTRAINTS  6700.0
#define USUAL_LAYERS        10.0
#define MOST_NEIGHBOURHOODS 12
#define OWN_KEPT            6  /* designs that one search keeps of a number of layers, ... */
#define ALL_KEPT            24 /* ... and all of them together */
#define QUIET_ROUNDS        2  /* rounds without anything better, after which one search rests */

/* Remember that this limit_used was an end, once. */
static void note_optimum(bc_multistart *d, double limit_used)
{
    size_t at = d->optima;
    while (at > 0 && d->optimum[at - 1] > limit_used)
        at--;
    if ((at > 0 && limit_used <= d->optimum[at - 1] * (1.0 + SAME_LIMIT_USED)) ||
        (at < d->optima && limit_used >= d->optimum[at] * (1.0 - SAME_LIMIT_USED)) || d->optima == BC_MOST_OPTIMA)
        return;
    memmove(&d->optimum[at + 1], &d->optimum[at], (d->optima - at) * sizeof *d->optimum);
    d->optimum[at] = limit_used;
    d->optima++;
}

static void note(bc_multistart *d, size_t layers, const bc_recipe *recipe)
{
    double *outer;
    if (recipe->layers == 0 || !isfinite(recipe->limit_used))
        return;
    outer = &d->outer[recipe->layers * d->problem->materials + recipe->material[0]];
    *outer = fmin(*outer, recipe->limit_used);
    if (recipe->layers == layers)
        note_optimum(d, recipe->limit_used);
}

bool bc_multistart_run(bc_multistart *d, bc_best *own, size_t layers, size_t tasks)
{
    const double before = bc_best_limit_used(own, layers);
    d->failed = !bc_search_run(d->search, tasks) || d->failed;
    for (size_t t = 0; t < tasks; t++) {
        const bc_recipe *recipe = &bc_search_task(d->search, t)->recipe;
        bc_best_offer(own, recipe);
        bc_best_offer(&d->best, recipe);
        note(d, layers, recipe);
    }
    return bc_best_limit_used(own, layers) < before * (1.0 - SAME_LIMIT_USED);
}

/* The work as a share of what is allowed. */
static double work_used(const bc_multistart *d)
{
    const double usual = d->problem->max_layers > BC_MANY_LAYERS ? BC_MOST_WORK_MANY : BC_MOST_WORK;
    const double most =
        d->options->most_work > 0.0 ? d->options->most_work : usual * fmax(d->options->effort, BC_LEAST_EFFORT);
    return bc_search_work(d->search) / most;
}

bool bc_multistart_stopped(const bc_multistart *multistart)
{
    return bc_watch_stopped(&multistart->watch) || multistart->failed || work_used(multistart) >= 1.0;
}

void bc_multistart_report(bc_multistart *d)
{
    const double best = bc_best_limit_used(&d->best, d->problem->max_layers);
    bc_watch_report(&d->watch, fmin(fmax((d->done + d->exploring) / d->all, work_used(d)), 1.0), best);
}

static size_t rounds_for(const bc_multistart *d, size_t layers)
{
    const bool top = d->problem->max_layers == layers;
    return 6 + (top ? 2 : 1) * layers / 2;
}

static bool decides(const bc_multistart *d, size_t layers)
{
    return d->options->aim == BC_AIM_FEWEST || d->problem->max_layers == layers;
}

static size_t most_searches(const bc_multistart *d, size_t layers)
{
    return decides(d, layers) || d->searches < AGREEMENT ? d->searches : AGREEMENT;
}

/* What one search of so many layers may take, in units of its own: for the progress. */
static double expected_work(const bc_multistart *d, size_t layers)
{
    return (double)((layers + 1) * (layers + 1)) * (double)rounds_for(d, layers);
}

static double expected_in_all(const bc_multistart *d)
{
    double all = 0.0;
    for (size_t layers = 1; layers <= d->problem->max_layers; layers++)
        all += (d->from_nothing ? 1.0 + BC_EXPLORATION : 1.0) * (double)most_searches(d, layers) *
               expected_work(d, layers);
    return all;
}

/* Every neighbour of the best design of a search. Returns whether one of them is better. */
static bool explore_best(bc_multistart *d, bc_best *own, size_t layers)
{
    const bc_best_of_count *of = &own->of[layers];
    return of->count > 0 && bc_explore(d, &of->design[0], false, layers, own);
}

/* Whether the search has arrived where others ended: from there it would only do once more what they did. */
static bool is_known_end(const bc_multistart *d, size_t search, size_t layers)
{
    const bc_best_of_count *of = &d->own[search].of[layers];
    size_t same = 0;
    for (size_t i = 0; of->count > 0 && i < search; i++)
        same += d->own[i].of[layers].count > 0 && bc_same_design(&of->design[0], &d->own[i].of[layers].design[0]);
    return same >= KNOWN_END;
}

/* One independent search, at `layers` layers: rounds of starts until it rests, `most` rounds at most, and then from
 * neighbour to better neighbour. */
static void search_once(bc_multistart *d, size_t search, size_t layers, size_t most)
{
    bc_best *own = &d->own[search];
    size_t quiet = 0;
    for (size_t round = 0; round < most && quiet < QUIET_ROUNDS && !bc_multistart_stopped(d); round++) {
        bc_starts_make(d, own, layers, round);
        quiet = bc_multistart_run(d, own, layers, BC_BATCH) ? 0 : quiet + 1;
        bc_multistart_report(d);
        if (is_known_end(d, search, layers))
            return;
    }
    for (size_t step = 0; step < d->neighbourhoods && !bc_multistart_stopped(d) && explore_best(d, own, layers); step++)
        ;
}

/* Of the searches that have looked at so many layers. */
static size_t count_agreeing(const bc_multistart *d, size_t layers, size_t searches)
{
    const double best = bc_best_limit_used(&d->best, layers);
    size_t agreeing = 0;
    for (size_t i = 0; i < searches; i++)
        agreeing += bc_best_limit_used(&d->own[i], layers) <= best * (1.0 + SAME_LIMIT_USED);
    return agreeing;
}

static bool is_enough(const bc_multistart *d, const bc_agreement *a, size_t fewest)
{
    const bool unanimous = d->problem->materials <= 2 && a->searches >= UNANIMOUS && a->agreeing == a->searches;
    return a->agreeing >= AGREEMENT && (a->searches >= fewest || unanimous);
}

bc_agreement bc_multistart_search(bc_multistart *d, size_t layers)
{
    const size_t most = most_searches(d, layers), fewest = decides(d, layers) ? (d->searches + 1) / 2 : AGREEMENT;
    const double work = bc_search_work(d->search), expected = expected_work(d, layers), done = d->done;
    bc_agreement agreement = {0};
    d->optima = 0;
    while (agreement.searches < most && !agreement.enough && !bc_multistart_stopped(d)) {
        search_once(d, agreement.searches++, layers, rounds_for(d, layers));
        d->done += expected;
        agreement.agreeing = count_agreeing(d, layers, agreement.searches);
        agreement.enough = is_enough(d, &agreement, fewest);
    }
    d->done = done + (double)most * expected;
    if (d->from_nothing && agreement.agreeing < agreement.searches)
        bc_explore_all(d, layers, decides(d, layers), BC_EXPLORATION * (bc_search_work(d->search) - work),
                       BC_EXPLORATION * (double)most * expected);
    d->exploring = 0.0;
    d->done = done + (d->from_nothing ? 1.0 + BC_EXPLORATION : 1.0) * (double)most * expected;
    agreement.agreeing = count_agreeing(d, layers, agreement.searches);
    agreement.enough = is_enough(d, &agreement, fewest);
    agreement.optima = d->optima;
    return agreement;
}

static void seed_all(bc_multistart *d, const bc_recipe *recipe)
{
    bc_best_offer(&d->best, recipe);
    for (size_t i = 0; i < d->searches; i++)
        bc_best_offer(&d->own[i], recipe);
}

/* The bare surface, or the start, is where every search begins. */
static bc_status seed_best(bc_multistart *d, bc_error *error)
{
    bc_recipe bare = {0};
    bc_status status = bc_recipe_alloc(d->problem->max_layers + 1, &bare, error);
    if (status != BC_OK)
        return status;
    bc_recipe_copy(d->from_nothing ? &bare : &d->start, &bare);
    status = bc_judge(d->problem, &bare, &bare.limit_used, error);
    if (status == BC_OK)
        seed_all(d, &bare);
    bc_recipe_clear(&bare);
    return status;
}

static bc_status take_start(bc_multistart *d, bc_error *error)
{
    const bc_stack *start = d->options->start;
    const bc_design_problem *problem = d->problem;
    if (start->layers > problem->max_layers)
        return bc_fail(error, BC_ERROR_INPUT, "the start has %zu layers; at most %zu are allowed", start->layers,
                       problem->max_layers);
    for (size_t j = 0; j < start->layers; j++) {
        unsigned m = 0;
        while (m < problem->materials && problem->material[m].dispersion != start->layer[j].material.dispersion)
            m++;
        if (m == problem->materials)
            return bc_fail(error, BC_ERROR_INPUT,
                           "layer %zu of the start is '%s', which is not among the layer materials",
                           bc_layer_number(start->layers, j), start->layer[j].material.name);
        d->start.material[j] = m;
        d->start.thickness_nm[j] = start->layer[j].thickness_nm;
        d->start.fixed[j] = start->layer[j].fixed;
    }
    d->start.layers = start->layers;
    return BC_OK;
}

static size_t count_searches(const bc_multistart *d)
{
    const double longer = fmax(1.0, (double)d->problem->max_layers / USUAL_LAYERS);
    const double affordable = SEARCH_CONSTRAINTS / (longer * (double)bc_search_constraints(d->search));
    return (size_t)fmin(fmax(1.0, round(fmin(fmax(affordable, FEWEST_SEARCHES), MOST_SEARCHES) * d->options->effort)),
                        SEARCHES_EVER);
}

static bc_status open_all(bc_multistart *d, bc_error *error)
{
    bc_status status = bc_recipe_alloc(d->problem->max_layers + 1, &d->start, error);
    if (status == BC_OK)
        status = bc_recipe_alloc(d->problem->max_layers + 1, &d->explored, error);
    gsl_set_error_handler_off();
    d->from_nothing = d->options->start == NULL;
    if (status == BC_OK && !d->from_nothing)
        status = take_start(d, error);
    if (status == BC_OK)
        status = bc_search_alloc(d->problem, d->options->threads, &d->watch, &d->search, error);
    if (status == BC_OK)
        status = bc_best_alloc(d->problem->max_layers, ALL_KEPT, &d->best, error);
    if (status == BC_OK)
        status = bc_best_alloc(d->problem->max_layers, OWN_KEPT, &d->thin, error);
    if (status == BC_OK)
        d->searches = count_searches(d);
    d->all = expected_in_all(d);
    d->own = calloc(d->searches + 1, sizeof *d->own);
    d->outer = calloc((d->problem->max_layers + 1) * d->problem->materials, sizeof *d->outer);
    if (status == BC_OK && (d->own == NULL || d->outer == NULL))
        status = bc_fail_memory(error);
    for (size_t o = 0; status == BC_OK && o < (d->problem->max_layers + 1) * d->problem->materials; o++)
        d->outer[o] = INFINITY;
    for (size_t i = 0; status == BC_OK && i < d->searches; i++)
        status = bc_best_alloc(d->problem->max_layers, OWN_KEPT, &d->own[i], error);
    if (status == BC_OK) {
        d->rng = gsl_rng_alloc(gsl_rng_mt19937);
        if (d->rng == NULL)
            return bc_fail_memory(error);
        gsl_rng_set(d->rng, d->options->seed);
        status = seed_best(d, error);
    }
    return status;
}

bc_status bc_multistart_open(const bc_design_problem *problem, const bc_draft_options *options,
                             bc_multistart *multistart, bc_error *error)
{
    bc_status status;
    memset(multistart, 0, sizeof *multistart);
    multistart->problem = problem;
    multistart->neighbourhoods = MOST_NEIGHBOURHOODS;
    multistart->options = options;
    multistart->watch.progress = options->progress;
    multistart->watch.context = options->progress_context;
    multistart->watch.limit_used = INFINITY;
    status = open_all(multistart, error);
    if (status != BC_OK)
        bc_multistart_close(multistart);
    return status;
}

void bc_multistart_close(bc_multistart *multistart)
{
    for (size_t i = 0; multistart->own != NULL && i < multistart->searches; i++)
        bc_best_clear(&multistart->own[i]);
    free(multistart->own);
    free(multistart->outer);
    bc_recipes_clear(&multistart->looked_at);
    bc_best_clear(&multistart->best);
    bc_best_clear(&multistart->thin);
    bc_search_free(multistart->search);
    bc_recipe_clear(&multistart->start);
    bc_recipe_clear(&multistart->explored);
    if (multistart->rng != NULL)
        gsl_rng_free(multistart->rng);
    memset(multistart, 0, sizeof *multistart);
}
