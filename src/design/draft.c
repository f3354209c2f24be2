/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "polish.h"
#include "search.h"
#include <bloomcoat/draft.h>
#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define GOOD_ENOUGH 0.9       /* limit_used at which "fewest" is content */
#define WORTH_POLISHING 1.05  /* over the best of its number of films */
#define POLISHED 3            /* of them at most */
#define GIVE_UP 2.0           /* a first descent that ends this far above the best is left there */
#define SAME_LIMIT_USED 5e-4  /* relative: two searches agree */
#define AGREEMENT 3           /* independent searches that ended at the same best ... */
#define FEWEST_ISLANDS 10     /* ... of at least so many: more bring nothing new */
#define MOST_ISLANDS 30       /* independent searches at effort 1 */
#define QUIET_ROUNDS 3        /* rounds without anything better, after which one search rests */

/* A draft under way. */
typedef struct draft {
    const bc_design_problem *problem;
    const bc_draft_options *options;
    bc_search *search;
    size_t islands;    /* independent searches, each with a ladder of its own */
    bc_ladder *island; /* [islands] */
    bc_ladder ladder;  /* the best of all */
    bc_recipe start;
    bool from_nothing;
    gsl_rng *rng;
    double done, all; /* rounds, for the progress */
    bool cancelled;
} draft;

static size_t below(draft *d, size_t count)
{
    return gsl_rng_uniform_int(d->rng, count);
}

/* One of the best designs of about `films` films; NULL when there is none yet. */
static const bc_recipe *pick_elite(draft *d, const bc_ladder *ladder, size_t films)
{
    const size_t spread[] = {0, 0, 0, 1, 1, 2};
    const size_t fewer = spread[below(d, 6)];
    size_t n = films > fewer ? films - fewer : 0;
    while (n > 0 && ladder->step[n].count == 0)
        n--;
    if (ladder->step[n].count == 0)
        return NULL;
    return &ladder->step[n].elite[below(d, ladder->step[n].count)];
}

static void random_start(draft *d, size_t films, bc_task *task)
{
    bc_move_random(bc_search_palette(d->search), d->rng, films, &task->recipe);
    task->rough = below(d, 2) == 0;
}

/* A new start from a design that is good already. */
static void moved_start(draft *d, size_t films, const bc_recipe *elite, bc_task *task)
{
    const bc_palette *palette = bc_search_palette(d->search);
    bc_recipe_copy(elite, &task->recipe);
    if (task->recipe.films < films && below(d, 3) > 0) {
        task->grow = (int)below(d, 8);
        return;
    }
    switch (below(d, 7)) {
    case 0:
        bc_move_shake(palette, d->rng, 0.15, &task->recipe);
        break;
    case 1:
        bc_move_shake(palette, d->rng, 0.5, &task->recipe);
        break;
    case 2:
        bc_move_swap(palette, d->rng, &task->recipe);
        break;
    case 3:
        bc_move_drop(d->rng, &task->recipe);
        task->grow = (int)below(d, 8);
        break;
    case 4:
        bc_move_half_wave(palette, d->rng, &task->recipe);
        break;
    case 5:
        bc_move_cut_in(palette, d->rng, &task->recipe);
        break;
    default:
        bc_move_drop(d->rng, &task->recipe);
        bc_move_cut_in(palette, d->rng, &task->recipe);
        break;
    }
}

/* The starts of one round for `films` films: fresh ones, fewer as the rounds go on, the others from the best so far. */
static void make_starts(draft *d, const bc_ladder *island, size_t films, size_t round)
{
    const size_t fresh = d->from_nothing ? (round == 0 ? BC_BATCH / 2 : BC_BATCH / 4) : 0;
    for (size_t t = 0; t < BC_BATCH; t++) {
        bc_task *task = bc_search_task(d->search, t);
        const bc_recipe *elite = t < fresh ? NULL : pick_elite(d, island, films);
        task->rough = false;
        task->grow = -1;
        task->give_up = GIVE_UP * bc_ladder_best(island, films);
        if (elite == NULL && !d->from_nothing)
            elite = &d->start;
        if (elite == NULL || elite->films == 0)
            random_start(d, films, task);
        else
            moved_start(d, films, elite, task);
    }
}

static bool offer_all(draft *d, bc_ladder *island, size_t films)
{
    const double before = bc_ladder_best(island, films);
    for (size_t t = 0; t < BC_BATCH; t++) {
        bc_ladder_offer(island, &bc_search_task(d->search, t)->recipe);
        bc_ladder_offer(&d->ladder, &bc_search_task(d->search, t)->recipe);
    }
    return bc_ladder_best(island, films) < before * (1.0 - SAME_LIMIT_USED);
}

static void report_progress(draft *d)
{
    const bc_draft_options *options = d->options;
    const double best = bc_ladder_best(&d->ladder, d->problem->max_films);
    if (options->progress != NULL && !options->progress(options->progress_context, fmin(d->done / d->all, 1.0), best))
        d->cancelled = true;
}

static size_t rounds_for(const draft *d, size_t films)
{
    const bool top = d->problem->max_films == films;
    return 6 + (top ? 2 : 1) * films / 2;
}

/* One independent search, at `films` films: rounds of starts until it rests, `most` rounds at most. */
static void search_island(draft *d, bc_ladder *island, size_t films, size_t most)
{
    size_t quiet = 0;
    for (size_t round = 0; round < most && quiet < QUIET_ROUNDS && !d->cancelled; round++) {
        make_starts(d, island, films, round);
        bc_search_run(d->search, BC_BATCH);
        quiet = offer_all(d, island, films) ? 0 : quiet + 1;
        report_progress(d);
    }
}

/* How many of the searches have reached the best that any of them knows for `films` films. */
static size_t count_agreeing(const draft *d, size_t films)
{
    const double best = bc_ladder_best(&d->ladder, films);
    size_t agreeing = 0;
    for (size_t i = 0; i < d->islands; i++)
        agreeing += bc_ladder_best(&d->island[i], films) <= best * (1.0 + SAME_LIMIT_USED);
    return agreeing;
}

/* Search at `films` films until enough independent searches agree on the best. Returns how many do. */
static size_t search_films(draft *d, size_t films)
{
    const bool decides = d->options->aim == BC_AIM_FEWEST || d->problem->max_films == films;
    const size_t islands = decides ? d->islands : (d->islands < AGREEMENT ? d->islands : AGREEMENT);
    for (size_t i = 0; i < islands && !d->cancelled; i++) {
        search_island(d, &d->island[i], films, rounds_for(d, films));
        d->done += 1.0;
        if (i + 1 >= (decides ? FEWEST_ISLANDS : AGREEMENT) && count_agreeing(d, films) >= AGREEMENT) {
            d->done += (double)(islands - i - 1);
            break;
        }
    }
    return count_agreeing(d, films);
}

/* Polish the best designs of one number of films; the best of them becomes a rung. */
static bc_status make_rung(draft *d, size_t films, bc_rung *rung, bc_error *error)
{
    const bc_step *step = &d->ladder.step[films];
    bc_recipe trial = {0}, best = {0};
    size_t evaluations = 0;
    bc_stop stop;
    bc_status status = bc_recipe_alloc(films + 1, &trial, error);
    if (status == BC_OK)
        status = bc_recipe_alloc(films + 1, &best, error);
    for (size_t e = 0; status == BC_OK && e < step->count && e < POLISHED; e++) {
        if (step->elite[e].limit_used > WORTH_POLISHING * step->elite[0].limit_used)
            break;
        bc_recipe_copy(&step->elite[e], &trial);
        status = bc_polish(d->problem, &trial, &evaluations, &stop, error);
        if (status == BC_OK && trial.limit_used < best.limit_used)
            bc_recipe_copy(&trial, &best);
    }
    if (status == BC_OK && isfinite(best.limit_used)) {
        status = bc_recipe_to_stack(&best, d->problem, &rung->stack, error);
        rung->total_nm = bc_recipe_total_nm(&best);
        rung->limit_used = best.limit_used;
    } else {
        rung->limit_used = INFINITY;
    }
    bc_recipe_clear(&trial);
    bc_recipe_clear(&best);
    return status;
}

/* A rung counts only when it is better than every one below it. */
static bool add_rung(bc_draft_result *result, const bc_rung *rung)
{
    if (!isfinite(rung->limit_used) ||
        (result->rungs > 0 && rung->limit_used >= result->rung[result->rungs - 1].limit_used))
        return false;
    result->rung[result->rungs++] = *rung;
    return true;
}

static bc_status climb(draft *d, bc_draft_result *result, bc_error *error)
{
    const bool fewest = d->options->aim == BC_AIM_FEWEST;
    size_t agreeing = AGREEMENT;
    d->all = (double)(d->problem->max_films - 1) * (double)(fewest ? d->islands : AGREEMENT) + (double)d->islands;
    for (size_t films = 0; films <= d->problem->max_films && !d->cancelled; films++) {
        bc_rung rung = {0};
        bc_status status;
        if (films > 0)
            agreeing = search_films(d, films);
        if (!fewest)
            continue;
        status = make_rung(d, films, &rung, error);
        if (status != BC_OK)
            return status;
        if (!add_rung(result, &rung))
            bc_stack_clear(&rung.stack);
        if (rung.limit_used <= GOOD_ENOUGH) {
            result->stop = BC_STOP_GOOD;
            return BC_OK;
        }
    }
    result->stop = agreeing >= AGREEMENT ? BC_STOP_CONVERGED : BC_STOP_BUDGET;
    for (size_t films = 0; !fewest && films <= d->problem->max_films; films++) {
        bc_rung rung = {0};
        const bc_status status = make_rung(d, films, &rung, error);
        if (status != BC_OK)
            return status;
        if (!add_rung(result, &rung))
            bc_stack_clear(&rung.stack);
    }
    return BC_OK;
}

static void seed_ladders(draft *d, const bc_recipe *recipe)
{
    bc_ladder_offer(&d->ladder, recipe);
    for (size_t i = 0; i < d->islands; i++)
        bc_ladder_offer(&d->island[i], recipe);
}

/* The bare surface, or the start, is where the ladders stand. */
static bc_status seed_ladder(draft *d, bc_error *error)
{
    bc_recipe bare = {0};
    bc_status status = bc_recipe_alloc(d->problem->max_films + 1, &bare, error);
    if (status != BC_OK)
        return status;
    bc_recipe_copy(d->from_nothing ? &bare : &d->start, &bare);
    status = bc_judge(d->problem, &bare, &bare.limit_used, error);
    if (status == BC_OK)
        seed_ladders(d, &bare);
    bc_recipe_clear(&bare);
    return status;
}

static bc_status take_start(draft *d, bc_error *error)
{
    const bc_stack *start = d->options->start;
    const bc_design_problem *problem = d->problem;
    if (start->films > problem->max_films)
        return bc_fail(error, BC_ERROR_INPUT, "the start has %zu films; at most %zu are allowed", start->films,
                       problem->max_films);
    for (size_t j = 0; j < start->films; j++) {
        unsigned m = 0;
        while (m < problem->materials && problem->material[m].dispersion != start->film[j].material.dispersion)
            m++;
        if (m == problem->materials)
            return bc_fail(error, BC_ERROR_INPUT, "film %zu of the start is '%s', which is not among the film materials",
                           j + 1, start->film[j].material.name);
        d->start.material[j] = m;
        d->start.thickness_nm[j] = start->film[j].thickness_nm;
        d->start.fixed[j] = start->film[j].fixed;
    }
    d->start.films = start->films;
    return BC_OK;
}

static bc_status refuse(const bc_design_problem *problem, const bc_draft_options *options, bc_error *error)
{
    if (problem->materials == 0 || problem->substrates == 0 || problem->callouts->count == 0)
        return bc_fail(error, BC_ERROR_INPUT, "a draft needs callouts, a substrate and at least one film material");
    if (problem->max_films == 0)
        return bc_fail(error, BC_ERROR_INPUT, "at most 0 films; expected 1 or more");
    if (!(options->effort > 0.0 && options->effort <= 1000.0))
        return bc_fail(error, BC_ERROR_INPUT, "effort %g; expected more than 0 and at most 1000", options->effort);
    if (!(problem->minimum_nm >= 0.0) || !(problem->max_total_nm > problem->minimum_nm))
        return bc_fail(error, BC_ERROR_INPUT, "at least %g nm a film and at most %g nm in all leave no room for a film",
                       problem->minimum_nm, problem->max_total_nm);
    return BC_OK;
}

static bc_status open_draft(draft *d, bc_error *error)
{
    bc_status status = bc_recipe_alloc(d->problem->max_films + 1, &d->start, error);
    gsl_set_error_handler_off();
    d->from_nothing = d->options->start == NULL;
    if (status == BC_OK && !d->from_nothing)
        status = take_start(d, error);
    if (status == BC_OK)
        status = bc_search_alloc(d->problem, d->options->threads, &d->search, error);
    if (status == BC_OK)
        status = bc_ladder_alloc(d->problem->max_films, &d->ladder, error);
    d->islands = (size_t)fmax(1.0, round(MOST_ISLANDS * d->options->effort));
    d->island = calloc(d->islands, sizeof *d->island);
    if (status == BC_OK && d->island == NULL)
        status = bc_fail_memory(error);
    for (size_t i = 0; status == BC_OK && i < d->islands; i++)
        status = bc_ladder_alloc(d->problem->max_films, &d->island[i], error);
    if (status == BC_OK) {
        d->rng = gsl_rng_alloc(gsl_rng_mt19937);
        if (d->rng == NULL)
            return bc_fail_memory(error);
        gsl_rng_set(d->rng, d->options->seed);
        status = seed_ladder(d, error);
    }
    return status;
}

static void choose(const draft *d, bc_draft_result *result)
{
    result->chosen = result->rungs == 0 ? 0 : result->rungs - 1;
    for (size_t r = result->rungs; d->options->aim == BC_AIM_FEWEST && r-- > 0;)
        if (result->rung[r].limit_used <= GOOD_ENOUGH)
            result->chosen = r;
}

bc_status bc_draft(const bc_design_problem *problem, const bc_draft_options *options, bc_draft_result *result,
                   bc_error *error)
{
    draft d = {.problem = problem, .options = options};
    bc_status status = refuse(problem, options, error);
    memset(result, 0, sizeof *result);
    if (status == BC_OK)
        status = open_draft(&d, error);
    if (status == BC_OK) {
        result->rung = calloc(problem->max_films + 1, sizeof *result->rung);
        if (result->rung == NULL)
            status = bc_fail_memory(error);
    }
    if (status == BC_OK)
        status = climb(&d, result, error);
    if (status == BC_OK) {
        result->starts = bc_search_refined(d.search);
        choose(&d, result);
    } else {
        bc_draft_result_clear(result);
    }
    if (d.rng != NULL)
        gsl_rng_free(d.rng);
    for (size_t i = 0; d.island != NULL && i < d.islands; i++)
        bc_ladder_clear(&d.island[i]);
    free(d.island);
    bc_ladder_clear(&d.ladder);
    bc_search_free(d.search);
    bc_recipe_clear(&d.start);
    return status;
}

void bc_draft_result_clear(bc_draft_result *result)
{
    for (size_t r = 0; r < result->rungs; r++)
        bc_stack_clear(&result->rung[r].stack);
    free(result->rung);
    memset(result, 0, sizeof *result);
}
