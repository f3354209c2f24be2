/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "crossing.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FEWEST_SHARE 0.4  /* of the layers: parents have no fewer */
#define MOST_PARENTS 128  /* in all, ... */
#define TOP_PARENTS  12   /* ... of all layers at first, ... */
#define PARENTS      4    /* ... of each number of fewer */
#define LOOKED_AT    4    /* times as many are looked at, to find so many that are apart */
#define TAKEN_UP     6    /* looked at of each number of layers after a turn */
#define WORTH_IT     1.05 /* times the best of its number of layers: what is above it is no parent */
#define APART        0.03 /* how far parents differ (bc_recipe_distance()), ... */
#define STARTS_APART 0.05 /* ... and starts */
#define MORE         2    /* layers of a start over those asked for: the refinement prunes them */
#define FEWER        2    /* under those asked for */
#define TURN         (5 * BC_BATCH)
#define MOST_JOINTS  200000 /* kept, the best of them */
#define GIVE_UP      1.5

/* The `outer_layers` outer layers of one parent upon the inner layers of another, from its layer `from` on. */
typedef struct joint {
    double score; /* mean of u, of all that is asked */
    unsigned outer, inner, outer_layers, from;
} joint;

struct bc_crossing {
    bc_multistart *d;
    size_t layers, fewest;
    bc_recipes parents, tried;
    size_t joints, capacity;
    joint *joint;
    double rating, most_rating; /* bc_search_work() of it */
    bc_recipe start;            /* scratch */
};

static bool is_any_near(const bc_recipes *list, const bc_recipe *recipe, double apart)
{
    for (size_t k = 0; k < list->count; k++)
        if (list->recipe[k].layers == recipe->layers && bc_recipe_distance(&list->recipe[k], recipe) < apart)
            return true;
    return false;
}

static void join(const bc_crossing *c, const joint *j, bc_recipe *recipe)
{
    const bc_recipe *inner = &c->parents.recipe[j->inner];
    bc_recipe_copy(&c->parents.recipe[j->outer], recipe);
    bc_cross(inner, j->outer_layers, j->outer_layers + inner->layers - j->from, recipe);
}

static void make_start(const void *context, size_t i, bc_recipe *recipe)
{
    const bc_crossing *c = context;
    join(c, &c->joint[i], recipe);
}

static bc_status add_joint(bc_crossing *c, joint added)
{
    join(c, &added, &c->start);
    if (c->start.layers > c->layers + MORE || c->start.layers + FEWER < c->layers)
        return BC_OK;
    if (c->joints == c->capacity) {
        const size_t capacity = 2 * c->capacity + 1024;
        joint *more = realloc(c->joint, capacity * sizeof *more);
        if (more == NULL)
            return BC_ERROR_MEMORY;
        c->joint = more;
        c->capacity = capacity;
    }
    c->joint[c->joints++] = added;
    return BC_OK;
}

static bc_status add_joints_of(bc_crossing *c, size_t outer, size_t inner)
{
    const size_t layers = c->parents.recipe[inner].layers;
    bc_status status = BC_OK;
    for (size_t kept = 1; status == BC_OK && kept <= c->parents.recipe[outer].layers; kept++)
        for (size_t from = 0; status == BC_OK && from < layers; from++) {
            const size_t all = kept + layers - from;
            if (all <= c->layers + MORE && all + FEWER >= c->layers && (outer != inner || kept != from))
                status = add_joint(c, (joint){0.0, (unsigned)outer, (unsigned)inner, (unsigned)kept, (unsigned)from});
        }
    return status;
}

/* The best first; equal ones in the order of their numbers, whatever sorts them. */
static int compare_joints(const void *left, const void *right)
{
    const joint *a = left, *b = right;
    if (a->score != b->score)
        return a->score < b->score ? -1 : 1;
    if (a->outer != b->outer)
        return a->outer < b->outer ? -1 : 1;
    if (a->inner != b->inner)
        return a->inner < b->inner ? -1 : 1;
    if (a->outer_layers != b->outer_layers)
        return a->outer_layers < b->outer_layers ? -1 : 1;
    return (a->from > b->from) - (a->from < b->from);
}

/* A new parent, and its joints with itself and all others; none where rating has taken what it may. */
static bc_status add_parent(bc_crossing *c, const bc_recipe *design)
{
    const double before = bc_search_work(c->d->search);
    const size_t added = c->parents.count, first = c->joints;
    bc_status status;
    if (added == MOST_PARENTS || c->rating >= c->most_rating || bc_multistart_stopped(c->d))
        return BC_OK;
    status = bc_recipes_add(&c->parents, design);
    for (size_t k = 0; status == BC_OK && k <= added; k++) {
        status = add_joints_of(c, k, added);
        if (status == BC_OK && k < added)
            status = add_joints_of(c, added, k);
    }
    if (status != BC_OK)
        return status;
    for (size_t i = first; i < c->joints; i += BC_SCORES) {
        double score[BC_SCORES];
        const size_t count = c->joints - i < BC_SCORES ? c->joints - i : BC_SCORES;
        bc_search_rate(c->d->search, &(bc_starts){i, count, make_start, c}, score);
        for (size_t k = 0; k < count; k++)
            c->joint[i + k].score = score[k];
    }
    c->rating += bc_search_work(c->d->search) - before;
    bc_multistart_report(c->d);
    return status;
}

static void sort(bc_crossing *c)
{
    if (c->joints > 0)
        qsort(c->joint, c->joints, sizeof *c->joint, compare_joints);
    if (c->joints > MOST_JOINTS)
        c->joints = MOST_JOINTS;
}

/* Of the first `looked_at` designs of so many layers those that are worth it and like no parent, up to `most`. */
static bc_status add_parents(bc_crossing *c, const bc_best *best, size_t layers, size_t looked_at, double worth,
                             size_t most)
{
    const bc_best_of_count *of = &best->of[layers];
    const size_t before = c->parents.count;
    bc_status status = BC_OK;
    for (size_t k = 0; status == BC_OK && k < of->count && k < looked_at && c->parents.count < before + most; k++)
        if (of->design[k].limit_used <= worth * of->design[0].limit_used &&
            !is_any_near(&c->parents, &of->design[k], APART))
            status = add_parent(c, &of->design[k]);
    return status;
}

bc_status bc_crossing_take_up(bc_crossing *c)
{
    bc_status status = BC_OK;
    for (size_t n = c->layers; status == BC_OK && n >= c->fewest; n--)
        status = add_parents(c, &c->d->best, n, TAKEN_UP, WORTH_IT, TAKEN_UP);
    sort(c);
    return status;
}

/* The best designs of all searches with so many layers, as many as are apart. */
static bc_status add_first_parents(bc_crossing *c, size_t layers, size_t most)
{
    bc_best all = {0};
    bc_status status = bc_best_alloc(layers, LOOKED_AT * most, &all, NULL);
    for (size_t i = 0; status == BC_OK && i <= c->d->searches; i++) {
        const bc_best *best = i < c->d->searches ? &c->d->own[i] : &c->d->best;
        for (size_t k = 0; k < best->of[layers].count; k++)
            bc_best_offer(&all, &best->of[layers].design[k]);
    }
    if (status == BC_OK)
        status = add_parents(c, &all, layers, LOOKED_AT * most, INFINITY, most);
    bc_best_clear(&all);
    return status;
}

bc_status bc_crossing_alloc(bc_multistart *d, size_t layers, double most_rating, bc_crossing **out)
{
    bc_crossing *c = calloc(1, sizeof *c);
    bc_status status;
    *out = NULL;
    if (c == NULL)
        return BC_ERROR_MEMORY;
    c->d = d;
    c->layers = layers;
    c->fewest = (size_t)fmax(2.0, FEWEST_SHARE * (double)layers);
    c->most_rating = most_rating;
    status = bc_recipe_alloc(2 * layers, &c->start, NULL);
    for (size_t n = layers; status == BC_OK && n >= c->fewest; n--)
        status = add_first_parents(c, n, n == layers ? TOP_PARENTS : PARENTS);
    sort(c);
    if (status == BC_OK)
        *out = c;
    else
        bc_crossing_free(c);
    return status;
}

void bc_crossing_free(bc_crossing *c)
{
    if (c == NULL)
        return;
    bc_recipes_clear(&c->parents);
    bc_recipes_clear(&c->tried);
    bc_recipe_clear(&c->start);
    free(c->joint);
    free(c);
}

/* The next start that is like none before it and like no parent, into a task. */
static bool next_start(bc_crossing *c, size_t *at, bc_task *task)
{
    for (; *at < c->joints; ++*at) {
        join(c, &c->joint[*at], &c->start);
        if (is_any_near(&c->tried, &c->start, STARTS_APART) || is_any_near(&c->parents, &c->start, STARTS_APART))
            continue;
        if (bc_recipes_add(&c->tried, &c->start) != BC_OK) {
            c->d->failed = true;
            return false;
        }
        bc_recipe_copy(&c->start, &task->recipe);
        task->rough = false;
        task->grow = -1;
        task->give_up = GIVE_UP * bc_best_limit_used(&c->d->best, c->layers);
        ++*at;
        return true;
    }
    return false;
}

size_t bc_crossing_turn(bc_crossing *c)
{
    size_t at = 0, made = 0;
    bool more = true;
    while (more && made < TURN && !bc_multistart_stopped(c->d)) {
        size_t tasks = 0;
        while (tasks < BC_BATCH && more) {
            more = next_start(c, &at, bc_search_task(c->d->search, tasks));
            tasks += more;
        }
        bc_multistart_run(c->d, &c->d->best, c->layers, tasks);
        bc_multistart_report(c->d);
        made += tasks;
    }
    if (at > 0)
        memmove(c->joint, c->joint + at, (c->joints - at) * sizeof *c->joint);
    c->joints -= at;
    return made;
}
