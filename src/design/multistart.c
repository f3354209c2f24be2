/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "multistart.h"
#include "neighbours.h"
#include "polish.h"
#include "starts.h"
#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define GIVE_UP_WIDE    1.5  /* as BC_GIVE_UP, in a wide exploration */
#define SAME_LIMIT_USED 5e-4 /* relative: two searches agree */
/* Independent searches that ended at the same best, of half of those allowed: more bring nothing new. */
#define AGREEMENT 4
/* So do so many without a dissenter, of two materials: with more, a wide valley can fool them all. */
#define UNANIMOUS           8
#define KNOWN_END           2      /* searches that ended there */
#define SEARCHES_EVER       2000.0 /* whatever the effort: each keeps its own best designs */
#define FEWEST_SEARCHES     10     /* independent searches allowed at effort 1, ... */
#define MOST_SEARCHES       28     /* ... */
#define SEARCH_CONSTRAINTS  6700.0 /* ... and between the two this over the constraints: cheap problems get more */
#define MOST_NEIGHBOURHOODS 12
#define EXPLORATION         1.5  /* work of the exploration of all ends, over that of the searches */
#define MOST_LOOKS          80.0 /* designs explored at effort 1, ... */
#define FEW_LOOKS           8.0  /* ... with a number of layers that does not decide */
#define OWN_KEPT            6    /* designs that one search keeps of a number of layers, ... */
#define ALL_KEPT            24   /* ... and all of them together */
#define LEAST_EFFORT        0.1  /* a search of less effort is bounded like one of so much */
#define QUIET_ROUNDS        2    /* rounds without anything better, after which one search rests */
#define NEAR                0.05 /* of the total thickness: designs that differ less have the same neighbours */
#define WORTH_IT            2.0  /* times the best limit_used: what is above it is not explored */
#define EVERY_NTH           3    /* looks at designs of one layer less */

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
        d->options->most_work > 0.0 ? d->options->most_work : usual * fmax(d->options->effort, LEAST_EFFORT);
    return bc_search_work(d->search) / most;
}

bool bc_multistart_stopped(const bc_multistart *multistart)
{
    return bc_watch_stopped(&multistart->watch) || multistart->failed || work_used(multistart) >= 1.0;
}

static void report_progress(bc_multistart *d)
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
        all +=
            (d->from_nothing ? 1.0 + EXPLORATION : 1.0) * (double)most_searches(d, layers) * expected_work(d, layers);
    return all;
}

bool bc_multistart_explore(bc_multistart *d, const bc_recipe *design, bool wide, size_t layers, bc_best *own)
{
    const double give_up = (wide ? GIVE_UP_WIDE : BC_GIVE_UP) * bc_best_limit_used(own, layers);
    bool better = false, more = design->layers > 0;
    bc_recipe_copy(design, &d->explored);
    for (size_t number = 0; more && !bc_multistart_stopped(d);) {
        size_t tasks = 0;
        while (tasks < BC_BATCH && more) {
            bc_task *task = bc_search_task(d->search, tasks);
            task->rough = false;
            task->give_up = give_up;
            more = bc_neighbour(bc_search_palette(d->search), &d->explored, wide, number++, task);
            tasks += more;
        }
        better = bc_multistart_run(d, own, layers, tasks) || better;
        report_progress(d);
    }
    return better;
}

/* Every neighbour of the best design of a search. Returns whether one of them is better. */
static bool explore_best(bc_multistart *d, bc_best *own, size_t layers)
{
    const bc_best_of_count *of = &own->of[layers];
    return of->count > 0 && bc_multistart_explore(d, &of->design[0], false, layers, own);
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
        report_progress(d);
        if (is_known_end(d, search, layers))
            return;
    }
    for (size_t step = 0; step < d->neighbourhoods && !bc_multistart_stopped(d) && explore_best(d, own, layers);
         step++)
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

/* What all searches found, together: the neighbours of every good design are looked at, best first and each only once,
 * so that a narrow valley beside one that most searches end in is found. */
typedef struct pool_limits {
    size_t extras;     /* designs explored */
    double from, work; /* of the whole search (bc_search_work()) at which it begins and ends */
    double expected;   /* of it, for the progress */
} pool_limits;

static bool was_explored(const bc_exploration *e, const bc_recipe *design)
{
    for (size_t k = 0; k < e->count; k++)
        if (bc_recipe_is_near(design, &e->done[k], NEAR))
            return true;
    return false;
}

/* The best design of so many layers whose neighbours were not looked at; NULL when there is none. */
static const bc_recipe *find_next(const bc_exploration *e, const bc_best *best, size_t layers, double most)
{
    const bc_best_of_count *of = &best->of[layers];
    for (size_t k = 0; k < of->count && of->design[k].limit_used <= most; k++)
        if (!was_explored(e, &of->design[k]))
            return &of->design[k];
    return NULL;
}

static bc_status remember(bc_exploration *e, const bc_recipe *design)
{
    bc_status status;
    if (e->count == e->capacity) {
        const size_t capacity = 2 * e->capacity + 16;
        bc_recipe *more = realloc(e->done, capacity * sizeof *more);
        if (more == NULL)
            return BC_ERROR_MEMORY;
        e->done = more;
        e->capacity = capacity;
    }
    status = bc_recipe_alloc(design->layers + 1, &e->done[e->count], NULL);
    if (status == BC_OK)
        bc_recipe_copy(design, &e->done[e->count++]);
    return status;
}

/* Explore designs of `layers` layers, and of one less, until none is left within reach or a limit is met. */
static bc_status explore_within(bc_multistart *d, bc_exploration *e, size_t layers, const pool_limits *limits)
{
    bc_status status = BC_OK;
    for (size_t extras = 0; status == BC_OK && extras < limits->extras && !bc_multistart_stopped(d); extras++) {
        const double most = WORTH_IT * bc_best_limit_used(&d->best, layers);
        const size_t fewer = layers > 1 ? layers - 1 : layers;
        const size_t first = extras % EVERY_NTH == EVERY_NTH - 1 ? fewer : layers;
        const bc_recipe *next = find_next(e, &d->best, first, most);
        const double used = (bc_search_work(d->search) - limits->from) / (limits->work - limits->from);
        d->exploring = limits->expected * fmin(1.0, fmax(used, (double)extras / (double)limits->extras));
        if (next == NULL)
            next = find_next(e, &d->best, first == layers ? fewer : layers, most);
        if (next == NULL || next->layers == 0 || bc_search_work(d->search) >= limits->work)
            break;
        status = remember(e, next);
        if (status == BC_OK)
            bc_multistart_explore(d, &e->done[e->count - 1], true, layers, &d->best);
    }
    return status;
}

static void clear_exploration(bc_exploration *e)
{
    for (size_t k = 0; k < e->count; k++)
        bc_recipe_clear(&e->done[k]);
    free(e->done);
    memset(e, 0, sizeof *e);
}

/* What all searches found is explored together, with no more work than EXPLORATION times theirs. */
static bool explore_pool(bc_multistart *d, size_t layers, double searched)
{
    const double effort = fmax(d->options->effort, LEAST_EFFORT);
    const pool_limits limits = {
        .extras = (size_t)ceil((decides(d, layers) ? MOST_LOOKS : FEW_LOOKS) * effort),
        .from = bc_search_work(d->search),
        .work = bc_search_work(d->search) + EXPLORATION * searched,
        .expected = EXPLORATION * (double)most_searches(d, layers) * expected_work(d, layers),
    };
    return explore_within(d, &d->exploration, layers, &limits) == BC_OK;
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
        d->failed = !explore_pool(d, layers, bc_search_work(d->search) - work) || d->failed;
    d->exploring = 0.0;
    d->done = done + (d->from_nothing ? 1.0 + EXPLORATION : 1.0) * (double)most * expected;
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
    const double affordable = SEARCH_CONSTRAINTS / (double)bc_search_constraints(d->search);
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
    clear_exploration(&multistart->exploration);
    bc_best_clear(&multistart->best);
    bc_best_clear(&multistart->thin);
    bc_search_free(multistart->search);
    bc_recipe_clear(&multistart->start);
    bc_recipe_clear(&multistart->explored);
    if (multistart->rng != NULL)
        gsl_rng_free(multistart->rng);
    memset(multistart, 0, sizeof *multistart);
}
