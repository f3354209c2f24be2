/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "search.h"
#include "budget.h"
#include "jobs.h"
#include "merit_work.h"
#include <math.h>
#include <stdlib.h>

#define ROOM            2   /* layers a move may add beyond the most allowed, before they are pruned */
#define VANISHED_NM     0.1 /* with no lower bound, a layer thinner than this is none */
#define ROUGH_STEPS     20
#define HOPELESS        2.0 /* after so few steps still this far above what would be given up later */
#define FIRST_STEPS     60
#define LAST_STEPS      60
#define FIRST_TOLERANCE 1e-2
#define LAST_TOLERANCE  1e-4
#define SQUARES_STEPS   12

/* One thread's engines and scratch. */
typedef struct worker {
    struct bc_search *search;
    bc_merit *merit;
    bc_optimizer *optimizer;
    bc_recipe split;
} worker;

struct bc_search {
    const bc_design_problem *problem;
    bc_palette palette;
    double *quarter_nm;
    size_t threads, refined, capacity;
    double work;
    worker *worker;
    bc_task task[BC_BATCH];
};

/* Quarter waves in the middle of all bands together: the scale of random starts. */
static bc_status set_palette(bc_search *search, bc_error *error)
{
    const bc_design_problem *problem = search->problem;
    double from_nm, to_nm, middle;
    bc_asked_band(problem->callouts, problem->substrates, problem->substrate, &from_nm, &to_nm);
    middle = 2.0 / (1.0 / from_nm + 1.0 / to_nm);
    search->quarter_nm = calloc(problem->materials + 1, sizeof *search->quarter_nm);
    if (search->quarter_nm == NULL)
        return bc_fail_memory(error);
    for (size_t m = 0; m < problem->materials; m++) {
        double n;
        const bc_status status = bc_dispersion_index(problem->material[m].dispersion, 1, &middle, &n, NULL, error);
        if (status != BC_OK)
            return status;
        search->quarter_nm[m] = middle / (4.0 * n);
    }
    search->palette = (bc_palette){.materials = problem->materials,
                                   .quarter_nm = search->quarter_nm,
                                   .limits = {problem->minimum_nm, problem->max_total_nm, INFINITY}};
    return BC_OK;
}

static bc_status open_worker(bc_search *search, worker *w, bc_error *error)
{
    const size_t split_layers = BC_PIECES * search->capacity + 1;
    bc_status status =
        bc_merit_alloc(search->problem, BC_DENSITY_SEARCH, split_layers, BC_NO_FRINGES, &w->merit, error);
    w->search = search;
    if (status == BC_OK)
        status = bc_optimizer_alloc(search->capacity, bc_merit_constraints(w->merit), &w->optimizer, error);
    if (status == BC_OK)
        status = bc_recipe_alloc(split_layers, &w->split, error);
    return status;
}

bc_status bc_search_alloc(const bc_design_problem *problem, size_t threads, bc_watch *watch, bc_search **out,
                          bc_error *error)
{
    bc_search *search = calloc(1, sizeof *search);
    bc_status status;
    *out = NULL;
    if (search == NULL)
        return bc_fail_memory(error);
    search->problem = problem;
    search->capacity = problem->max_layers + ROOM;
    search->threads = bc_threads(threads);
    status = set_palette(search, error);
    search->worker = calloc(search->threads, sizeof *search->worker);
    if (status == BC_OK && search->worker == NULL)
        status = bc_fail_memory(error);
    for (size_t t = 0; status == BC_OK && t < search->threads; t++) {
        status = open_worker(search, &search->worker[t], error);
        if (status == BC_OK)
            bc_optimizer_watch(search->worker[t].optimizer, watch, t == 0);
        if (status == BC_OK && t == 0)
            search->threads = bc_merit_threads(search->worker[0].merit, search->threads);
    }
    for (size_t t = 0; status == BC_OK && t < BC_BATCH; t++)
        status = bc_recipe_alloc(search->capacity, &search->task[t].recipe, error);
    if (status == BC_OK)
        *out = search;
    else
        bc_search_free(search);
    return status;
}

void bc_search_free(bc_search *search)
{
    if (search == NULL)
        return;
    for (size_t t = 0; search->worker != NULL && t < search->threads; t++) {
        bc_merit_free(search->worker[t].merit);
        bc_optimizer_free(search->worker[t].optimizer);
        bc_recipe_clear(&search->worker[t].split);
    }
    for (size_t t = 0; t < BC_BATCH; t++)
        bc_recipe_clear(&search->task[t].recipe);
    free(search->worker);
    free(search->quarter_nm);
    free(search);
}

bc_task *bc_search_task(bc_search *search, size_t task)
{
    return &search->task[task];
}

const bc_palette *bc_search_palette(const bc_search *search)
{
    return &search->palette;
}

void bc_search_set_most(bc_search *search, double most_nm)
{
    search->palette.limits.most_nm = most_nm;
}

size_t bc_search_constraints(const bc_search *search)
{
    return bc_merit_constraints(search->worker[0].merit);
}

size_t bc_search_refined(const bc_search *search)
{
    return search->refined;
}

double bc_search_work(const bc_search *search)
{
    return search->work;
}

/* Whether thicknesses exist at all that keep both limits. */
static bool fits(const bc_limits *limits, const bc_recipe *recipe)
{
    double least = 0.0;
    for (size_t j = 0; j < recipe->layers; j++)
        least += recipe->fixed[j] ? recipe->thickness_nm[j] : limits->lower_nm + 0.1;
    return least < limits->most_nm;
}

static size_t thinnest_layer(const bc_recipe *recipe)
{
    size_t thinnest = recipe->layers;
    for (size_t j = 0; j < recipe->layers; j++)
        if (!recipe->fixed[j] &&
            (thinnest == recipe->layers || recipe->thickness_nm[j] < recipe->thickness_nm[thinnest]))
            thinnest = j;
    return thinnest;
}

static void descend(worker *w, bc_recipe *recipe, unsigned steps, double tolerance)
{
    const bc_limits *limits = &w->search->palette.limits;
    if (fits(limits, recipe))
        bc_minimax(w->optimizer, w->merit, limits, recipe, steps, tolerance);
    else
        recipe->limit_used = INFINITY;
}

/* Layers that vanished are taken out, and too many are brought down to the number allowed. */
static bool simplify(worker *w, bc_recipe *recipe)
{
    const double vanished = w->search->palette.limits.lower_nm > 0.0 ? 0.0 : VANISHED_NM;
    bool changed = bc_recipe_tidy(recipe, vanished);
    if (recipe->layers > w->search->problem->max_layers) {
        const size_t layer = thinnest_layer(recipe);
        if (layer < recipe->layers) {
            bc_recipe_remove(recipe, layer);
            bc_recipe_tidy(recipe, vanished);
            changed = true;
        }
    }
    return changed;
}

static void refine(worker *w, bc_task *task)
{
    bc_recipe *recipe = &task->recipe;
    const bc_search *search = w->search;
    if (task->grow >= 0) {
        const size_t before = recipe->layers;
        descend(w, recipe, FIRST_STEPS, LAST_TOLERANCE);
        if (!isfinite(recipe->limit_used) ||
            !bc_insert_best(w->optimizer, w->merit, search->palette.materials,
                            fmax(search->palette.limits.lower_nm, 2.0), (size_t)task->grow, &w->split, recipe)) {
            recipe->layers = before;
            recipe->limit_used = INFINITY;
            return;
        }
    }
    if (task->rough && fits(&search->palette.limits, recipe))
        task->failed =
            bc_least_squares(w->optimizer, w->merit, &search->palette.limits, recipe, SQUARES_STEPS) != BC_OK;
    descend(w, recipe, ROUGH_STEPS, FIRST_TOLERANCE);
    if (!(recipe->limit_used < HOPELESS * task->give_up)) {
        recipe->limit_used = INFINITY;
        return;
    }
    descend(w, recipe, FIRST_STEPS, FIRST_TOLERANCE);
    while (simplify(w, recipe) && recipe->layers > 0)
        descend(w, recipe, FIRST_STEPS, FIRST_TOLERANCE);
    if (recipe->layers > search->problem->max_layers)
        recipe->limit_used = INFINITY; /* fixed layers alone are too many */
    if (recipe->limit_used < task->give_up) {
        descend(w, recipe, LAST_STEPS, LAST_TOLERANCE);
        if (simplify(w, recipe))
            descend(w, recipe, LAST_STEPS, LAST_TOLERANCE);
    }
}

static void take_up(void *context, size_t hand, size_t i)
{
    bc_search *search = context;
    worker *w = &search->worker[hand];
    bc_task *task = &search->task[i];
    const size_t before = bc_merit_evaluations(w->merit), layers = task->recipe.layers;
    task->failed = false;
    refine(w, task);
    task->work = (double)(bc_merit_evaluations(w->merit) - before) * bc_merit_work(w->merit, layers);
}

bool bc_search_run(bc_search *search, size_t tasks)
{
    bool failed = false;
    bc_jobs_run(&(bc_jobs){.count = tasks, .threads = search->threads, .job = take_up, .context = search});
    search->refined += tasks;
    for (size_t t = 0; t < tasks; t++) {
        search->work += search->task[t].work;
        failed = failed || search->task[t].failed;
    }
    return !failed;
}

typedef struct rating {
    bc_search *search;
    const bc_starts *starts;
    double *score, work[BC_SCORES];
} rating;

static void rate(void *context, size_t hand, size_t i)
{
    rating *r = context;
    worker *w = &r->search->worker[hand];
    const size_t constraints = bc_merit_constraints(w->merit);
    const double *u = bc_merit_u(w->merit);
    double sum = 0.0;
    r->starts->make(r->starts->context, r->starts->first + i, &w->split);
    bc_merit_evaluate(w->merit, w->split.layers, w->split.material, w->split.thickness_nm, false);
    for (size_t c = 0; c < constraints; c++)
        sum += fmax(u[c], 0.0);
    r->score[i] = sum / (double)constraints;
    r->work[i] = bc_merit_value_work(w->merit, w->split.layers);
}

void bc_search_rate(bc_search *search, const bc_starts *starts, double *score)
{
    rating all = {.search = search, .starts = starts, .score = score};
    bc_jobs_run(&(bc_jobs){.count = starts->count, .threads = search->threads, .job = rate, .context = &all});
    for (size_t i = 0; i < starts->count; i++)
        search->work += all.work[i];
}
