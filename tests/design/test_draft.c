/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "problem.h"
#include <math.h>
#include <string.h>

static bc_draft_options quick(bc_aim aim)
{
    return (bc_draft_options){.aim = aim, .seed = 1, .effort = 0.3};
}

static bc_draft_result drafted(const problem *p, const bc_draft_options *options)
{
    bc_draft_result result;
    bc_error error;
    ck_assert_msg(bc_draft(&p->design, options, &result, &error) == BC_OK, "%s", error.message);
    ck_assert_uint_gt(result.rungs, 0);
    return result;
}

static void add_visible(problem *p)
{
    problem_add(p, 0.005, 450.0, 650.0, 0.0);
    problem_add(p, 0.0025, 450.0, 650.0, 0.0)->statistic = BC_AVERAGE;
}

START_TEST(the_ladder_rises_in_layers_and_falls_in_limit_used)
{
    const bc_draft_options options = quick(BC_AIM_BEST);
    bc_draft_result result;
    problem p;
    problem_open(&p, "620603", "MgF2,Al2O3,Ta2O5");
    add_visible(&p);
    result = drafted(&p, &options);
    for (size_t r = 1; r < result.rungs; r++) {
        ck_assert_uint_gt(result.rung[r].stack.layers, result.rung[r - 1].stack.layers);
        ck_assert_double_lt(result.rung[r].limit_used, result.rung[r - 1].limit_used);
    }
    ck_assert_double_le(result.rung[result.chosen].limit_used, 1.01 * result.rung[result.rungs - 1].limit_used);
    ck_assert_uint_le(result.rung[result.chosen].stack.layers, 4);
    bc_draft_result_clear(&result);
    problem_close(&p);
}
END_TEST

START_TEST(fewest_takes_the_first_rung_that_is_good_enough)
{
    const bc_draft_options options = quick(BC_AIM_FEWEST);
    bc_draft_result result;
    problem p;
    problem_open(&p, "620603", "MgF2,Al2O3,Ta2O5");
    add_visible(&p);
    result = drafted(&p, &options);
    ck_assert_double_le(result.rung[result.chosen].limit_used, 0.9);
    for (size_t r = 0; r < result.chosen; r++)
        ck_assert_double_gt(result.rung[r].limit_used, 0.9);
    ck_assert_int_eq(result.stop, BC_STOP_GOOD);
    bc_draft_result_clear(&result);
    problem_close(&p);
}
END_TEST

static void assert_same(const bc_draft_result *a, const bc_draft_result *b)
{
    ck_assert_uint_eq(a->rungs, b->rungs);
    ck_assert_uint_eq(a->starts, b->starts);
    for (size_t r = 0; r < a->rungs; r++) {
        ck_assert_uint_eq(a->rung[r].stack.layers, b->rung[r].stack.layers);
        ck_assert_double_eq(a->rung[r].limit_used, b->rung[r].limit_used);
        for (size_t j = 0; j < a->rung[r].stack.layers; j++)
            ck_assert_double_eq(a->rung[r].stack.layer[j].thickness_nm, b->rung[r].stack.layer[j].thickness_nm);
    }
}

START_TEST(threads_do_not_change_the_result)
{
    bc_draft_options options = quick(BC_AIM_BEST);
    bc_draft_result one, three;
    problem p;
    problem_open(&p, "517642", "MgF2,HfO2");
    add_visible(&p);
    options.threads = 1;
    one = drafted(&p, &options);
    options.threads = 3;
    three = drafted(&p, &options);
    assert_same(&one, &three);
    bc_draft_result_clear(&one);
    bc_draft_result_clear(&three);
    problem_close(&p);
}
END_TEST

START_TEST(limits_hold_in_every_rung)
{
    const bc_draft_options options = quick(BC_AIM_BEST);
    bc_draft_result result;
    problem p;
    problem_open(&p, "517642", "MgF2,HfO2");
    add_visible(&p);
    p.design.minimum_nm = 15.0;
    p.design.max_total_nm = 220.0;
    result = drafted(&p, &options);
    for (size_t r = 0; r < result.rungs; r++) {
        ck_assert_double_le(bc_stack_total_nm(&result.rung[r].stack), 220.0);
        for (size_t j = 0; j < result.rung[r].stack.layers; j++)
            ck_assert_double_ge(result.rung[r].stack.layer[j].thickness_nm, 15.0);
    }
    bc_draft_result_clear(&result);
    problem_close(&p);
}
END_TEST

START_TEST(one_recipe_serves_every_glass)
{
    const bc_draft_options options = quick(BC_AIM_BEST);
    bc_draft_result result;
    bc_check_result verdict;
    problem p;
    problem_open(&p, "517642,785257", "MgF2,HfO2,Ta2O5");
    problem_add(&p, 0.01, 450.0, 650.0, 0.0);
    result = drafted(&p, &options);
    ck_assert_int_eq(bc_check(&result.rung[result.chosen].stack, &p.callouts, 2, p.substrate, NULL, &verdict, NULL),
                     BC_OK);
    ck_assert_uint_eq(verdict.count, 2);
    ck_assert_double_eq(verdict.limit_used, result.rung[result.chosen].limit_used);
    bc_check_result_clear(&verdict);
    bc_draft_result_clear(&result);
    problem_close(&p);
}
END_TEST

/* A start's fixed layer is in every design, as it was; the rest may change. */
START_TEST(a_start_keeps_its_fixed_layer)
{
    bc_draft_options options = quick(BC_AIM_BEST);
    bc_draft_result result;
    bc_stack start;
    problem p;
    problem_open(&p, "1.52", "1.38,2.10");
    add_visible(&p);
    ck_assert_int_eq(bc_stack_alloc(2, &start, NULL), BC_OK);
    start.layer[0] = (bc_layer){p.material[0], 93.5, true};
    start.layer[1] = (bc_layer){p.material[1], 120.0, false};
    options.start = &start;
    result = drafted(&p, &options);
    for (size_t r = 0; r < result.rungs; r++) {
        bool there = false;
        for (size_t j = 0; j < result.rung[r].stack.layers; j++)
            there =
                there || (result.rung[r].stack.layer[j].fixed && result.rung[r].stack.layer[j].thickness_nm == 93.5);
        ck_assert(there);
    }
    ck_assert_double_lt(result.rung[result.chosen].limit_used, result.rung[0].limit_used);
    bc_stack_clear(&start);
    bc_draft_result_clear(&result);
    problem_close(&p);
}
END_TEST

/* Problems at the edge of sense end with the best there is, not with a hang or a crash. */
START_TEST(odd_problems_end_with_an_answer)
{
    bc_draft_options options = quick(BC_AIM_BEST);
    bc_draft_result result;
    problem p;
    problem_open(&p, _i == 0 ? "1.52-3i" : "1.52", _i == 1 ? "1.38" : "1.38,2.10");
    if (_i == 2) { /* nothing can reflect at most 1 % and at least 20 % of the same light */
        bc_callout *row = problem_add(&p, 0.2, 500.0, 500.0, 0.0);
        row->sense = BC_AT_LEAST;
    }
    problem_add(&p, 0.01, 500.0, 500.0, 0.0);
    if (_i == 3)
        problem_add(&p, 0.01, 1064.0, 1064.0, 45.0)->polarization = BC_POL_EACH;
    result = drafted(&p, &options);
    ck_assert(isfinite(result.rung[result.chosen].limit_used));
    bc_draft_result_clear(&result);
    problem_close(&p);
}
END_TEST

START_TEST(part_rows_are_designed_for)
{
    const bc_draft_options options = quick(BC_AIM_BEST);
    bc_draft_result result;
    bc_callout *row;
    problem p;
    problem_open(&p, "517642", "MgF2,HfO2");
    row = problem_add(&p, 0.985, 450.0, 650.0, 0.0);
    row->quantity = BC_T;
    row->sense = BC_AT_LEAST;
    row->scope = BC_SCOPE_PART;
    p.design.back = (bc_back){.kind = BC_BACK_SAME, .substrate_mm = 2.0};
    result = drafted(&p, &options);
    ck_assert_double_lt(result.rung[result.chosen].limit_used, 0.3 * result.rung[0].limit_used);
    bc_draft_result_clear(&result);
    problem_close(&p);
}
END_TEST

static bool cancel(void *context, double fraction, double limit_used)
{
    int *calls = context;
    ck_assert(fraction >= 0.0 && fraction <= 1.0 && limit_used > 0.0);
    return ++*calls < 2;
}

START_TEST(a_progress_that_says_stop_is_heard)
{
    bc_draft_options options = quick(BC_AIM_BEST);
    bc_draft_result result;
    int calls = 0;
    problem p;
    problem_open(&p, "517642", "MgF2,HfO2");
    add_visible(&p);
    options.progress = cancel;
    options.progress_context = &calls;
    result = drafted(&p, &options);
    ck_assert_int_eq(calls, 2);
    bc_draft_result_clear(&result);
    problem_close(&p);
}
END_TEST

START_TEST(nonsense_is_refused_in_words)
{
    bc_draft_options options = quick(BC_AIM_BEST);
    bc_draft_result result;
    bc_error error;
    problem p;
    problem_open(&p, "1.52", "1.38");
    add_visible(&p);
    options.effort = _i == 0 ? NAN : 1.0;
    if (_i == 1)
        p.design.max_layers = 0;
    if (_i == 2)
        p.design.minimum_nm = p.design.max_total_nm = 10.0;
    ck_assert_int_eq(bc_draft(&p.design, &options, &result, &error), BC_ERROR_INPUT);
    ck_assert_uint_gt(strlen(error.message), 10);
    problem_close(&p);
}
END_TEST

/* 1064 and 532 nm on fused silica: two and three layers can do it, some 5 to 10 um thick; four of a third of a micron
 * are what anybody would coat. */
START_TEST(a_thin_design_is_worth_a_layer_or_two)
{
    bc_draft_options options = quick(BC_AIM_FEWEST);
    bc_draft_result result;
    problem p;
    options.seed = (unsigned long)_i + 1;
    problem_open(&p, "fused-silica", "SiO2,HfO2");
    problem_add(&p, 0.001, 1064.0, 1064.0, 0.0);
    problem_add(&p, 0.002, 532.0, 532.0, 0.0);
    p.design.minimum_nm = 8.0;
    p.design.max_layers = 8;
    result = drafted(&p, &options);
    ck_assert_double_le(result.rung[result.chosen].limit_used, BC_FEWEST_USES);
    ck_assert_uint_eq(result.rung[result.chosen].stack.layers, 4);
    ck_assert_double_lt(result.rung[result.chosen].total_nm, 400.0);
    bc_draft_result_clear(&result);
    problem_close(&p);
}
END_TEST

/* One line in the infrared: a quarter wave is as good as it with any number of half waves more. */
START_TEST(the_thinnest_of_the_best_is_taken)
{
    const bc_draft_options options = quick(BC_AIM_BEST);
    bc_draft_result result;
    problem p;
    problem_open(&p, "ZnSe", "ZnS,1.45");
    problem_add(&p, 0.005, 10600.0, 10600.0, 0.0);
    p.design.minimum_nm = 8.0;
    p.design.max_layers = 4;
    result = drafted(&p, &options);
    ck_assert_double_le(result.rung[result.chosen].limit_used, 0.01);
    /* Thinner than a quarter wave of the low index alone, 10600 / (4 1.45) = 1828 nm. */
    ck_assert_double_lt(result.rung[result.chosen].total_nm, 1500.0);
    for (size_t r = 0; r < result.rungs; r++)
        if (result.rung[r].limit_used <= 0.01)
            ck_assert_double_ge(result.rung[r].total_nm, result.rung[result.chosen].total_nm);
    bc_draft_result_clear(&result);
    problem_close(&p);
}
END_TEST

/* R <= 0.05 % over the visible is out of reach; of what comes within 1 % of the best, the fewest layers are taken. */
START_TEST(no_layer_is_added_for_nothing)
{
    const bc_draft_options options = quick(BC_AIM_FEWEST);
    bc_draft_result result;
    double lowest = INFINITY;
    problem p;
    problem_open(&p, "1.52", "1.38,1.65");
    problem_add(&p, 0.0005, 420.0, 680.0, 0.0);
    p.design.minimum_nm = 8.0;
    p.design.max_layers = 5;
    result = drafted(&p, &options);
    for (size_t r = 0; r < result.rungs; r++)
        lowest = fmin(lowest, result.rung[r].limit_used);
    ck_assert_double_gt(lowest, 1.0);
    ck_assert_double_le(result.rung[result.chosen].limit_used, 1.01 * lowest);
    for (size_t r = 0; r < result.chosen; r++)
        ck_assert_double_gt(result.rung[r].limit_used, 1.01 * lowest);
    bc_draft_result_clear(&result);
    problem_close(&p);
}
END_TEST

/* No more searches can agree than were made. */
START_TEST(no_more_agree_than_were_made)
{
    const bc_draft_options options = quick(BC_AIM_FEWEST);
    bc_draft_result result;
    problem p;
    problem_open(&p, "1.52", "1.38,2.1");
    problem_add(&p, 0.00001, 420.0, 680.0, 0.0);
    p.design.minimum_nm = 60.0; /* so that more layers bring nothing */
    p.design.max_total_nm = 200.0;
    p.design.max_layers = 5;
    result = drafted(&p, &options);
    ck_assert_uint_gt(result.searches, 0);
    ck_assert_uint_le(result.agreeing, result.searches);
    bc_draft_result_clear(&result);
    problem_close(&p);
}
END_TEST

/* Nothing is said of less effort than was tried. */
START_TEST(trials_are_of_no_more_effort)
{
    ck_assert_ptr_null(bc_draft_trials_for(0.2));
    ck_assert_double_eq(bc_draft_trials_for(0.25)->effort, 0.25);
    ck_assert_double_eq(bc_draft_trials_for(0.99)->effort, 0.25);
    ck_assert_double_eq(bc_draft_trials_for(1.0)->effort, 1.0);
    ck_assert_double_eq(bc_draft_trials_for(50.0)->effort, 1.0);
    for (double effort = 0.25; effort <= 1.0; effort += 0.75) {
        const bc_draft_trials *trials = bc_draft_trials_for(effort);
        ck_assert_uint_eq(trials->agreed + trials->others, 200);
        ck_assert(trials->agreed_missed <= trials->agreed && trials->others_missed <= trials->others);
    }
}
END_TEST

Suite *draft_suite(void)
{
    Suite *suite = suite_create("draft");
    TCase *tests = tcase_create("draft");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, the_ladder_rises_in_layers_and_falls_in_limit_used);
    tcase_add_test(tests, fewest_takes_the_first_rung_that_is_good_enough);
    tcase_add_test(tests, threads_do_not_change_the_result);
    tcase_add_test(tests, limits_hold_in_every_rung);
    tcase_add_test(tests, one_recipe_serves_every_glass);
    tcase_add_test(tests, a_start_keeps_its_fixed_layer);
    tcase_add_loop_test(tests, odd_problems_end_with_an_answer, 0, 4);
    tcase_add_test(tests, part_rows_are_designed_for);
    tcase_add_test(tests, a_progress_that_says_stop_is_heard);
    tcase_add_loop_test(tests, a_thin_design_is_worth_a_layer_or_two, 0, 3);
    tcase_add_test(tests, the_thinnest_of_the_best_is_taken);
    tcase_add_test(tests, no_layer_is_added_for_nothing);
    tcase_add_test(tests, no_more_agree_than_were_made);
    tcase_add_test(tests, trials_are_of_no_more_effort);
    tcase_add_loop_test(tests, nonsense_is_refused_in_words, 0, 3);
    suite_add_tcase(suite, tests);
    return suite;
}
