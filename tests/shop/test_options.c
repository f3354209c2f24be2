/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What is chosen from a pool of designs whose looks are written by hand, and what a quote says only once.
 */
#include "exceptions.h"
#include "ladder.h"
#include "options.h"
#include "scene.h"
#include <math.h>
#include <stdlib.h>

/* Of designs that all do, those that look fastest are judged, not those with the most room to the limits. */
START_TEST(the_fastest_are_looked_at)
{
    bc_quote_result result = {0};
    scene s;
    open_scene(&s);
    add(&s, 120.0, 1.0, 0.50);
    add(&s, 110.0, 1.0, 0.55);
    add(&s, 100.0, 1.0, 0.60);
    add(&s, 90.0, 1.0, 0.65);
    ck_assert_int_eq(bc_options_choose(&s.pool, &result, NULL), BC_OK);
    ck_assert_uint_eq(result.options, 1);
    ck_assert_double_eq(result.option[0].total_nm, 90.0);
    ck_assert_double_eq(result.option[0].yield, 1.0);
    ck_assert_double_eq_tol(result.option[0].layer_hours, 90.0 / 36.0, 1e-9);
    bc_quote_result_clear(&result);
    close_scene(&s);
}
END_TEST

/* Chosen once more from the same pool, what was estimated stands. */
START_TEST(an_estimate_stands)
{
    bc_quote_result result = {0};
    bc_quote_option first;
    scene s;
    open_scene(&s);
    s.q.w.row[0].thickness_sigma = 0.1;
    s.q.w.callout[0].limit = 0.015;
    add(&s, 90.0, 0.5, 1.1);
    ck_assert_int_eq(bc_options_choose(&s.pool, &result, NULL), BC_OK);
    ck_assert_uint_eq(result.options, 1);
    first = result.option[0];
    ck_assert(first.yield > 0.1 && first.yield < 0.99 && first.runs > 0 && first.predicted_runs > 0);
    ck_assert_int_eq(bc_options_choose(&s.pool, &result, NULL), BC_OK);
    ck_assert_double_eq(result.option[0].yield, first.yield);
    ck_assert_double_eq(result.option[0].yield_low, first.yield_low);
    ck_assert_double_eq(result.option[0].yield_high, first.yield_high);
    ck_assert_uint_eq(result.option[0].runs, first.runs);
    bc_quote_result_clear(&result);
    close_scene(&s);
}
END_TEST

/* The ladder raises the yield of the design with the lowest factor, and of the one with the highest yield. */
START_TEST(yields_are_raised_in_both_orders)
{
    const bc_ladder_part all = {0.0, 1.0};
    size_t enough;
    scene s;
    open_scene(&s);
    s.q.w.row[0].thickness_sigma = 0.2;
    add(&s, 60.0, 0.4, 1.5);
    add(&s, 75.0, 0.5, 1.2); /* the lowest factor */
    add(&s, 130.0, 0.7, 1.4);
    add(&s, 150.0, 0.6, 1.3);
    for (size_t i = 0; i < 4; i++)
        s.pool.design[i].made = BC_MADE_ROBUST | BC_MADE_ROBUST_AGAIN | BC_MADE_LAYER_MORE | BC_MADE_TWO_MORE;
    ck_assert_int_eq(bc_ladder_climb(&s.pool, 1, &all, &enough, NULL), BC_OK);
    for (size_t i = 0; i < 4; i++)
        ck_assert_int_eq((s.pool.design[i].made & BC_MADE_YIELD) != 0, i == 1 || i == 2);
    close_scene(&s);
}
END_TEST

/* A layer 15 nm from the quarter wave, of runs that scatter by 5 %: for the lowest limit that 90 of 100 keep it is
 * moved there first, and the limit is that of the layer moved. */
START_TEST(a_lower_limit_by_a_better_design)
{
    double before, after;
    scene s;
    open_scene(&s);
    bc_thread_watch watch = {&s.watch, true};
    bc_exception exception = {.kind = BC_EXCEPT_LIMIT, .callout = 0, .factor = 1.0};
    const bc_try attempt = {&s.pool, &exception, &watch};
    s.q.w.row[0].thickness_sigma = 0.05;
    s.q.w.callout[0].limit = 0.0126;
    add_with_limit(&s, 85.0, 1.5);
    ck_assert_int_eq(bc_try_relaxed(&attempt, NULL), BC_OK);
    ck_assert(exception.found && exception.yield >= 0.9);
    ck_assert_double_eq_tol(exception.stack.layer[0].thickness_nm, 99.6, 3.0);
    ck_assert_int_eq(bc_judge_factor(&s.q.w.problem, &s.pool.design[0].stack, &s.q.w.process, 0.9, BC_NO_CALLOUT, NULL,
                                     &before, NULL),
                     BC_OK);
    ck_assert_int_eq(
        bc_judge_factor(&s.q.w.problem, &exception.stack, &s.q.w.process, 0.9, BC_NO_CALLOUT, NULL, &after, NULL),
        BC_OK);
    ck_assert_double_lt(exception.factor, 0.95 * before);
    ck_assert_double_eq_tol(exception.factor, after, 0.02);
    bc_stack_clear(&exception.stack);
    close_scene(&s);
}
END_TEST

/* Where a design only has to do, one that does is left as it is; where the best is wanted, it is refined. */
START_TEST(what_does_is_left_as_it_is)
{
    static const bc_try_extent extents[] = {BC_TRY_UNTIL_GOOD, BC_TRY_FEW, BC_TRY_WIDE};
    scene s;
    open_scene(&s);
    bc_thread_watch watch = {&s.watch, true};
    bc_exception exception = {.kind = BC_EXCEPT_LIMIT, .callout = 0, .factor = 1.0};
    const bc_try attempt = {&s.pool, &exception, &watch};
    s.q.w.row[0].thickness_sigma = 0.02;
    s.q.w.callout[0].limit = 0.0150;
    add(&s, 96.0, 0.9, 0.95);
    for (size_t e = 0; e < 3; e++) {
        bc_found best = {0};
        ck_assert_int_eq(bc_stack_copy(&s.pool.design[0].stack, &best.stack, NULL), BC_OK);
        ck_assert_int_eq(bc_try_designs(&attempt, &s.q.w.problem, extents[e], &best, NULL), BC_OK);
        ck_assert(bc_found_good(&best));
        ck_assert_double_eq_tol(best.stack.layer[0].thickness_nm, e == 0 ? 96.0 : 99.6, e == 0 ? 1e-9 : 1.0);
        bc_stack_clear(&best.stack);
    }
    close_scene(&s);
}
END_TEST

/* Layers that stay as they are: the one that needs the lowest limit in runs is not the one whose look says so. */
START_TEST(every_design_is_looked_at)
{
    scene s;
    open_scene(&s);
    bc_thread_watch watch = {&s.watch, true};
    bc_exception exception = {.kind = BC_EXCEPT_LIMIT, .callout = 0, .factor = 1.0};
    const bc_try attempt = {&s.pool, &exception, &watch};
    s.q.w.callout[0].limit = 0.0126;
    s.q.w.stack.layer[0].fixed = true;
    add_with_limit(&s, 70.0, 1.2);
    add_with_limit(&s, 98.0, 1.3);
    ck_assert_int_eq(bc_try_relaxed(&attempt, NULL), BC_OK);
    ck_assert(exception.found);
    ck_assert_double_eq(exception.stack.layer[0].thickness_nm, 98.0);
    bc_stack_clear(&exception.stack);
    close_scene(&s);
}
END_TEST

/* Of rows that are changed together the first that does change is named, and all are there. */
START_TEST(the_row_that_changes_is_named)
{
    const double oblique_rad = 60.0 * PI / 180.0;
    scene s;
    open_scene(&s);
    bc_thread_watch watch = {&s.watch, true};
    bc_exception exception = {.kind = BC_EXCEPT_ANGLE, .callout = BC_NO_CALLOUT, .factor = 1.0};
    const bc_try attempt = {&s.pool, &exception, &watch};
    workshop_ask(&s.q.w, 0.02, 550.0, 550.0, 60.0);
    workshop_ask(&s.q.w, 0.02, 540.0, 550.0, 60.0);
    s.q.w.callout[0].limit = 0.02;
    s.q.request.process = NULL;
    add(&s, 99.6, NAN, 1.5);
    ck_assert_int_eq(bc_try_relaxed(&attempt, NULL), BC_OK);
    ck_assert(exception.found && exception.limit_used <= 1.0 && exception.limit_used > 0.95);
    ck_assert_ptr_nonnull(exception.all);
    ck_assert_double_eq(exception.all[0].aoi_to_rad, 0.0);
    ck_assert(exception.all[1].aoi_to_rad < oblique_rad && exception.all[1].aoi_to_rad > 0.5 * oblique_rad);
    ck_assert_double_eq(exception.all[2].aoi_to_rad, exception.all[1].aoi_to_rad);
    ck_assert_double_eq(exception.offered.aoi_to_rad, exception.all[1].aoi_to_rad);
    ck_assert_double_eq(exception.offered.from_nm, 550.0);
    ck_assert(exception.runs == 0 && isnan(exception.yield) && exception.seed == s.q.request.seed + 1);
    free(exception.all);
    bc_stack_clear(&exception.stack);
    close_scene(&s);
}
END_TEST

/* A layer that stays as it is leaves 1.26 % in the middle of the band. More layers leave next to nothing, but where
 * that is far from what is asked no search is begun that would find them. */
START_TEST(what_is_far_out_of_reach_is_not_searched_for)
{
    static const double limit[] = {0.0105, 0.0045};
    scene s;
    open_scene_of(&s, "1.38,2.1", 8);
    bc_thread_watch watch = {&s.watch, true};
    bc_exception exception = {.kind = BC_EXCEPT_BOTH, .callout = 0, .factor = 1.0};
    const bc_try attempt = {&s.pool, &exception, &watch};
    s.q.w.callout[0].from_nm = 500.0;
    s.q.w.callout[0].to_nm = 600.0;
    s.q.w.callout[0].limit = limit[_i];
    s.q.w.stack.layers = 1;
    s.q.w.stack.layer[0].fixed = true;
    add(&s, 99.6, 0.0, 1.5);
    ck_assert_int_eq(bc_try_relaxed(&attempt, NULL), BC_OK);
    ck_assert(exception.found == (_i == 0));
    if (_i == 0)
        ck_assert_uint_ge(exception.stack.layers, 2);
    bc_stack_clear(&exception.stack);
    free(exception.all);
    close_scene(&s);
}
END_TEST

/* The design of which most runs succeed is judged whatever hours it takes; of equal ones the one with the most room. */
START_TEST(the_surest_is_judged_too)
{
    bc_quote_result result = {0};
    scene s;
    open_scene(&s);
    add(&s, 90.0, 0.9, 0.60);
    add(&s, 100.0, 0.9, 0.60);
    add(&s, 106.0, 0.99, 0.60);
    add(&s, 112.0, 1.0, 0.55);
    add(&s, 118.0, 1.0, 0.50);
    add(&s, 124.0, 1.0, 0.55);
    ck_assert_int_eq(bc_options_choose(&s.pool, &result, NULL), BC_OK);
    for (size_t i = 0; i < s.pool.count; i++)
        ck_assert_int_eq(s.pool.design[i].estimated, i == 0 || i == 4);
    bc_quote_result_clear(&result);
    close_scene(&s);
}
END_TEST

typedef struct shown {
    size_t options;
    double total_nm[MOST];
} shown;

static void note_found(void *context, const bc_quote_found *found)
{
    shown *all = context;
    if (found->option != NULL && !found->forecast && all->options < MOST)
        all->total_nm[all->options++] = found->option->total_nm;
}

/* What exceptions bring is no better than what there was, so the options are not chosen anew. */
static void expect_once(const inquiry *asked, size_t own_limits)
{
    inquiry q = *asked;
    bc_quote_result result;
    shown all = {0};
    size_t own = 0;
    q.request.found = note_found;
    q.request.found_context = &all;
    result = ask(&q);
    ck_assert_int_eq(result.verdict, BC_NOT_FEASIBLE);
    ck_assert_uint_eq(all.options, result.options);
    for (size_t i = 0; i < all.options; i++)
        for (size_t k = 0; k < i; k++)
            ck_assert_double_ne(all.total_nm[i], all.total_nm[k]);
    for (size_t e = 0; e < result.exceptions; e++) {
        own += result.exception[e].callout != BC_NO_CALLOUT;
        for (size_t k = 0; k < e; k++)
            ck_assert(result.exception[e].kind != result.exception[k].kind ||
                      result.exception[e].callout != result.exception[k].callout);
    }
    ck_assert_uint_ge(own, own_limits);
    bc_quote_result_clear(&result);
}

/* Three rows that no layer meets: a quote of effort 1, which is no longer search, offers two of them a limit of their
 * own. */
START_TEST(three_rows_are_answered_once)
{
    inquiry q;
    open_inquiry(&q, "1.38", 1);
    workshop_ask(&q.w, 0.004, 450.0, 450.0, 0.0);
    workshop_ask(&q.w, 0.005, 550.0, 550.0, 0.0);
    workshop_ask(&q.w, 0.006, 650.0, 650.0, 0.0);
    q.request.effort = 1.0;
    expect_once(&q, 2);
    workshop_close(&q.w);
}
END_TEST

START_TEST(two_layers_are_shown_once)
{
    inquiry q;
    open_inquiry(&q, "1.38,2.1", 2);
    workshop_ask(&q.w, 0.001, 480.0, 620.0, 0.0);
    q.request.effort = 0.05;
    expect_once(&q, 1);
    workshop_close(&q.w);
}
END_TEST

TCase *options_case(void)
{
    TCase *tests = tcase_create("options");
    tcase_add_test(tests, the_fastest_are_looked_at);
    tcase_add_test(tests, an_estimate_stands);
    tcase_add_test(tests, yields_are_raised_in_both_orders);
    tcase_add_test(tests, a_lower_limit_by_a_better_design);
    tcase_add_test(tests, what_does_is_left_as_it_is);
    tcase_add_test(tests, every_design_is_looked_at);
    tcase_add_test(tests, the_row_that_changes_is_named);
    tcase_add_loop_test(tests, what_is_far_out_of_reach_is_not_searched_for, 0, 2);
    tcase_add_test(tests, the_surest_is_judged_too);
    tcase_add_test(tests, three_rows_are_answered_once);
    tcase_add_test(tests, two_layers_are_shown_once);
    return tests;
}
