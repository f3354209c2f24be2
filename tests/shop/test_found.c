/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Which designs of a pool whoever waits is shown while a quote searches, and with which figures.
 */
#include "found.h"
#include "scene.h"
#include <math.h>
#include <string.h>

#define LAYERS 2

typedef struct shown {
    size_t count;
    double total_nm[MOST];
    bc_quote_option last;
} shown;

static void note(void *context, const bc_quote_found *found)
{
    shown *all = context;
    ck_assert(found->forecast && found->exception == NULL);
    ck_assert_uint_lt(all->count, MOST);
    all->total_nm[all->count++] = found->option->total_nm;
    all->last = *found->option;
}

static void open_shown(scene *s, shown *all)
{
    memset(all, 0, sizeof *all);
    open_scene_of(s, "1.38,2.1", LAYERS);
    s->q.w.stack.layers = 1;
    s->q.request.found = note;
    s->q.request.found_context = all;
}

static void close_shown(scene *s)
{
    s->q.w.stack.layers = LAYERS;
    close_scene(s);
}

static void add_look(scene *s, double nm, double limit_used, double yield)
{
    add(s, nm, yield, 1.0);
    s->pool.design[s->pool.count - 1].forecast.limit_used = limit_used;
}

/* Of two with as many layers the better one: met on paper before not; then the higher yield, if both are known; then
 * the lower limit_used. Of equal ones both. */
START_TEST(the_better_of_two_is_shown)
{
    static const struct {
        double better[2], worse[2];
        size_t shown;
    } known[] = {{{1.0, 0.1}, {1.001, 0.9}, 1},   {{0.9, 0.8}, {0.8, 0.7}, 1}, {{0.8, 0.8}, {0.9, 0.8}, 1},
                 {{0.8, NAN}, {0.9, 0.8}, 1},     {{0.8, 0.8}, {0.9, NAN}, 1}, {{1.1, 0.2}, {1.2, 0.8}, 1},
                 {{1.000, 0.8}, {0.5, 0.799}, 1}, {{0.9, 0.8}, {0.9, 0.8}, 2}, {{0.8, NAN}, {0.9, NAN}, 1}};
    const double *better = known[_i].better, *worse = known[_i].worse;
    for (int turn = 0; turn < 2; turn++) {
        shown all;
        scene s;
        open_shown(&s, &all);
        add_look(&s, 90.0 + turn, turn == 0 ? better[0] : worse[0], turn == 0 ? better[1] : worse[1]);
        add_look(&s, 91.0 - turn, turn == 1 ? better[0] : worse[0], turn == 1 ? better[1] : worse[1]);
        ck_assert_int_eq(bc_show_designs(&s.pool, NULL), BC_OK);
        ck_assert_uint_eq(all.count, known[_i].shown);
        if (known[_i].shown == 1)
            ck_assert_double_eq(all.total_nm[0], 90.0);
        close_shown(&s);
    }
}
END_TEST

/* Each once, the best of each number of layers; what stands behind the last design of the pool is none. */
START_TEST(each_design_is_shown_once)
{
    shown all;
    scene s;
    open_shown(&s, &all);
    add_look(&s, 90.0, 0.9, 0.9);
    s.q.w.stack.layers = 2;
    add_look(&s, 40.0, 1.5, 0.0);
    s.q.w.stack.layers = 1;
    add_look(&s, 80.0, 0.5, 0.99); /* better than the first, but not in the pool yet */
    s.pool.count = 2;
    ck_assert_int_eq(bc_show_designs(&s.pool, NULL), BC_OK);
    ck_assert_uint_eq(all.count, 2);
    ck_assert(all.total_nm[0] == 90.0 && all.total_nm[1] == 140.0);
    ck_assert_int_eq(bc_show_designs(&s.pool, NULL), BC_OK);
    ck_assert_uint_eq(all.count, 2);
    s.pool.count = 3;
    ck_assert_int_eq(bc_show_designs(&s.pool, NULL), BC_OK);
    ck_assert_uint_eq(all.count, 3);
    ck_assert_double_eq(all.total_nm[2], 80.0);
    close_shown(&s);
}
END_TEST

/* limit_used is that of a verdict, the yield that of the look; hours as far as the rates are known, nothing else. */
START_TEST(the_figures_of_a_forecast)
{
    const bc_chamber chamber = {.pump_down_min = 60.0};
    shown all;
    scene s;
    open_shown(&s, &all);
    s.q.request.chamber = &chamber;
    add_look(&s, 90.0, 0.77, 0.85);
    ck_assert_int_eq(bc_show_designs(&s.pool, NULL), BC_OK);
    ck_assert_uint_eq(all.count, 1);
    ck_assert_double_eq_tol(all.last.limit_used, one_layer(1.38, 1.52, 90.0, 550.0) / 0.03, 1e-9);
    ck_assert_double_eq(all.last.yield, 0.85);
    ck_assert_double_eq_tol(all.last.layer_hours, 2.5, 1e-9);
    ck_assert_double_eq_tol(all.last.hours_per_load, 3.5, 1e-9);
    ck_assert(isnan(all.last.yield_low) && isnan(all.last.yield_high) && isnan(all.last.hours));
    ck_assert(isnan(all.last.loads_expected) && isnan(all.last.expected_hours));
    ck_assert(all.last.loads == 0 && all.last.blanks == 0 && all.last.runs == 0 && all.last.thin_layer == 1);
    close_shown(&s);
}
END_TEST

/* Nothing where nobody waits, nothing of a bare surface, and nothing after a stop. */
START_TEST(what_is_not_shown)
{
    shown all;
    scene s;
    open_shown(&s, &all);
    s.q.w.stack.layers = _i == 0 ? 0 : 1;
    add_look(&s, 90.0, 0.9, 0.9);
    if (_i == 1)
        s.q.request.found = NULL;
    if (_i == 2)
        atomic_store(&s.watch.stopped, true);
    ck_assert_int_eq(bc_show_designs(&s.pool, NULL), BC_OK);
    ck_assert_uint_eq(all.count, 0);
    ck_assert(!s.pool.design[0].shown);
    close_shown(&s);
}
END_TEST

TCase *found_case(void)
{
    TCase *tests = tcase_create("found");
    tcase_add_loop_test(tests, the_better_of_two_is_shown, 0, 9);
    tcase_add_test(tests, each_design_is_shown_once);
    tcase_add_test(tests, the_figures_of_a_forecast);
    tcase_add_loop_test(tests, what_is_not_shown, 0, 3);
    return tests;
}
