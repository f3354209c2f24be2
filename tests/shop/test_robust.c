/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "margin.h"
#include "workshop.h"
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

/* One layer, one wavelength off its zero: u is linear there, so the margin is (1 - u) / (|du/dd| d sigma), the slope by
 * differences of the closed form. */
START_TEST(the_linear_margin_of_one_layer_is_its_distance_in_sigmas)
{
    const double limit = 0.02, sigma = 0.01, step = 1e-4;
    double margin, u, slope;
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52");
    workshop_ask(&w, limit, 600.0, 600.0, 0.0);
    workshop_errors(&w, "*", sigma, 0.0, 0.0);
    u = one_layer(1.38, 1.52, 100.0, 600.0) / limit;
    slope = (one_layer(1.38, 1.52, 100.0 + step, 600.0) - one_layer(1.38, 1.52, 100.0 - step, 600.0)) /
            (2.0 * step * limit);
    ck_assert_int_eq(bc_linear_margin(&w.problem, &w.stack, &w.process, &margin, NULL), BC_OK);
    ck_assert_double_eq_tol(margin, (1.0 - u) / (fabs(slope) * 100.0 * sigma), 1e-5 * fabs(margin));
    workshop_close(&w);
}
END_TEST

/* A layer deposited as two, of 60 and 40 nm, so that one closed form has the slopes of both: their own errors add up as
 * squares, the drift moves both together, and the index is one error more. */
START_TEST(independent_errors_add_as_squares_and_common_ones_do_not)
{
    const double limit = 0.02, step = 1e-4, sigma = 0.01, drift = 0.02, index = 0.005;
    double margin, u, slope, change, variance;
    workshop w;
    workshop_open(&w, "air", "1.38,1.38", "1.52");
    workshop_ask(&w, limit, 600.0, 600.0, 0.0);
    workshop_errors(&w, "*", _i == 1 ? 0.0 : sigma, _i == 0 ? 0.0 : drift, _i == 3 ? index : 0.0);
    w.stack.layer[0].thickness_nm = 60.0;
    w.stack.layer[1].thickness_nm = 40.0;
    u = one_layer(1.38, 1.52, 100.0, 600.0) / limit;
    slope = (one_layer(1.38, 1.52, 100.0 + step, 600.0) - one_layer(1.38, 1.52, 100.0 - step, 600.0)) /
            (2.0 * step * limit);
    change = one_layer(1.38 + index, 1.52, 100.0, 600.0) / limit - u;
    variance = (_i == 1 ? 0.0 : slope * slope * sigma * sigma * (60.0 * 60.0 + 40.0 * 40.0)) +
               (_i == 0 ? 0.0 : slope * slope * drift * drift * 100.0 * 100.0) + (_i == 3 ? change * change : 0.0);
    ck_assert_int_eq(bc_linear_margin(&w.problem, &w.stack, &w.process, &margin, NULL), BC_OK);
    ck_assert_double_eq_tol(margin, (1.0 - u) / sqrt(variance), 1e-5 * fabs(margin));
    workshop_close(&w);
}
END_TEST

/* Several samples: the one with the fewest standard deviations of room decides, wherever the room itself is smallest.
 */
START_TEST(the_smallest_margin_counts)
{
    double margin, alone[2];
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52");
    workshop_errors(&w, "*", 0.01, 0.0, 0.0);
    for (int which = 0; which < 3; which++) {
        w.callouts.count = 0;
        if (which != 1)
            workshop_ask(&w, 0.03, 450.0, 450.0, 0.0);
        if (which != 0)
            workshop_ask(&w, 0.03, 700.0, 700.0, 0.0);
        ck_assert_int_eq(bc_linear_margin(&w.problem, &w.stack, &w.process, which < 2 ? &alone[which] : &margin, NULL),
                         BC_OK);
    }
    ck_assert_double_gt(fabs(alone[0] - alone[1]), 0.1);
    ck_assert_double_eq_tol(margin, fmin(alone[0], alone[1]), 1e-9);
    workshop_close(&w);
}
END_TEST

START_TEST(without_errors_the_margin_is_infinite)
{
    double margin;
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52");
    workshop_ask(&w, 0.02, 550.0, 550.0, 0.0);
    ck_assert_int_eq(bc_linear_margin(&w.problem, &w.stack, &w.process, &margin, NULL), BC_OK);
    ck_assert(isinf(margin) && margin > 0.0);
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

TCase *robust_case(void)
{
    TCase *tests = tcase_create("robust");
    tcase_add_test(tests, more_runs_meet_the_robust_design_than_the_sharpest);
    tcase_add_test(tests, the_choice_is_the_same_for_any_number_of_threads);
    tcase_add_test(tests, the_linear_margin_of_one_layer_is_its_distance_in_sigmas);
    tcase_add_loop_test(tests, independent_errors_add_as_squares_and_common_ones_do_not, 0, 4);
    tcase_add_test(tests, the_smallest_margin_counts);
    tcase_add_test(tests, without_errors_the_margin_is_infinite);
    tcase_add_test(tests, where_nothing_meets_the_callouts_the_sharpest_stands);
    return tests;
}
