/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What the pool takes of the designs that are made for it, and what a changed problem is tried with.
 */
#include "exceptions.h"
#include "inquiry.h"
#include <math.h>
#include <pthread.h>
#include <stdlib.h>

typedef struct scene {
    inquiry q;
    bc_watch watch;
    bc_pool pool;
    pthread_t caller;
    size_t asked, elsewhere; /* of the progress */
} scene;

static bool progress(void *context, double fraction, double limit_used)
{
    scene *s = context;
    (void)fraction;
    (void)limit_used;
    s->asked++;
    s->elsewhere += !pthread_equal(pthread_self(), s->caller);
    return true;
}

/* Two layers, 2.1 next to the substrate. */
static void open_scene(scene *s, size_t threads)
{
    *s = (scene){.caller = pthread_self()};
    open_inquiry(&s->q, "1.38,2.1", 4);
    workshop_ask(&s->q.w, 0.01, 500.0, 600.0, 0.0);
    workshop_errors(&s->q.w, "*", 0.01, 0.005, 0.0);
    s->q.request.process = &s->q.w.process;
    s->q.request.threads = threads;
    s->watch = (bc_watch){.progress = progress, .context = s, .limit_used = INFINITY};
    s->pool = (bc_pool){.request = &s->q.request, .problem = &s->q.w.problem, .watch = &s->watch};
}

static void close_scene(scene *s)
{
    bc_pool_clear(&s->pool);
    workshop_close(&s->q.w);
}

static size_t make(scene *s, size_t count, bc_making *making)
{
    size_t added = 0;
    bc_error error;
    ck_assert_msg(bc_pool_make(&s->pool, count, making, &added, &error) == BC_OK, "%s", error.message);
    return added;
}

/* However many threads refine, the caller's own alone asks whether to go on, and it asks again and again. */
START_TEST(the_caller_alone_is_asked)
{
    enum { COUNT = 6 };
    bc_stack start[COUNT];
    bc_making making[COUNT] = {0};
    scene s;
    open_scene(&s, (size_t)_i);
    for (size_t i = 0; i < COUNT; i++) {
        s.q.w.stack.layer[0].thickness_nm = 80.0 + 10.0 * (double)i;
        ck_assert_int_eq(bc_stack_copy(&s.q.w.stack, &start[i], NULL), BC_OK);
        making[i] = (bc_making){.problem = &s.q.w.problem, .start = &start[i], .spread = 2.0};
    }
    make(&s, COUNT, making);
    ck_assert_uint_eq(s.elsewhere, 0);
    ck_assert_uint_gt(s.asked, COUNT + 2);
    for (size_t i = 0; i < COUNT; i++)
        bc_stack_clear(&start[i]);
    close_scene(&s);
}
END_TEST

/* A stop leaves out what is to be refined, not what only has to be looked at. */
START_TEST(a_stop_leaves_refinements_out)
{
    bc_stack other;
    bc_making making[2] = {0};
    scene s;
    open_scene(&s, 1);
    atomic_store(&s.watch.stopped, true);
    ck_assert_int_eq(bc_stack_copy(&s.q.w.stack, &other, NULL), BC_OK);
    other.layer[0].thickness_nm = 90.0;
    for (size_t i = 0; i < 2; i++)
        making[i] = (bc_making){
            .problem = &s.q.w.problem, .start = i == 0 ? &s.q.w.stack : &other, .spread = _i == 0 ? 2.0 : 0.0};
    ck_assert_uint_eq(make(&s, 2, making), _i == 0 ? 0 : 2);
    bc_stack_clear(&other);
    close_scene(&s);
}
END_TEST

/* Layers are kept to 0.001 nm: to the nearest, or down where the nearest would be too thick together. */
START_TEST(layers_are_rounded)
{
    static const struct {
        double most_nm, nm[2];
    } rounded[] = {{INFINITY, {100.0, 50.001}}, {150.0, {100.0, 50.0}}, {150.001, {100.0, 50.001}}};
    bc_making making = {0};
    scene s;
    open_scene(&s, 1);
    s.q.w.problem.max_total_nm = rounded[_i].most_nm;
    s.q.w.stack.layer[0].thickness_nm = 100.0004;
    s.q.w.stack.layer[1].thickness_nm = 50.0006;
    making = (bc_making){.problem = &s.q.w.problem, .start = &s.q.w.stack};
    ck_assert_uint_eq(make(&s, 1, &making), 1);
    for (size_t j = 0; j < 2; j++)
        ck_assert_double_eq_tol(s.pool.design[0].stack.layer[j].thickness_nm, rounded[_i].nm[j], 1e-9);
    close_scene(&s);
}
END_TEST

/* Too many layers, too thick together, too thin and not fixed; what just keeps the bounds is taken, once. */
START_TEST(bounds_are_kept)
{
    static const struct {
        size_t layers, added;
        double least_nm, most_nm;
        bool fixed;
    } bound[] = {{2, 1, 40.0, 140.0, false}, {1, 0, 0.0, 1e4, false}, {2, 0, 0.0, 139.0, false},
                 {2, 0, 40.5, 1e4, false},   {2, 1, 40.5, 1e4, true}, {2, 0, 100.5, 1e4, true},
                 {2, 0, 40.5, 139.0, true}};
    bc_design_problem free_problem;
    bc_making making[2] = {0};
    scene s;
    open_scene(&s, 1);
    free_problem = s.q.w.problem;
    s.q.w.problem.max_layers = bound[_i].layers;
    s.q.w.problem.minimum_nm = bound[_i].least_nm;
    s.q.w.problem.max_total_nm = bound[_i].most_nm;
    s.q.w.stack.layer[1].thickness_nm = 40.0;
    s.q.w.stack.layer[1].fixed = bound[_i].fixed;
    for (unsigned i = 0; i < 2; i++)
        making[i] = (bc_making){.problem = &free_problem, .start = &s.q.w.stack, .step = 1u << i};
    ck_assert_uint_eq(make(&s, 2, making), bound[_i].added);
    ck_assert_uint_eq(s.pool.count, bound[_i].added);
    if (s.pool.count > 0)
        ck_assert_uint_eq(s.pool.design[0].made, 3);
    close_scene(&s);
}
END_TEST

/* Near: the layers differ by less than 2 % of the second's total, together. */
START_TEST(what_one_refinement_would_make_of_both)
{
    bc_stack other;
    scene s;
    open_scene(&s, 1);
    ck_assert_int_eq(bc_stack_copy(&s.q.w.stack, &other, NULL), BC_OK);
    other.layer[0].thickness_nm = 102.5; /* off by 3.9 of 2 % of 198.9 + ... = 3.97 nm together */
    other.layer[1].thickness_nm = 98.6;
    ck_assert(bc_pool_near(&s.q.w.stack, &other));
    other.layer[1].thickness_nm = 98.4; /* 4.1 of 4.02 nm */
    ck_assert(!bc_pool_near(&s.q.w.stack, &other));
    other.layer[0].thickness_nm = other.layer[1].thickness_nm = 100.0;
    other.layer[1].material = other.layer[0].material;
    ck_assert(!bc_pool_near(&s.q.w.stack, &other));
    other.layer[1].material = s.q.w.stack.layer[1].material;
    ck_assert(bc_pool_near(&s.q.w.stack, &other));
    other.layers = 1;
    ck_assert(!bc_pool_near(&s.q.w.stack, &other));
    other.layers = 2;
    bc_stack_clear(&other);
    close_scene(&s);
}
END_TEST

/* A little more than the yield asked for, and no more than all. */
START_TEST(no_more_than_every_run_is_wanted)
{
    static const double asked[] = {0.5, 0.9, 0.997, 0.998, 1.0}, wanted[] = {0.503, 0.903, 1.0, 1.0, 1.0};
    scene s;
    open_scene(&s, 1);
    for (size_t i = 0; i < 5; i++) {
        const bc_try attempt = {.pool = &s.pool};
        s.q.request.yield = asked[i];
        ck_assert_double_eq_tol(bc_try_yield(&attempt), wanted[i], 1e-12);
    }
    close_scene(&s);
}
END_TEST

/* Errors add to the best look what they add to the best design: four fifths of that are left free, half of the limit at
 * most; all of it is there where no yield is asked for, or no design is known. */
START_TEST(what_is_wanted_on_paper)
{
    static const struct {
        double used[2], factor[2], wanted;
    } known[] = {{{0.9, 0.8}, {1.1, 1.2}, 1.0 - 0.8 * 0.3},
                 {{0.8, 0.9}, {1.2, 1.1}, 1.0 - 0.8 * 0.3},
                 {{0.9, 0.95}, {1.5, 1.52}, 1.0 - 0.8 * 0.6},
                 {{0.9, 0.95}, {1.53, 1.6}, 0.5},
                 {{0.9, 0.8}, {0.8, 1.2}, 1.0},
                 {{0.9, 0.8}, {INFINITY, INFINITY}, 1.0}};
    scene s;
    open_scene(&s, 1);
    s.pool.design = calloc(2, sizeof *s.pool.design);
    ck_assert_ptr_nonnull(s.pool.design);
    ck_assert_double_eq(bc_try_wanted(&s.pool), 1.0);
    s.pool.count = 2;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        for (size_t k = 0; k < 2; k++)
            s.pool.design[k].forecast =
                (bc_forecast){.limit_used = known[i].used[k], .factor = known[i].factor[k], .usual_factor = 9.0};
        ck_assert_double_eq_tol(bc_try_wanted(&s.pool), known[i].wanted, 1e-12);
    }
    s.pool.design[0].forecast.factor = 1.5;
    s.q.request.process = NULL;
    ck_assert_double_eq(bc_try_wanted(&s.pool), 1.0);
    close_scene(&s);
}
END_TEST

START_TEST(a_share_of_the_effort)
{
    ck_assert_double_eq(bc_share_of_effort(0.02, 3.0), 0.06);
    ck_assert_double_eq(bc_share_of_effort(0.02, 0.01), 0.001);
    ck_assert_double_eq(bc_share_of_effort(2.0, 900.0), 1000.0);
}
END_TEST

/* The best of each number of layers, the best first; of equal ones the first. */
START_TEST(starts_have_as_many_layers_each_once)
{
    static const size_t layers[] = {2, 3, 2, 4, 3, 3}, best_first[] = {4, 2, 3};
    static const double factor[] = {1.4, 1.2, 1.1, 1.3, 0.9, 0.9};
    bc_pooled design[6] = {0};
    const bc_pool pool = {.count = 6, .design = design};
    size_t start[6];
    for (size_t i = 0; i < 6; i++) {
        design[i].stack.layers = layers[i];
        design[i].forecast.factor = factor[i];
    }
    for (size_t most = 0; most <= 6; most++) {
        const size_t count = bc_try_list_starts(&pool, most, start);
        ck_assert_uint_eq(count, most < 3 ? most : 3);
        for (size_t k = 0; k < count; k++)
            ck_assert_uint_eq(start[k], best_first[k]);
    }
}
END_TEST

/* The lower factor is kept, the first of equal ones, and never no design. */
START_TEST(the_lower_factor_is_kept)
{
    static const double factor[] = {1.2, 1.3, 1.2, 0.9};
    static const double kept_nm[] = {100.0, 100.0, 100.0, 103.0};
    bc_found best = {0};
    bc_stack none = {0};
    scene s;
    open_scene(&s, 1);
    ck_assert(!bc_found_good(&best));
    for (size_t i = 0; i < 4; i++) {
        const bc_forecast forecast = {.factor = factor[i]}, perfect = {.factor = 0.0};
        bc_stack trial;
        ck_assert_int_eq(bc_stack_copy(&s.q.w.stack, &trial, NULL), BC_OK);
        trial.layer[0].thickness_nm = 100.0 + (double)i;
        bc_found_keep(&trial, &forecast, &best);
        ck_assert_uint_eq(trial.layers, 0);
        bc_found_keep(&none, &perfect, &best);
        ck_assert_double_eq(best.stack.layer[0].thickness_nm, kept_nm[i]);
        ck_assert(bc_found_good(&best) == (i == 3));
    }
    best.forecast.factor = 1.0;
    ck_assert(bc_found_good(&best));
    bc_stack_clear(&best.stack);
    close_scene(&s);
}
END_TEST

TCase *pool_case(void)
{
    TCase *tests = tcase_create("pool");
    tcase_add_loop_test(tests, the_caller_alone_is_asked, 1, 3);
    tcase_add_loop_test(tests, a_stop_leaves_refinements_out, 0, 2);
    tcase_add_loop_test(tests, layers_are_rounded, 0, 3);
    tcase_add_loop_test(tests, bounds_are_kept, 0, 7);
    tcase_add_test(tests, what_one_refinement_would_make_of_both);
    tcase_add_test(tests, no_more_than_every_run_is_wanted);
    tcase_add_test(tests, what_is_wanted_on_paper);
    tcase_add_test(tests, a_share_of_the_effort);
    tcase_add_test(tests, starts_have_as_many_layers_each_once);
    tcase_add_test(tests, the_lower_factor_is_kept);
    return tests;
}
