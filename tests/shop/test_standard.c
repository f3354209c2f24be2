/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Standard coatings held against a request: that what is said of them is what a check and the runs say.
 */
#include "inquiry.h"
#include <bloomcoat/refine.h>
#include <bloomcoat/standard_check.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

typedef struct offered {
    inquiry q;
    bc_stack stack;
    char *path;
    bc_standard standard;
    bc_standards standards;
} offered;

/* Two layers on the request's own substrate, refined for R <= 1.5 % from 430 to 660 nm; the request asks for `limit`.
 */
static void open_offered(offered *o, double limit)
{
    bc_refine_result refined;
    open_runs(&o->q, 0.015);
    o->q.request.effort = 0.05;
    ck_assert_int_eq(bc_stack_alloc(2, &o->stack, NULL), BC_OK);
    o->stack.incident = o->q.w.problem.incident;
    o->stack.substrate = o->q.w.problem.substrate[0];
    o->stack.layer[0] = (bc_layer){.material = o->q.layer[0], .thickness_nm = 95.0};
    o->stack.layer[1] = (bc_layer){.material = o->q.layer[1], .thickness_nm = 125.0};
    ck_assert_int_eq(bc_refine(&o->q.w.problem, &o->stack, &refined, NULL), BC_OK);
    o->q.w.callout[0].limit = limit;
    o->path = NULL;
    o->standard = (bc_standard){.name = "OURS", .callouts = o->q.w.callouts, .stacks = 1, .stack = &o->stack};
    o->standards = (bc_standards){1, &o->standard};
    o->q.request.standards = &o->standards;
}

static void close_offered(offered *o)
{
    bc_stack_clear(&o->stack);
    workshop_close(&o->q.w);
}

static double used_by(const offered *o, const bc_stack *stack)
{
    bc_check_result check;
    double used;
    ck_assert_int_eq(bc_problem_check(&o->q.w.problem, stack, &check, NULL), BC_OK);
    used = check.limit_used;
    bc_check_result_clear(&check);
    return used;
}

/* The yield that is told is that of runs nobody has looked at. */
static void expect_yield(const offered *o, const bc_quote_option *option)
{
    const bc_yield_options options = {.runs = 20000, .seed = 4711, .threads = 2};
    bc_yield_result runs;
    ck_assert_int_eq(bc_yield(&o->q.w.problem, &option->stack, &o->q.w.process, &options, &runs, NULL), BC_OK);
    ck_assert_double_le(fabs(runs.yield - option->yield), 0.015);
    bc_yield_result_clear(&runs);
}

START_TEST(a_standard_that_does_ends_the_quote)
{
    offered o;
    open_offered(&o, 0.04);
    bc_quote_result result = ask(&o.q);
    ck_assert_int_eq(result.verdict, BC_FEASIBLE);
    ck_assert(!result.searched);
    ck_assert_uint_eq(result.standards, 1);
    ck_assert(result.standard[0].does && !result.standard[0].refined && result.standard[0].moved_nm == 0.0);
    ck_assert_uint_eq(result.options, 1);
    ck_assert_ptr_eq(result.option[0].standard, &result.standard[0]);
    ck_assert_double_eq(result.option[0].limit_used, used_by(&o, &o.stack));
    ck_assert_double_eq(result.check.limit_used, result.option[0].limit_used);
    ck_assert_uint_gt(result.check.count, 0);
    expect_yield(&o, &result.option[0]);
    bc_quote_result_clear(&result);
    close_offered(&o);
}
END_TEST

START_TEST(a_search_too_puts_the_standard_first)
{
    offered o;
    open_offered(&o, 0.04);
    o.q.request.search_too = true;
    bc_quote_result result = ask(&o.q);
    ck_assert(result.searched);
    ck_assert_uint_ge(result.options, 2);
    ck_assert_uint_eq(result.recommended, 0);
    ck_assert_ptr_nonnull(result.option[0].standard);
    ck_assert_ptr_null(result.option[1].standard);
    bc_quote_result_clear(&result);
    close_offered(&o);
}
END_TEST

/* Three of five standard coatings that do are options, the best first. */
START_TEST(three_standards_at_most_are_options)
{
    enum { MADE = 5 };
    bc_standard many[MADE];
    bc_stack stack[MADE];
    offered o;
    open_offered(&o, 0.04);
    for (size_t i = 0; i < MADE; i++) {
        ck_assert_int_eq(bc_stack_copy(&o.stack, &stack[i], NULL), BC_OK);
        stack[i].layer[1].thickness_nm += (double)i;
        many[i] = o.standard;
        many[i].stack = &stack[i];
    }
    o.standards = (bc_standards){MADE, many};
    bc_quote_result result = ask(&o.q);
    ck_assert_uint_eq(result.standards, MADE);
    ck_assert(result.standard[MADE - 1].does);
    ck_assert_uint_eq(result.options, 3);
    for (size_t i = 0; i < 3; i++)
        ck_assert_ptr_eq(result.option[i].standard, &result.standard[i]);
    bc_quote_result_clear(&result);
    for (size_t i = 0; i < MADE; i++)
        bc_stack_clear(&stack[i]);
    close_offered(&o);
}
END_TEST

/* As it is it fails; with the same layers refined it does, and that is said apart. */
START_TEST(thicknesses_are_refined_where_as_it_is_fails)
{
    offered o;
    open_offered(&o, 0.04);
    o.stack.layer[0].thickness_nm *= 1.1;
    o.stack.layer[1].thickness_nm *= 1.1;
    bc_quote_result result = ask(&o.q);
    ck_assert_uint_eq(result.standards, 2);
    ck_assert(result.standard[0].does && result.standard[0].refined && !result.standard[0].new_design);
    ck_assert(!result.searched);
    ck_assert_double_gt(result.standard[0].moved_nm, 5.0);
    ck_assert(!result.standard[1].does && !result.standard[1].refined);
    ck_assert_double_eq(result.standard[1].option.limit_used, used_by(&o, &o.stack));
    ck_assert(isnan(result.standard[1].option.yield));
    ck_assert_double_eq(result.option[0].limit_used, used_by(&o, &result.option[0].stack));
    expect_yield(&o, &result.option[0]);
    bc_quote_result_clear(&result);
    close_offered(&o);
}
END_TEST

/* Where only a long way leads to thicknesses that do, it is a new design, and the search goes on from it. */
START_TEST(moved_too_far_is_a_new_design)
{
    offered o;
    open_offered(&o, 0.018);
    o.stack.layer[0].thickness_nm *= 1.35;
    o.stack.layer[1].thickness_nm *= 1.35;
    const double from[2] = {o.stack.layer[0].thickness_nm, o.stack.layer[1].thickness_nm};
    double most = 0.0;
    o.q.w.process.row[0].thickness_sigma = 0.002;
    bc_quote_result result = ask(&o.q);
    ck_assert(result.searched && result.standard[0].does && result.standard[0].new_design);
    for (size_t j = 0; j < 2; j++)
        most = fmax(most, fabs(result.standard[0].option.stack.layer[j].thickness_nm / from[j] - 1.0));
    ck_assert_double_gt(most, BC_STANDARD_MOVE);
    ck_assert_int_eq(result.verdict, BC_FEASIBLE);
    ck_assert_double_le(result.option[result.recommended].limit_used, 1.0);
    for (size_t i = 0; i < result.options; i++)
        ck_assert_ptr_null(result.option[i].standard);
    bc_quote_result_clear(&result);
    close_offered(&o);
}
END_TEST

/* One that fails, or is not allowed, is told and offered to nobody: the search goes on. */
START_TEST(a_standard_that_fails_is_not_offered)
{
    offered o;
    open_offered(&o, 0.004);
    bc_quote_result result = ask(&o.q);
    ck_assert(result.searched && !result.standard[0].does);
    for (size_t i = 0; i < result.options; i++)
        ck_assert_ptr_null(result.option[i].standard);
    bc_quote_result_clear(&result);
    o.q.w.callout[0].limit = 0.04;
    o.q.w.problem.materials = 1; /* the high index is not allowed */
    result = ask(&o.q);
    ck_assert_uint_eq(result.standards, 1);
    ck_assert_ptr_eq(result.standard[0].refused->dispersion, o.q.layer[1].dispersion);
    ck_assert(!result.standard[0].does && result.searched);
    bc_quote_result_clear(&result);
    close_offered(&o);
}
END_TEST

START_TEST(check_asks_todays_process)
{
    offered o;
    bc_standard_state state;
    open_offered(&o, 0.025);
    const bc_callouts callouts = o.q.w.callouts;
    o.standard.callouts = callouts;
    ck_assert_int_eq(bc_standard_check(&o.standard, 0, &o.q.w.process, NULL, 0.9, 1, &state, NULL), BC_OK);
    ck_assert_double_eq(state.limit_used, used_by(&o, &o.stack));
    ck_assert(isnan(state.yield_when_added));
    const double yield = state.yield;
    bc_process drifted = o.q.w.process;
    bc_process_row row = drifted.row[0];
    drifted.row = &row;
    row.thickness_sigma *= 6.0;
    ck_assert_int_eq(bc_standard_check(&o.standard, 0, &drifted, &o.q.w.process, 0.9, 1, &state, NULL), BC_OK);
    ck_assert_double_eq(state.yield_when_added, yield);
    ck_assert_double_lt(state.yield, yield - 0.1);
    ck_assert(state.pass == (state.yield >= 0.9));
    o.q.w.callout[0].limit = 0.004;
    ck_assert_int_eq(bc_standard_check(&o.standard, 0, NULL, NULL, 0.9, 1, &state, NULL), BC_OK);
    ck_assert(!state.pass && isnan(state.yield));
    close_offered(&o);
}
END_TEST

/* Of standards that are as good the first in the list comes first. Loop: all of them do; none may be used. */
START_TEST(standards_that_are_alike_keep_their_order)
{
    static const char *const name[] = {"FIRST", "SECOND", "THIRD"};
    bc_standard alike[3];
    offered o;
    open_offered(&o, 0.04);
    for (size_t s = 0; s < 3; s++) {
        alike[s] = o.standard;
        snprintf(alike[s].name, sizeof alike[s].name, "%s", name[s]);
    }
    o.standards = (bc_standards){3, alike};
    o.q.w.problem.materials = _i == 0 ? 2 : 1;
    bc_quote_result result = ask(&o.q);
    ck_assert_uint_eq(result.standards, 3);
    for (size_t s = 0; s < 3; s++) {
        ck_assert_int_eq(result.standard[s].does, _i == 0);
        ck_assert_str_eq(result.standard[s].standard->name, name[s]);
    }
    bc_quote_result_clear(&result);
    close_offered(&o);
}
END_TEST

TCase *standard_case(void)
{
    TCase *tcase = tcase_create("standard");
    tcase_add_test(tcase, a_standard_that_does_ends_the_quote);
    tcase_add_test(tcase, a_search_too_puts_the_standard_first);
    tcase_add_test(tcase, three_standards_at_most_are_options);
    tcase_add_test(tcase, thicknesses_are_refined_where_as_it_is_fails);
    tcase_add_test(tcase, moved_too_far_is_a_new_design);
    tcase_add_test(tcase, a_standard_that_fails_is_not_offered);
    tcase_add_loop_test(tcase, standards_that_are_alike_keep_their_order, 0, 2);
    tcase_add_test(tcase, check_asks_todays_process);
    return tcase;
}
