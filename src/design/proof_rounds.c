/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "jobs.h"
#include "offers.h"
#include "polish.h"
#include "proof_task.h"
#include "recipe.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define JOBS        64     /* boxes whose halves are looked at side by side, then taken up again in their order */
#define FIRST_BOXES 1024.0 /* of all jobs of the first round; later rounds have more */
#define MOST_BOXES  262144.0
#define CLOSE       0.998 /* of what the samples allow: nearer is not worth the time */
#define THINNEST_NM 0.1   /* what is thinner is dropped from a design found */
#define WORTH_SPOTS 1.0005

static void set_target(bc_proof_task *t)
{
    const double best = t->step->best.limit_used;
    t->target = fmin(t->aim * fmin(best, (best - BC_PROOF_NEGLIGIBLE) / BC_PROOF_SHARE), t->cap);
}

/* ---- Designs found ---- */

static bc_status keep_if_better(bc_proof_task *t, const bc_recipe *recipe, bc_error *error)
{
    bc_stack stack = {0};
    bc_status status;
    const double total = bc_recipe_total_nm(recipe);
    if (!(recipe->limit_used < t->step->best.limit_used) || total > t->problem->max_total_nm)
        return BC_OK;
    status = bc_recipe_to_stack(recipe, t->problem, &stack, error);
    if (status != BC_OK)
        return status;
    bc_offer_clear(&t->step->best);
    t->step->best = (bc_rung){stack, total, recipe->limit_used};
    return BC_OK;
}

static bc_status recipe_of(const bc_proof_task *t, const bc_search_job *found, bc_recipe *recipe, bc_error *error)
{
    const size_t layers = t->sequences.layers;
    const bc_status status = bc_recipe_alloc(layers + 1, recipe, error);
    for (size_t j = 0; status == BC_OK && j < layers; j++) /* outer layer first */
        bc_recipe_insert(recipe, j, t->sequences.material[found->best_sequence * layers + layers - 1 - j],
                         found->best_nm[layers - 1 - j]);
    return status;
}

/* The best centre of a round, refined on the verdict's samples. */
static bc_status polish(bc_proof_task *t, const bc_search_job *found, bc_error *error)
{
    bc_recipe recipe = {0};
    bc_status status = recipe_of(t, found, &recipe, error);
    for (bool again = status == BC_OK; again;) {
        size_t evaluations = 0;
        bc_stop stop;
        bc_recipe_tidy(&recipe, THINNEST_NM);
        again = false;
        if (recipe.layers == 0)
            break;
        status = bc_polish(t->problem, &recipe, &evaluations, &stop, error);
        if (status == BC_OK)
            status = keep_if_better(t, &recipe, error);
        if (status == BC_OK && t->problem->minimum_nm < THINNEST_NM)
            again = bc_recipe_tidy(&recipe, THINNEST_NM);
    }
    bc_recipe_clear(&recipe);
    return status;
}

/* Where a verdict finds this centre worse than the samples do, they take a look as well. */
static bc_status add_spots(bc_proof_task *t, const bc_search_job *found, bool *added, bc_error *error)
{
    bc_recipe recipe = {0};
    bc_stack stack = {0};
    bc_check_result check = {0};
    bc_status status = recipe_of(t, found, &recipe, error);
    *added = false;
    if (status == BC_OK)
        status = bc_recipe_to_stack(&recipe, t->problem, &stack, error);
    if (status == BC_OK)
        status = bc_problem_check(t->problem, &stack, &check, error);
    for (size_t f = 0; status == BC_OK && f < check.count && t->extra_samples < BC_PROOF_MOST_SPOTS; f++) {
        const bc_finding *finding = &check.finding[f];
        if (finding->limit_used <= WORTH_SPOTS * found->best)
            continue;
        t->extra_sample[t->extra_samples++] =
            (bc_light_spot){.callout = finding->callout,
                            .glass = (size_t)(finding->substrate - t->problem->substrate),
                            .zone = finding->zone,
                            .aoi_rad = finding->at_aoi_rad,
                            .at_nm = finding->at_nm};
        *added = true;
    }
    bc_check_result_clear(&check);
    bc_stack_clear(&stack);
    bc_recipe_clear(&recipe);
    return status;
}

/* ---- Workspaces ---- */

static void close_excluders(bc_proof_task *t)
{
    for (size_t w = 0; t->excluder != NULL && w < t->threads; w++)
        bc_excluder_close(&t->excluder[w]);
}

static bc_status open_light(bc_proof_task *t, bc_error *error)
{
    bc_status status;
    close_excluders(t);
    bc_light_close(&t->light);
    status = bc_light_open(t->problem, t->sequences.layers, t->problem->max_total_nm, t->extra_samples, t->extra_sample,
                           &t->light, error);
    for (size_t w = 0; status == BC_OK && w < t->threads; w++)
        status = bc_excluder_open(&t->light, t->sequences.layers, &t->excluder[w], error);
    return status;
}

void bc_proof_task_close(bc_proof_task *t)
{
    close_excluders(t);
    bc_light_close(&t->light);
    for (size_t j = 0; t->job != NULL && j < JOBS; j++)
        free(t->job[j].box);
    free(t->job);
    free(t->excluder);
    free(t->open);
    free(t->sequences.material);
}

static bc_status open_task(bc_proof_task *t, size_t layers, bc_error *error)
{
    bc_status status = bc_sequences_list(t->problem, layers, &t->sequences, error);
    t->threads = bc_threads(t->options->threads);
    t->excluder = calloc(t->threads, sizeof *t->excluder);
    t->job = calloc(JOBS, sizeof *t->job);
    if (status == BC_OK && (t->excluder == NULL || t->job == NULL))
        status = bc_fail_memory(error);
    for (size_t j = 0; status == BC_OK && j < JOBS; j++) {
        t->job[j].box = calloc(BC_OPEN_BOXES + 1, sizeof(bc_open_box));
        t->job[j].room = BC_OPEN_BOXES;
        if (t->job[j].box == NULL)
            status = bc_fail_memory(error);
    }
    return status == BC_OK ? open_light(t, error) : status;
}

/* ---- Rounds ---- */

static bc_status push(bc_proof_task *t, const bc_open_box *box, size_t boxes, bc_error *error)
{
    if (t->opened + boxes > t->capacity) {
        const size_t capacity = 2 * (t->opened + boxes) + 64;
        bc_open_box *more = realloc(t->open, capacity * sizeof *more);
        if (more == NULL)
            return bc_fail_memory(error);
        t->open = more;
        t->capacity = capacity;
    }
    memcpy(t->open + t->opened, box, boxes * sizeof *box);
    t->opened += boxes;
    return BC_OK;
}

/* Everything there is: one box for each sequence. */
static bc_status push_all(bc_proof_task *t, bc_error *error)
{
    bc_status status = BC_OK;
    t->opened = 0;
    t->excluded = 0.0;
    t->unresolved = INFINITY;
    for (size_t s = 0; status == BC_OK && s < t->sequences.count; s++) {
        bc_open_box box = {.share = 1.0 / (double)t->sequences.count, .sequence = s, .group = (size_t)-1};
        for (size_t j = 0; j < t->sequences.layers; j++) {
            box.low_nm[j] = t->problem->minimum_nm;
            box.high_nm[j] = fmax(t->problem->max_total_nm, t->problem->minimum_nm);
        }
        status = push(t, &box, 1, error);
    }
    return status;
}

static void run_job(void *context, size_t worker, size_t i)
{
    bc_proof_task *t = context;
    const bc_exclusion asked = {.light = &t->light,
                                .sequences = &t->sequences,
                                .least_nm = t->problem->minimum_nm,
                                .total_nm = t->problem->max_total_nm,
                                .target = t->target * (1.0 + BC_PROOF_ROUNDING)};
    bc_search_boxes(&asked, &t->excluder[worker], &t->job[i]);
}

static bool between(void *context, size_t done)
{
    bc_proof_task *t = context;
    (void)done;
    if (t->options->progress != NULL &&
        !t->options->progress(t->options->progress_context, t->excluded, t->step->best.limit_used))
        t->cancelled = true;
    return !t->cancelled;
}

/* Hand out the boxes opened last, look at them, and take up what is left of them in the same order. */
static bc_status run_round(bc_proof_task *t, double boxes, const bc_search_job **best, bc_error *error)
{
    const size_t jobs = t->opened < JOBS ? t->opened : JOBS;
    const bc_jobs all = {.count = jobs, .threads = t->threads, .job = run_job, .between = between, .context = t};
    bc_status status = BC_OK;
    *best = NULL;
    for (size_t j = 0; j < jobs; j++) {
        bc_search_job *job = &t->job[j];
        *job = (bc_search_job){.box = job->box,
                               .boxes = 1,
                               .room = job->room,
                               .most_boxes = ceil(boxes / (double)jobs),
                               .unresolved = INFINITY,
                               .best = INFINITY};
        job->box[0] = t->open[t->opened - jobs + j];
    }
    t->opened -= jobs;
    bc_jobs_run(&all);
    for (size_t j = 0; status == BC_OK && j < jobs; j++) {
        const bc_search_job *job = &t->job[j];
        t->boxes += job->looked_at;
        t->work += job->work;
        t->excluded += job->excluded;
        t->unresolved = fmin(t->unresolved, job->unresolved);
        if (job->best < INFINITY && (*best == NULL || job->best < (*best)->best))
            *best = job;
        status = push(t, job->box, job->boxes, error);
    }
    return status;
}

/* What a centre that the samples find better than the target is good for: a better design, or a closer look; or else
 * more than it is cannot be proved. */
static bc_status learn(bc_proof_task *t, const bc_search_job *best, bc_error *error)
{
    bc_status status = BC_OK;
    bool added = false;
    if (best->best < t->step->best.limit_used * CLOSE)
        status = polish(t, best, error);
    set_target(t);
    if (status != BC_OK || best->best >= t->target)
        return status;
    if (t->light.weakened[0] == '\0' && t->extra_samples < BC_PROOF_MOST_SPOTS)
        status = add_spots(t, best, &added, error);
    if (status == BC_OK && added)
        return open_light(t, error);
    t->cap = fmin(t->cap, CLOSE * best->best);
    set_target(t);
    return status;
}

static double most_work(const bc_proof_task *t)
{
    const double most = t->options->most_work;
    return t->sequences.layers > BC_PROOF_AT_ONCE ? BC_PROOF_MORE * most : most;
}

/* Exclude everything below `aim` times the best; false in *done when stopped before. */
static bc_status reach(bc_proof_task *t, double aim, bool *done, bc_error *error)
{
    double boxes = FIRST_BOXES;
    bc_status status = push_all(t, error);
    t->aim = aim;
    set_target(t);
    *done = false;
    while (status == BC_OK && t->opened > 0) {
        const bc_search_job *best;
        if (t->work >= most_work(t) || t->cancelled)
            return BC_OK;
        status = run_round(t, boxes, &best, error);
        if (t->cancelled)
            return status;
        if (status == BC_OK && best != NULL)
            status = learn(t, best, error);
        boxes = fmin(2.0 * boxes, MOST_BOXES);
    }
    *done = status == BC_OK;
    return status;
}

/* Few layers are a matter of seconds; of many, a lower bound comes first, so that something is known at any time. */
bc_status bc_proof_layers(bc_proof_task *t, size_t layers, bc_error *error)
{
    static const double aims[] = {0.25, 0.5, 0.75, 0.9, BC_PROOF_SHARE};
    const size_t count = sizeof aims / sizeof aims[0];
    const double fewer = t->step->limit_used_at_least;
    bc_status status = open_task(t, layers, error);
    t->step->limit_used_at_least = 0.0;
    t->cap = INFINITY;
    for (size_t a = layers <= 3 ? count - 1 : 0; status == BC_OK && a < count && t->light.rows > 0; a++) {
        bool done;
        status = reach(t, aims[a], &done, error);
        t->ended_early = !done;
        if (status != BC_OK || !done)
            break;
        t->step->limit_used_at_least =
            fmax(0.0, fmin(fewer, fmin(t->target, t->unresolved * (1.0 - BC_PROOF_ROUNDING))));
        if (t->target >= t->cap)
            break;
    }
    t->step->boxes = t->boxes;
    return status;
}
