/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "problem.h"
#include <math.h>
#include <string.h>

static bc_stack stack_of(const problem *p, size_t layers, const double *thickness_nm)
{
    bc_stack stack;
    ck_assert_int_eq(bc_stack_alloc(layers, &stack, NULL), BC_OK);
    stack.incident = p->design.incident;
    stack.substrate = p->substrate[0];
    for (size_t j = 0; j < layers; j++)
        stack.layer[j] = (bc_layer){p->material[j % p->design.materials], thickness_nm[j], false};
    return stack;
}

static double judged(const problem *p, const bc_stack *stack)
{
    bc_check_result result;
    double limit_used;
    ck_assert_int_eq(bc_check(stack, &p->callouts, p->design.substrates, p->substrate, &p->design.back, &result, NULL),
                     BC_OK);
    limit_used = result.limit_used;
    bc_check_result_clear(&result);
    return limit_used;
}

/* From near by: the best known of this problem is 0.5502 (its source: tests/reference/test_designs.c). */
START_TEST(the_best_known_design_is_reached_from_near_it)
{
    bc_refine_result result;
    problem p;
    bc_stack stack;
    problem_open(&p, "1.52", "1.38,2.10");
    problem_add(&p, 0.005, 420.0, 680.0, 0.0);
    problem_add(&p, 0.003, 420.0, 680.0, 0.0)->statistic = BC_AVERAGE;
    stack = stack_of(&p, 4, (double[]){95.0, 130.0, 37.0, 14.0});
    ck_assert_int_eq(bc_refine(&p.design, &stack, &result, NULL), BC_OK);
    ck_assert_double_lt(result.limit_used, 0.5502 * 1.001);
    ck_assert_double_gt(result.limit_used_before, result.limit_used);
    ck_assert_double_eq(result.limit_used, judged(&p, &stack));
    for (size_t j = 0; j < 4; j++)
        ck_assert_double_eq(stack.layer[j].thickness_nm, round(stack.layer[j].thickness_nm * 1000.0) / 1000.0);
    bc_stack_clear(&stack);
    problem_close(&p);
}
END_TEST

START_TEST(a_refined_stack_is_never_worse)
{
    const double start[3] = {60.0 + 20.0 * _i, 30.0 + 15.0 * _i, 100.0 - 10.0 * _i};
    bc_refine_result result;
    problem p;
    bc_stack stack;
    double before;
    problem_open(&p, "517642,620603", "MgF2,Ta2O5,Al2O3");
    problem_add(&p, 0.006, 450.0, 650.0, 0.0);
    problem_add(&p, 0.012, 450.0, 650.0, 30.0)->polarization = BC_POL_EACH;
    stack = stack_of(&p, 3, start);
    before = judged(&p, &stack);
    ck_assert_int_eq(bc_refine(&p.design, &stack, &result, NULL), BC_OK);
    ck_assert_double_eq(result.limit_used_before, before);
    ck_assert_double_le(result.limit_used, before);
    ck_assert_double_eq(result.limit_used, judged(&p, &stack));
    bc_stack_clear(&stack);
    problem_close(&p);
}
END_TEST

START_TEST(a_stack_that_breaks_the_minimum_is_lifted_over_it)
{
    bc_refine_result result;
    problem p;
    bc_stack stack;
    problem_open(&p, "1.52", "1.38,2.10");
    problem_add(&p, 0.005, 420.0, 680.0, 0.0);
    p.design.minimum_nm = 20.0;
    stack = stack_of(&p, 4, (double[]){97.787, 133.11, 35.081, 15.658});
    ck_assert_int_eq(bc_refine(&p.design, &stack, &result, NULL), BC_OK);
    for (size_t j = 0; j < 4; j++)
        ck_assert_double_ge(stack.layer[j].thickness_nm, 20.0);
    bc_stack_clear(&stack);
    problem_close(&p);
}
END_TEST

/* One wavelength has a zero of R in every half wave of every layer, and says nothing about which: the one near the
 * start is what was asked for. */
START_TEST(layers_far_from_good_move_to_what_is_near)
{
    static const double index[3] = {1.38, 2.1, 1.62};
    const double nm = 550.0, start = 30.0;
    bc_refine_result result;
    problem p;
    bc_stack stack;
    problem_open(&p, "1.52", "1.38,2.1,1.62");
    problem_add(&p, 0.09, nm, nm, 0.0)->scope = _i == 0 ? BC_SCOPE_PART : BC_SCOPE_SURFACE;
    p.design.back.kind = BC_BACK_SAME;
    stack = stack_of(&p, 3, (double[]){start, start, start});
    ck_assert_int_eq(bc_refine(&p.design, &stack, &result, NULL), BC_OK);
    ck_assert_double_gt(result.limit_used_before, 1.5);
    ck_assert_double_le(result.limit_used, 1.0);
    for (size_t j = 0; j < 3; j++)
        ck_assert_double_lt(index[j] * fabs(stack.layer[j].thickness_nm - start), nm / 2.0);
    bc_stack_clear(&stack);
    problem_close(&p);
}
END_TEST

START_TEST(limits_that_leave_no_room_are_refused_in_words)
{
    bc_refine_result result;
    bc_error error;
    problem p;
    bc_stack stack;
    problem_open(&p, "1.52", "1.38,2.10");
    problem_add(&p, 0.005, 420.0, 680.0, 0.0);
    p.design.minimum_nm = 20.0;
    p.design.max_total_nm = 50.0;
    stack = stack_of(&p, 4, (double[]){97.787, 133.11, 35.081, 15.658});
    ck_assert_int_eq(bc_refine(&p.design, &stack, &result, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "50 nm"));
    bc_stack_clear(&stack);
    problem_close(&p);
}
END_TEST

START_TEST(a_stack_with_nothing_to_move_comes_back_as_it_was)
{
    bc_refine_result result;
    problem p;
    bc_stack stack;
    problem_open(&p, "1.52", "1.38");
    problem_add(&p, 0.005, 420.0, 680.0, 0.0);
    stack = stack_of(&p, (size_t)_i, (double[]){97.7871234});
    if (_i == 1)
        stack.layer[0].fixed = true;
    ck_assert_int_eq(bc_refine(&p.design, &stack, &result, NULL), BC_OK);
    ck_assert_double_eq(result.limit_used, result.limit_used_before);
    if (_i == 1)
        ck_assert_double_eq(stack.layer[0].thickness_nm, 97.7871234);
    bc_stack_clear(&stack);
    problem_close(&p);
}
END_TEST

/* One layer at one wavelength: R is even about the quarter wave, 550 / (4 * 1.38) nm (Born and Wolf, ch. 1.6.4), so the
 * best thickness puts the thickest and the thinnest scenario at equal distances from it. */
START_TEST(scenarios_are_balanced_about_the_quarter_wave)
{
    const double error[3] = {0.10, 0.02, -0.04}, dn[3] = {0.0, 0.0, 0.0};
    const bc_scenarios scenarios = {.count = 3, .error = error, .materials = 1, .dn = dn};
    const double quarter = 550.0 / (4.0 * 1.38);
    bc_refine_result result;
    problem p;
    bc_stack stack;
    problem_open(&p, "1.52", "1.38");
    problem_add(&p, 0.01, 550.0, 550.0, 0.0);
    stack = stack_of(&p, 1, (double[]){90.0});
    ck_assert_int_eq(bc_refine_scenarios(&p.design, &scenarios, &stack, &result, NULL), BC_OK);
    ck_assert_double_eq_tol(stack.layer[0].thickness_nm, 2.0 * quarter / (1.10 + 0.96), 0.02);
    ck_assert_double_eq_tol(result.limit_used, judged(&p, &stack), 1e-12);
    bc_stack_clear(&stack);
    problem_close(&p);
}
END_TEST

Suite *refine_suite(void)
{
    Suite *suite = suite_create("refine");
    TCase *tests = tcase_create("refine");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, the_best_known_design_is_reached_from_near_it);
    tcase_add_loop_test(tests, a_refined_stack_is_never_worse, 0, 5);
    tcase_add_test(tests, a_stack_that_breaks_the_minimum_is_lifted_over_it);
    tcase_add_loop_test(tests, layers_far_from_good_move_to_what_is_near, 0, 2);
    tcase_add_test(tests, limits_that_leave_no_room_are_refused_in_words);
    tcase_add_loop_test(tests, a_stack_with_nothing_to_move_comes_back_as_it_was, 0, 2);
    tcase_add_test(tests, scenarios_are_balanced_about_the_quarter_wave);
    suite_add_tcase(suite, tests);
    return suite;
}
