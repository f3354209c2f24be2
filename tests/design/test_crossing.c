/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Designs upon others, of as many layers or fewer. */
#include "crossing.h"
#include "exploration.h"
#include "polish.h"
#include "problem.h"
#include <bloomcoat/refine.h>
#include <math.h>

#define LAYERS 10
#define HALF   5
#define FEWEST 4
#define ENOUGH 1e12 /* of bc_search_work() */

typedef struct searched {
    problem p;
    double good_nm[LAYERS]; /* a local optimum of alternating layers, outer layer first */
    double good_used;
    bc_draft_options options;
    bc_multistart multistart;
} searched;

/* 1.38 and 2.1 by turns; the first of the outer layer of `good_nm`. */
static bc_recipe recipe_of(size_t first, size_t layers, const double *nm)
{
    bc_recipe recipe;
    ck_assert_int_eq(bc_recipe_alloc(layers + 1, &recipe, NULL), BC_OK);
    for (size_t j = 0; j < layers; j++)
        bc_recipe_insert(&recipe, j, (unsigned)((first + j) % 2), nm[j]);
    return recipe;
}

static void open_searched(searched *s, size_t threads)
{
    static const double start_nm[LAYERS] = {110, 18, 30, 60, 12, 60, 35, 30, 48, 10};
    bc_layer layer[LAYERS];
    bc_stack stack = {.layers = LAYERS, .layer = layer};
    bc_refine_result result;
    problem_open(&s->p, "1.52", "1.38,2.1");
    problem_add(&s->p, 0.01, 420.0, 800.0, 0.0);
    s->p.design.max_layers = LAYERS;
    stack.incident = s->p.design.incident;
    stack.substrate = s->p.substrate[0];
    for (size_t j = 0; j < LAYERS; j++)
        layer[j] = (bc_layer){.material = s->p.material[j % 2], .thickness_nm = start_nm[j]};
    ck_assert_int_eq(bc_refine(&s->p.design, &stack, &result, NULL), BC_OK);
    s->good_used = result.limit_used;
    for (size_t j = 0; j < LAYERS; j++) {
        s->good_nm[j] = layer[j].thickness_nm;
        ck_assert_double_gt(s->good_nm[j], 1.0);
    }
    s->options = (bc_draft_options){.aim = BC_AIM_BEST, .seed = 1, .effort = 0.2, .threads = threads};
    ck_assert_int_eq(bc_multistart_open(&s->p.design, &s->options, &s->multistart, NULL), BC_OK);
    ck_assert_uint_ge(s->multistart.searches, 2);
}

static void close_searched(searched *s)
{
    bc_multistart_close(&s->multistart);
    problem_close(&s->p);
}

/* As if a search had ended there. */
static void end_at(searched *s, size_t search, size_t first, size_t layers, const double *nm)
{
    bc_recipe recipe = recipe_of(first, layers, nm);
    ck_assert_int_eq(bc_judge(s->multistart.problem, &recipe, &recipe.limit_used, NULL), BC_OK);
    bc_best_offer(&s->multistart.own[search], &recipe);
    bc_best_offer(&s->multistart.best, &recipe);
    bc_recipe_clear(&recipe);
}

/* One search ended at the outer layers of the good design, another at its inner ones, and neither at all ten. */
static void end_at_parts(searched *s, size_t outer)
{
    end_at(s, 0, 0, outer, s->good_nm);
    end_at(s, 1, outer, LAYERS - outer, s->good_nm + outer);
}

START_TEST(parts_of_fewer_layers_are_joined)
{
    searched s;
    bc_crossing *crossing;
    open_searched(&s, 1);
    end_at_parts(&s, (size_t)_i);
    ck_assert_double_gt(bc_best_limit_used(&s.multistart.best, LAYERS), 1.2 * s.good_used);
    ck_assert_int_eq(bc_crossing_alloc(&s.multistart, LAYERS, ENOUGH, &crossing), BC_OK);
    ck_assert_uint_gt(bc_crossing_turn(crossing), 0);
    ck_assert(!s.multistart.failed);
    ck_assert_double_le(bc_best_limit_used(&s.multistart.best, LAYERS), 1.01 * s.good_used);
    bc_crossing_free(crossing);
    close_searched(&s);
}
END_TEST

/* Every start is tried once: the turns come to an end, and what they found since makes new ones. */
START_TEST(no_start_is_tried_twice)
{
    searched s;
    bc_crossing *crossing;
    size_t turns = 0, before;
    open_searched(&s, 1);
    end_at_parts(&s, HALF);
    ck_assert_int_eq(bc_crossing_alloc(&s.multistart, LAYERS, ENOUGH, &crossing), BC_OK);
    while (bc_crossing_turn(crossing) > 0)
        ck_assert_uint_lt(++turns, 10);
    /* Each part upon the other: 18, two of them like others. */
    ck_assert_uint_gt(bc_search_refined(s.multistart.search), 13);
    ck_assert_uint_lt(bc_search_refined(s.multistart.search), 18);
    before = bc_search_refined(s.multistart.search);
    ck_assert_uint_eq(bc_crossing_turn(crossing), 0);
    ck_assert_uint_eq(bc_search_refined(s.multistart.search), before);
    ck_assert_int_eq(bc_crossing_take_up(crossing), BC_OK);
    ck_assert_uint_gt(bc_crossing_turn(crossing), 0);
    bc_crossing_free(crossing);
    close_searched(&s);
}
END_TEST

/* What may not be rated is no start: with nothing to spend, one parent and its joints with itself are all. */
START_TEST(rating_is_limited)
{
    searched s;
    bc_crossing *crossing;
    double one;
    open_searched(&s, 1);
    end_at_parts(&s, HALF);
    ck_assert_int_eq(bc_crossing_alloc(&s.multistart, LAYERS, 0.0, &crossing), BC_OK);
    ck_assert_double_eq(bc_search_work(s.multistart.search), 0.0);
    ck_assert_uint_eq(bc_crossing_turn(crossing), 0);
    bc_crossing_free(crossing);
    ck_assert_int_eq(bc_crossing_alloc(&s.multistart, LAYERS, 1.0, &crossing), BC_OK);
    one = bc_search_work(s.multistart.search);
    ck_assert_double_gt(one, 0.0);
    bc_crossing_free(crossing);
    ck_assert_int_eq(bc_crossing_alloc(&s.multistart, LAYERS, ENOUGH, &crossing), BC_OK);
    ck_assert_double_gt(bc_search_work(s.multistart.search) - one, 1.5 * one);
    bc_crossing_free(crossing);
    close_searched(&s);
}
END_TEST

/* Ten layers are enough for an exploration to cross designs of fewer. */
START_TEST(exploration_of_many_layers_crosses)
{
    searched s;
    open_searched(&s, 1);
    end_at_parts(&s, HALF);
    bc_explore_all(&s.multistart, LAYERS, false, 1.0, 1.0);
    ck_assert_double_gt(bc_best_limit_used(&s.multistart.best, LAYERS), 1.2 * s.good_used);
    bc_explore_all(&s.multistart, LAYERS, true, 1e8, 1.0);
    ck_assert(!s.multistart.failed);
    ck_assert_double_le(bc_best_limit_used(&s.multistart.best, LAYERS), 1.01 * s.good_used);
    close_searched(&s);
}
END_TEST

static void make_layer(const void *context, size_t i, bc_recipe *recipe)
{
    const double *nm = context;
    recipe->layers = 0;
    bc_recipe_insert(recipe, 0, 0, nm[i]);
}

/* The mean of what every sample uses, by an evaluation of its own; the same however many threads take part. */
START_TEST(starts_are_rated_by_their_mean)
{
    static const double nm[] = {20.0, 60.0, 107.0, 150.0, 400.0};
    const size_t count = sizeof nm / sizeof *nm;
    for (size_t threads = 1; threads <= 3; threads += 2) {
        searched s;
        double score[BC_SCORES];
        bc_merit *merit;
        open_searched(&s, threads);
        ck_assert_int_eq(bc_merit_alloc(&s.p.design, BC_DENSITY_SEARCH, 1, BC_NO_FRINGES, &merit, NULL), BC_OK);
        bc_search_rate(s.multistart.search, &(bc_starts){1, count - 1, make_layer, nm}, score);
        for (size_t i = 1; i < count; i++) {
            const unsigned outer = 0;
            double sum = 0.0;
            bc_merit_evaluate(merit, 1, &outer, &nm[i], false);
            for (size_t c = 0; c < bc_merit_constraints(merit); c++)
                sum += bc_merit_u(merit)[c];
            ck_assert_double_eq_tol(score[i - 1], sum / (double)bc_merit_constraints(merit), 1e-9 * sum);
        }
        ck_assert_double_lt(score[1], score[3]); /* a quarter wave of 1.38, and a half wave or so more */
        bc_merit_free(merit);
        close_searched(&s);
    }
}
END_TEST

START_TEST(distance_is_the_share_that_differs)
{
    static const double a_nm[] = {100.0, 50.0, 50.0}, b_nm[] = {80.0, 70.0, 50.0}, c_nm[] = {100.0, 50.0};
    bc_recipe a = recipe_of(0, 3, a_nm), b = recipe_of(0, 3, b_nm), c = recipe_of(0, 2, c_nm);
    bc_recipe other = recipe_of(1, 3, a_nm), none = recipe_of(0, 0, NULL);
    ck_assert_double_eq(bc_recipe_distance(&a, &a), 0.0);
    ck_assert_double_eq_tol(bc_recipe_distance(&a, &b), 20.0 / 200.0, 1e-12);
    ck_assert_double_eq_tol(bc_recipe_distance(&b, &a), 20.0 / 200.0, 1e-12);
    ck_assert_double_eq_tol(bc_recipe_distance(&a, &c), 50.0 / 200.0, 1e-12);
    ck_assert_double_eq_tol(bc_recipe_distance(&c, &a), 50.0 / 200.0, 1e-12);
    ck_assert_double_eq_tol(bc_recipe_distance(&a, &other), 1.0, 1e-12);
    ck_assert_double_eq(bc_recipe_distance(&a, &none), 1.0);
    ck_assert_double_eq(bc_recipe_distance(&none, &a), 1.0);
    bc_recipe_clear(&a);
    bc_recipe_clear(&b);
    bc_recipe_clear(&c);
    bc_recipe_clear(&other);
    bc_recipe_clear(&none);
}
END_TEST

Suite *crossing_suite(void)
{
    Suite *suite = suite_create("crossing");
    TCase *tests = tcase_create("crossing");
    tcase_add_loop_test(tests, parts_of_fewer_layers_are_joined, FEWEST, LAYERS - FEWEST + 1);
    tcase_add_test(tests, no_start_is_tried_twice);
    tcase_add_test(tests, rating_is_limited);
    tcase_add_test(tests, exploration_of_many_layers_crosses);
    tcase_add_test(tests, starts_are_rated_by_their_mean);
    tcase_add_test(tests, distance_is_the_share_that_differs);
    suite_add_tcase(suite, tests);
    return suite;
}
