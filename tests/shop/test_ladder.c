/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How far the ladder is climbed, and what it says of its progress: of designs that nothing need be added to.
 */
#include "ladder.h"
#include "scene.h"
#include <math.h>

/* What is reported lies in its part of the ladder, the ladder in its part of the quote, and before the exceptions:
 * these take 45 % where no design is as asked, else a tenth. */
START_TEST(the_progress_of_a_part)
{
    static const struct {
        double share, limit_used, yield, expected_share;
    } known[] = {{0.0, 1.001, 1.0, 0.55}, {0.0, 1.0, 0.899, 0.55}, {0.0, 1.0, 0.9, 0.9},
                 {0.0, 1.0, NAN, 0.9},    {0.7, 1.0, 1.0, 0.7},    {0.7, 2.0, 0.1, 0.7}};
    const bc_ladder_part part = {0.2, 0.6};
    scene s;
    open_scene(&s);
    s.pool.part = (bc_ladder_part){0.5, 0.75};
    add(&s, 99.6, 0.0, 2.0);
    add(&s, 95.0, 0.0, 2.0);
    s.pool.design[1].forecast.limit_used = 3.0;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        s.pool.share = known[i].share;
        s.pool.design[0].forecast.limit_used = known[i].limit_used;
        s.pool.design[0].forecast.yield = known[i].yield;
        bc_ladder_report(&s.pool, &part, 0.25, 1.5);
        ck_assert_double_eq_tol(s.watch.fraction, known[i].expected_share * (0.5 + 0.25 * (0.2 + 0.4 * 0.25)), 1e-12);
        ck_assert_double_eq(s.watch.limit_used, 1.5);
    }
    close_scene(&s);
}
END_TEST

typedef struct heard {
    bc_watch *watch;
    size_t count;
    double fraction[16];
} heard;

static bool hear(void *context, double fraction, double limit_used)
{
    heard *all = context;
    (void)limit_used;
    if (all->count < 16 && (all->count == 0 || fraction != all->fraction[all->count - 1]))
        all->fraction[all->count++] = fraction;
    return true;
}

/* A design of which no run fails with each number of layers. */
static void add_perfect(scene *s, size_t most)
{
    for (size_t layers = 1; layers <= most; layers++) {
        s->q.w.stack.layers = layers;
        add(s, 90.0, 0.9995, 0.6);
    }
}

/* Nothing is made of designs that no run fails with; one number of layers counts as the cube of one more for the time
 * that is left. */
START_TEST(perfect_designs_are_left_as_they_are)
{
    const bc_ladder_part part = {0.0, 1.0};
    heard all = {0};
    size_t enough = 99;
    scene s;
    open_scene_of(&s, "1.38,2.1,1.38", 3);
    s.pool.share = 1.0;
    s.q.request.prefer = BC_PREFER_YIELD;
    s.watch.progress = hear;
    s.watch.context = &all;
    add_perfect(&s, 3);
    ck_assert_int_eq(bc_ladder_climb(&s.pool, 3, &part, &enough, NULL), BC_OK);
    ck_assert_uint_eq(enough, 0);
    ck_assert_uint_eq(s.pool.count, 3);
    ck_assert(s.pool.samples > 0.0 && s.pool.work == 0.0);
    ck_assert_uint_eq(all.count, 3);
    ck_assert_double_eq_tol(all.fraction[0], 8.0 / 99.0, 1e-12);
    ck_assert_double_eq_tol(all.fraction[1], 35.0 / 99.0, 1e-12);
    ck_assert_double_eq_tol(all.fraction[2], 1.0, 1e-12);
    close_scene(&s);
}
END_TEST

/* It ends where no run fails, unless yields are preferred, or one is asked for that a forecast does not decide. */
START_TEST(the_ladder_ends_where_no_run_fails)
{
    static const struct {
        bc_prefer prefer;
        double yield;
        size_t enough;
    } known[] = {{BC_PREFER_HOURS, 0.9, 1},
                 {BC_PREFER_LAYERS, 0.9, 1},
                 {BC_PREFER_YIELD, 0.9, 0},
                 {BC_PREFER_HOURS, 0.99, 1},
                 {BC_PREFER_HOURS, 0.9901, 0}};
    const bc_ladder_part part = {0.0, 1.0};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        size_t enough = 99;
        scene s;
        open_scene_of(&s, "1.38,2.1", 2);
        s.q.request.prefer = known[i].prefer;
        s.q.request.yield = known[i].yield;
        add_perfect(&s, 2);
        ck_assert_int_eq(bc_ladder_climb(&s.pool, 2, &part, &enough, NULL), BC_OK);
        ck_assert_uint_eq(enough, known[i].enough);
        ck_assert_uint_eq(s.pool.count, 2);
        close_scene(&s);
    }
}
END_TEST

static size_t with_layers(const scene *s, size_t layers)
{
    size_t count = 0;
    for (size_t i = 0; i < s->pool.count; i++)
        count += s->pool.design[i].stack.layers == layers;
    return count;
}

/* One layer more is added to a design that fails in some runs, not to one with which no run fails, nor to one that is
 * far from its limits. */
START_TEST(layers_are_added_where_that_is_of_use)
{
    static const struct {
        double yield, factor;
        bool grows;
    } known[] = {{0.999, 1.5, true}, {0.9995, 1.5, false}, {0.999, 2.0, false}, {0.0, 1.99, true}};
    const bc_ladder_part part = {0.0, 1.0};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        size_t enough = 99;
        scene s;
        open_scene_of(&s, "1.38,2.1", 2);
        s.q.w.callout[0].limit = 0.012; /* less than one layer leaves */
        s.q.request.prefer = BC_PREFER_YIELD;
        s.q.w.stack.layers = 1;
        s.q.w.stack.layer[0].fixed = true; /* no other is made of it */
        add(&s, 99.6, known[i].yield, known[i].factor);
        s.pool.design[0].made = BC_MADE_ROBUST | BC_MADE_ROBUST_AGAIN | BC_MADE_YIELD;
        ck_assert_int_eq(bc_ladder_climb(&s.pool, 2, &part, &enough, NULL), BC_OK);
        ck_assert_uint_eq(with_layers(&s, 1), 1);
        ck_assert((with_layers(&s, 2) > 0) == known[i].grows);
        s.q.w.stack.layers = 2;
        close_scene(&s);
    }
}
END_TEST

/* What was made of single layers that stay as they are: no other comes of them, but what was tried is noted. The five
 * with the lowest factors are refined, the first two once more, and the yields of the first and of the one that has the
 * highest are raised; of two that are near only the better, and neither where it was done before. */
START_TEST(what_is_made_of_which_design)
{
    enum { ROBUST = BC_MADE_ROBUST, BOTH = BC_MADE_ROBUST | BC_MADE_ROBUST_AGAIN, YIELD = BC_MADE_YIELD };
    static const struct {
        double nm[6], yield[6];
        unsigned before[6], made[6];
    } known[] = {{{90.0, 93.0, 96.0, 99.0, 102.0, 105.0},
                  {0.5, 0.6, 0.7, 0.8, 0.9, 0.9},
                  {0},
                  {BOTH | YIELD, BOTH, ROBUST, ROBUST, ROBUST | YIELD, 0}},
                 {{90.0, 90.5, 96.0, 99.0, 102.0, 105.0},
                  {0.5, 0.9, 0.7, 0.8, 0.6, 0.6},
                  {0},
                  {BOTH | YIELD, YIELD, BOTH, ROBUST, ROBUST, ROBUST}},
                 {{90.0, 90.5, 96.0, 99.0, 102.0, 105.0},
                  {0.9, 0.5, 0.7, 0.8, 0.6, 0.6},
                  {0, ROBUST, 0, 0, BC_MADE_ROBUST_AGAIN, 0},
                  {BC_MADE_ROBUST_AGAIN | YIELD, ROBUST, BOTH, ROBUST | YIELD, BOTH, ROBUST}}};
    const bc_ladder_part part = {0.0, 1.0};
    size_t enough = 99;
    scene s;
    open_scene(&s);
    s.q.w.stack.layer[0].fixed = true;
    for (size_t i = 0; i < 6; i++) {
        add(&s, known[_i].nm[i], known[_i].yield[i], 1.1 + 0.01 * (double)i);
        s.pool.design[i].made = known[_i].before[i];
    }
    ck_assert_int_eq(bc_ladder_climb(&s.pool, 1, &part, &enough, NULL), BC_OK);
    ck_assert_uint_eq(s.pool.count, 6);
    for (size_t i = 0; i < 6; i++)
        ck_assert_msg(s.pool.design[i].made == known[_i].made[i], "design %zu: %x", i, s.pool.design[i].made);
    close_scene(&s);
}
END_TEST

/* The work of one number of layers is counted before it is done, 4000 for each sample and cube of one layer more, and
 * not begun where that is too much: for an effort above 1 so many times as much. */
START_TEST(too_much_work_is_not_begun)
{
    static const struct {
        double effort, done; /* in what is too much */
        bool begins;
    } known[] = {
        {1.0, 0.9999, true}, {1.0, 1.0001, false}, {0.1, 0.9999, true}, {1.5, 1.4999, true}, {1.5, 1.5001, false}};
    const bc_ladder_part part = {0.0, 1.0};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        const double samples = 50.0, more = 4000.0 * samples * 8.0;
        size_t enough = 99;
        scene s;
        open_scene(&s);
        s.q.request.effort = known[i].effort;
        s.q.w.stack.layer[0].fixed = true;
        s.pool.samples = samples;
        s.pool.work = known[i].done * BC_MOST_LADDER_WORK - more;
        add(&s, 99.6, 0.5, 1.1);
        ck_assert_int_eq(bc_ladder_climb(&s.pool, 1, &part, &enough, NULL), BC_OK);
        ck_assert((s.pool.design[0].made != 0) == known[i].begins);
        ck_assert_double_eq_tol(s.pool.work / BC_MOST_LADDER_WORK,
                                known[i].done - (known[i].begins ? 0.0 : more / BC_MOST_LADDER_WORK), 1e-9);
        close_scene(&s);
    }
}
END_TEST

/* From a design with two layers less as well. */
START_TEST(two_layers_are_added_at_once)
{
    const bc_ladder_part part = {0.0, 1.0};
    for (size_t most = 2; most <= 3; most++) {
        size_t enough = 99;
        unsigned made;
        scene s;
        open_scene_of(&s, "1.38,2.1", most);
        s.q.w.callout[0].limit = 0.0001;
        s.q.request.prefer = BC_PREFER_YIELD;
        s.q.w.stack.layers = 1;
        s.q.w.stack.layer[0].fixed = true;
        add(&s, 99.6, 0.0, 1.9);
        ck_assert_int_eq(bc_ladder_climb(&s.pool, most, &part, &enough, NULL), BC_OK);
        made = s.pool.design[0].made & (BC_MADE_LAYER_MORE | BC_MADE_TWO_MORE);
        ck_assert_uint_eq(made, most == 2 ? BC_MADE_LAYER_MORE : BC_MADE_LAYER_MORE | BC_MADE_TWO_MORE);
        s.q.w.stack.layers = 2;
        close_scene(&s);
    }
}
END_TEST

/* Layers are added until three numbers of layers in turn have brought less than 1 %; a gain begins the count anew. Of
 * one material none can be added, so that the looks stay as they are written; what was tried is noted. */
START_TEST(layers_are_added_until_three_bring_nothing)
{
    enum { LAYERS = 6 };
    static const struct {
        double factor[LAYERS];
        bool grows[LAYERS]; /* to one layer more */
    } known[] = {{{0.30, 0.30, 0.30, 0.30, 0.30, 0.20}, {true, true, true, false, false, false}},
                 {{0.30, 0.30, 0.30, 0.2971, 0.30, 0.20}, {true, true, true, false, false, false}},
                 {{0.30, 0.30, 0.30, 0.2969, 0.30, 0.20}, {true, true, true, true, true, false}},
                 {{0.30, 0.2985, 0.2971, 0.2956, 0.29, 0.20}, {true, true, true, false, true, false}},
                 {{0.30, 0.31, 0.296, 0.30, 0.294, 0.2931}, {true, true, true, true, true, false}}};
    const bc_ladder_part part = {0.0, 1.0};
    size_t enough = 99;
    bc_stack kept;
    scene s;
    open_scene(&s);
    kept = s.q.w.stack;
    ck_assert_int_eq(bc_stack_alloc(LAYERS, &s.q.w.stack, NULL), BC_OK);
    for (size_t j = 0; j < LAYERS; j++) {
        s.q.w.stack.layer[j] = kept.layer[0];
        s.q.w.stack.layer[j].fixed = true;
        s.q.w.stack.layers = j + 1;
        add(&s, 99.6, 0.5, known[_i].factor[j]);
        s.pool.design[j].made = BC_MADE_ROBUST | BC_MADE_ROBUST_AGAIN | BC_MADE_YIELD;
    }
    bc_stack_clear(&kept);
    s.q.w.problem.max_layers = LAYERS;
    s.q.request.prefer = BC_PREFER_YIELD;
    ck_assert_int_eq(bc_ladder_climb(&s.pool, LAYERS, &part, &enough, NULL), BC_OK);
    ck_assert_uint_eq(s.pool.count, LAYERS);
    for (size_t j = 0; j < LAYERS; j++) {
        ck_assert_msg(((s.pool.design[j].made & BC_MADE_LAYER_MORE) != 0) == known[_i].grows[j], "%zu layers", j + 1);
        ck_assert_msg(((s.pool.design[j].made & BC_MADE_TWO_MORE) != 0) ==
                          (j + 1 < LAYERS - 1 && known[_i].grows[j + 1]),
                      "%zu layers, %x", j + 1, s.pool.design[j].made);
    }
    close_scene(&s);
}
END_TEST

TCase *ladder_case(void)
{
    TCase *tests = tcase_create("ladder");
    tcase_add_test(tests, the_progress_of_a_part);
    tcase_add_test(tests, perfect_designs_are_left_as_they_are);
    tcase_add_test(tests, the_ladder_ends_where_no_run_fails);
    tcase_add_test(tests, layers_are_added_where_that_is_of_use);
    tcase_add_loop_test(tests, what_is_made_of_which_design, 0, 3);
    tcase_add_test(tests, too_much_work_is_not_begun);
    tcase_add_test(tests, two_layers_are_added_at_once);
    tcase_add_loop_test(tests, layers_are_added_until_three_bring_nothing, 0, 5);
    return tests;
}
