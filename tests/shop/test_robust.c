/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "estimate.h"
#include "inquiry.h"
#include <bloomcoat/robust.h>
#include <math.h>
#include <string.h>

/* A demanding visible callout, where a design that is sharp on paper loses many runs. */
static bc_draft_result drafted(workshop *w)
{
    const bc_draft_options options = {.aim = BC_AIM_BEST, .seed = 1, .effort = 0.2};
    bc_draft_result draft;
    bc_error error;
    w->problem.incident = w->stack.incident;
    workshop_ask(w, 0.003, 450.0, 670.0, 0.0);
    workshop_errors(w, "*", 0.015, 0.007, 0.005);
    w->problem.max_layers = 6;
    w->problem.minimum_nm = 8.0;
    w->problem.max_total_nm = INFINITY;
    ck_assert_msg(bc_draft(&w->problem, &options, &draft, &error) == BC_OK, "%s", error.message);
    return draft;
}

START_TEST(more_runs_meet_the_robust_design_than_the_sharpest)
{
    const bc_robust_options options = {.seed = 1, .runs = 4000};
    bc_medium layer[3];
    bc_draft_result draft;
    bc_robust_result robust;
    bc_yield_result again;
    bc_error error;
    workshop w;
    workshop_open(&w, "air", "1.38,2.15,1.65", "1.52");
    for (size_t m = 0; m < 3; m++)
        layer[m] = w.stack.layer[m].material;
    w.problem.materials = 3;
    w.problem.material = layer;
    draft = drafted(&w);
    ck_assert_msg(bc_robust(&w.problem, &w.process, &draft, &options, &robust, &error) == BC_OK, "%s", error.message);
    ck_assert_double_le(robust.limit_used, 1.0);
    ck_assert_double_eq(robust.sharpest_limit_used, draft.rung[draft.chosen].limit_used);
    ck_assert_double_gt(robust.yield_low, robust.sharpest_high); /* clearly above: the intervals do not touch */
    for (size_t j = 0; j < robust.stack.layers; j++)
        ck_assert_double_ge(robust.stack.layer[j].thickness_nm, 8.0);
    /* Confirmed by runs that took no part in the choice. */
    w.options.seed = 77;
    w.options.runs = 8000;
    ck_assert_int_eq(bc_yield(&w.problem, &robust.stack, &w.process, &w.options, &again, NULL), BC_OK);
    ck_assert_double_gt(again.yield_low, robust.sharpest_yield);
    bc_yield_result_clear(&again);
    bc_robust_result_clear(&robust);
    bc_draft_result_clear(&draft);
    workshop_close(&w);
}
END_TEST

static double highest_quoted(const inquiry *q)
{
    bc_quote_result result = ask(q);
    double highest = 0.0;
    for (size_t o = 0; o < result.options; o++)
        highest = fmax(highest, result.option[o].yield);
    bc_quote_result_clear(&result);
    return highest;
}

/* Whatever the draft brings along: here next to nothing. The yields are of other runs: 4 standard errors of 4000. */
START_TEST(a_draft_finds_no_lower_a_yield_than_a_quote)
{
    const bc_draft_options hasty = {.aim = BC_AIM_BEST, .seed = 9, .effort = 0.001};
    const bc_robust_options options = {.seed = 1, .runs = 4000, .search_effort = 1.0};
    bc_draft_result draft;
    bc_robust_result robust;
    double highest = 0.0, quoted;
    inquiry q;
    open_inquiry(&q, "1.46,2.1", 6);
    workshop_ask(&q.w, 0.002, 532.0, 532.0, 0.0);
    workshop_ask(&q.w, 0.001, 1064.0, 1064.0, 0.0);
    workshop_errors(&q.w, "*", 0.015, 0.007, 0.005);
    q.request.process = &q.w.process;
    q.request.effort = 1.0;
    quoted = highest_quoted(&q);
    ck_assert_int_eq(bc_draft(&q.w.problem, &hasty, &draft, NULL), BC_OK);
    ck_assert_int_eq(bc_robust(&q.w.problem, &q.w.process, &draft, &options, &robust, NULL), BC_OK);
    for (size_t r = 0; r < robust.rungs; r++)
        highest = fmax(highest, robust.rung[r].yield);
    ck_assert(quoted > 0.2 && quoted < 0.995);
    ck_assert_double_ge(highest, quoted - 4.0 * sqrt(quoted * (1.0 - quoted) / 4000.0));
    ck_assert_double_ge(robust.yield, highest - 0.02);
    ck_assert_uint_eq(robust.stack.layers, robust.rung[robust.chosen].layers);
    for (size_t r = 1; r < robust.rungs; r++)
        ck_assert_uint_gt(robust.rung[r].layers, robust.rung[r - 1].layers);
    bc_robust_result_clear(&robust);
    bc_draft_result_clear(&draft);
    workshop_close(&q.w);
}
END_TEST

START_TEST(the_choice_is_the_same_for_any_number_of_threads)
{
    bc_robust_options options = {.seed = 3, .runs = 500, .threads = 1};
    bc_draft_result draft;
    bc_robust_result one, four;
    bc_medium layer[2];
    workshop w;
    workshop_open(&w, "air", "1.38,2.15", "1.52");
    layer[0] = w.stack.layer[0].material;
    layer[1] = w.stack.layer[1].material;
    w.problem.materials = 2;
    w.problem.material = layer;
    draft = drafted(&w);
    ck_assert_int_eq(bc_robust(&w.problem, &w.process, &draft, &options, &one, NULL), BC_OK);
    options.threads = 4;
    ck_assert_int_eq(bc_robust(&w.problem, &w.process, &draft, &options, &four, NULL), BC_OK);
    ck_assert_double_eq(one.yield, four.yield);
    ck_assert_uint_eq(one.stack.layers, four.stack.layers);
    for (size_t j = 0; j < one.stack.layers; j++)
        ck_assert_double_eq(one.stack.layer[j].thickness_nm, four.stack.layer[j].thickness_nm);
    bc_robust_result_clear(&one);
    bc_robust_result_clear(&four);
    bc_draft_result_clear(&draft);
    workshop_close(&w);
}
END_TEST

/* Nothing meets such a callout: the draft's choice stands, and says so by its limit_used. */
START_TEST(where_nothing_meets_the_callouts_the_sharpest_stands)
{
    const bc_robust_options options = {.seed = 1, .runs = 200};
    const bc_draft_options quick = {.aim = BC_AIM_BEST, .seed = 1, .effort = 0.05};
    bc_medium layer[1];
    bc_draft_result draft;
    bc_robust_result robust;
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52");
    layer[0] = w.stack.layer[0].material;
    w.problem.materials = 1;
    w.problem.material = layer;
    w.problem.max_layers = 1;
    w.problem.incident = w.stack.incident;
    w.problem.max_total_nm = INFINITY;
    workshop_ask(&w, 0.001, 400.0, 700.0, 0.0);
    workshop_errors(&w, "*", 0.01, 0.0, 0.0);
    ck_assert_int_eq(bc_draft(&w.problem, &quick, &draft, NULL), BC_OK);
    ck_assert_int_eq(bc_robust(&w.problem, &w.process, &draft, &options, &robust, NULL), BC_OK);
    ck_assert_double_gt(robust.limit_used, 1.0);
    ck_assert_double_eq(robust.yield, 0.0);
    bc_robust_result_clear(&robust);
    bc_draft_result_clear(&draft);
    workshop_close(&w);
}
END_TEST

/* Neither of two designs meets the callout, one by so little that the few wavelengths of a search do not see it and
 * that many runs do: then the draft's own choice stands. A layer of 3000 nm has narrow peaks of R, as high as that of
 * the quarter wave at 546 nm. */
START_TEST(what_fails_on_paper_is_not_chosen_for_its_runs)
{
    const bc_robust_options options = {.seed = 1, .runs = 1000};
    bc_rung rung[2] = {{.limit_used = 0.0}};
    const bc_draft_result draft = {.rungs = 2, .chosen = 0, .rung = rung};
    bc_robust_result robust;
    bc_forecast forecast;
    bc_check_result check;
    inquiry q;
    open_inquiry(&q, "2.1", 1);
    bc_callout *row = workshop_ask(&q.w, 0.25, 500.0, 600.0, 0.0);
    workshop_errors(&q.w, "*", 0.001, 0.0, 0.005);
    q.w.stack.layer[0].fixed = true;
    for (size_t r = 0; r < 2; r++) {
        q.w.stack.layer[0].thickness_nm = r == 0 ? 65.0 : 3000.0;
        ck_assert_int_eq(bc_stack_copy(&q.w.stack, &rung[r].stack, NULL), BC_OK);
    }
    ck_assert_int_eq(bc_forecast_limit(&q.w.problem, &rung[1].stack, &q.w.process, 0.9, &forecast, NULL, NULL), BC_OK);
    ck_assert_int_eq(bc_problem_check(&q.w.problem, &rung[1].stack, &check, NULL), BC_OK);
    row->limit *= 0.5 * (forecast.limit_used + check.limit_used);
    bc_check_result_clear(&check);
    for (size_t r = 0; r < 2; r++) {
        ck_assert_int_eq(bc_problem_check(&q.w.problem, &rung[r].stack, &check, NULL), BC_OK);
        rung[r].limit_used = check.limit_used;
        ck_assert_double_gt(check.limit_used, 1.0);
        bc_check_result_clear(&check);
    }
    ck_assert_int_eq(bc_robust(&q.w.problem, &q.w.process, &draft, &options, &robust, NULL), BC_OK);
    ck_assert_double_eq(robust.stack.layer[0].thickness_nm, 65.0);
    bc_robust_result_clear(&robust);
    bc_stack_clear(&rung[0].stack);
    bc_stack_clear(&rung[1].stack);
    workshop_close(&q.w);
}
END_TEST

TCase *robust_case(void)
{
    TCase *tests = tcase_create("robust");
    tcase_add_test(tests, more_runs_meet_the_robust_design_than_the_sharpest);
    tcase_add_test(tests, a_draft_finds_no_lower_a_yield_than_a_quote);
    tcase_add_test(tests, the_choice_is_the_same_for_any_number_of_threads);
    tcase_add_test(tests, where_nothing_meets_the_callouts_the_sharpest_stands);
    tcase_add_test(tests, what_fails_on_paper_is_not_chosen_for_its_runs);
    return tests;
}
