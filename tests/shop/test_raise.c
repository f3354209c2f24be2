/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Designs made better for a process: layers added, yields raised, and what a quote has of it.
 */
#include "add_layer.h"
#include "inquiry.h"
#include "raise_yield.h"
#include <bloomcoat/refine.h>
#include <math.h>
#include <stdlib.h>

/* Two lines an octave apart on fused silica, from one design that meets both with four layers exactly: more layers are
 * of no use on paper, and of much use in runs. */
static void open_lines(inquiry *q, size_t max_layers)
{
    open_inquiry(q, "1.46,2.1", max_layers);
    workshop_ask(&q->w, 0.002, 532.0, 532.0, 0.0);
    workshop_ask(&q->w, 0.001, 1064.0, 1064.0, 0.0);
    workshop_errors(&q->w, "*", 0.015, 0.007, 0.006);
    q->w.row[0].has_minimum = true;
    q->w.row[0].minimum_nm = 8.0;
    q->request.process = &q->w.process;
    q->request.effort = 1.0;
}

START_TEST(lines_are_met_by_nearly_every_run)
{
    bc_quote_result result;
    inquiry q;
    open_lines(&q, 8);
    q.request.seed = (unsigned long)_i + 1;
    q.request.effort = _i == 2 ? 2.0 : 1.0;
    result = ask(&q);
    const bc_quote_option *option = &result.option[result.recommended];
    ck_assert_msg(option->yield >= 0.985, "%g with %zu layers", option->yield, option->stack.layers);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

static double share_of_runs(const inquiry *q, const bc_stack *stack)
{
    const bc_yield_options options = {.runs = MANY_OR_FEW(40000, 8000), .seed = 4711, .threads = 2};
    bc_yield_result runs;
    ck_assert_int_eq(bc_yield(&q->w.problem, stack, &q->w.process, &options, &runs, NULL), BC_OK);
    const double share = runs.yield;
    bc_yield_result_clear(&runs);
    return share;
}

/* From the best on paper: runs of another stream say that more succeed, and as many as the look says. */
START_TEST(a_raised_yield_is_higher)
{
    bc_refine_result refined;
    bc_forecast forecast, before;
    bc_stack stack;
    inquiry q;
    open_inquiry(&q, "1.38,2.1,1.63", 3);
    workshop_ask(&q.w, 0.006, 450.0, 650.0, 0.0);
    workshop_errors(&q.w, "*", 0.035, 0.007, 0.005);
    ck_assert_int_eq(bc_stack_copy(&q.w.stack, &stack, NULL), BC_OK);
    stack.layer[1].thickness_nm = 130.0;
    stack.layer[2].thickness_nm = 80.0;
    ck_assert_int_eq(bc_refine(&q.w.problem, &stack, &refined, NULL), BC_OK);
    ck_assert_double_lt(refined.limit_used, 1.0);
    ck_assert_int_eq(bc_forecast_limit(&q.w.problem, &stack, &q.w.process, 0.9, &before, NULL, NULL), BC_OK);
    const double share = share_of_runs(&q, &stack);
    forecast = before;
    ck_assert_int_eq(bc_raise_yield(&q.w.problem, &q.w.process, 0.9, 6, &stack, &forecast, NULL), BC_OK);
    ck_assert_uint_eq(stack.layers, 3);
    ck_assert_msg(share_of_runs(&q, &stack) > share + 0.02, "%g -> %g", share, share_of_runs(&q, &stack));
    ck_assert_double_eq_tol(share_of_runs(&q, &stack), forecast.yield, 0.03);
    ck_assert_double_gt(forecast.yield, before.yield);
    bc_stack_clear(&stack);
    workshop_close(&q.w);
}
END_TEST

/* Whether a layer lies in the middle of what was one. */
static bool is_split(const bc_stack *grown)
{
    bool split = false;
    for (size_t j = 0; j + 2 < grown->layers; j++)
        split = split || (grown->layer[j].material.dispersion == grown->layer[j + 2].material.dispersion &&
                          fabs(grown->layer[j].thickness_nm - grown->layer[j + 2].thickness_nm) < 1e-9);
    return split;
}

/* A new layer differs from its neighbours, and what was there keeps its thickness in all. */
static void expect_grown(const inquiry *q, const bc_stack *grown, size_t more)
{
    const bc_stack *from = &q->w.stack;
    double old_nm = 0.0;
    ck_assert_uint_eq(grown->layers, from->layers + more);
    for (size_t j = 0; j + 1 < grown->layers; j++)
        ck_assert_ptr_ne(grown->layer[j].material.dispersion, grown->layer[j + 1].material.dispersion);
    for (size_t j = 0; j < grown->layers; j++)
        old_nm += grown->layer[j].thickness_nm > 40.0 ? grown->layer[j].thickness_nm : 0.0;
    ck_assert_double_eq_tol(old_nm, bc_stack_total_nm(from), 1e-9);
    ck_assert(is_split(grown) == (more == 2));
    ck_assert_ptr_eq(grown->substrate.dispersion, from->substrate.dispersion);
}

START_TEST(layers_are_added_everywhere)
{
    static const struct {
        const char *layers;
        size_t more, expected;
        bool fixed;
    } row[] = {{"1.38,2.1", 1, 2, false},      {"1.38,2.1", 2, 2, false},      {"1.38,2.1", 2, 1, true},
               {"1.38,2.1,1.63", 1, 6, false}, {"1.38,2.1,1.63", 2, 6, false}, {"1.38,2.1,1.63", 2, 4, true}};
    bc_stack *grown;
    size_t count = 9; /* whatever was there before */
    inquiry q;
    open_inquiry(&q, row[_i].layers, 6);
    workshop_ask(&q.w, 0.006, 450.0, 650.0, 0.0);
    q.w.problem.minimum_nm = 20.0;
    q.w.stack.layer[0].fixed = row[_i].fixed;
    grown = calloc(bc_add_layer_most(q.w.stack.layers, q.w.problem.materials), sizeof *grown);
    ck_assert_int_eq(bc_add_layer(&q.w.problem, &q.w.stack, row[_i].more, grown, &count, NULL), BC_OK);
    ck_assert_uint_eq(count, row[_i].expected);
    ck_assert_uint_le(count, bc_add_layer_most(q.w.stack.layers, q.w.problem.materials));
    for (size_t g = 0; g < count; g++) {
        expect_grown(&q, &grown[g], row[_i].more);
        for (size_t j = 0; j < grown[g].layers; j++)
            ck_assert_double_ge(grown[g].layer[j].thickness_nm, 20.0);
        bc_stack_clear(&grown[g]);
    }
    free(grown);
    workshop_close(&q.w);
}
END_TEST

TCase *raise_case(void)
{
    TCase *tests = tcase_create("raise");
    tcase_add_loop_test(tests, lines_are_met_by_nearly_every_run, 0, MANY_OR_FEW(3, 1));
    tcase_add_test(tests, a_raised_yield_is_higher);
    tcase_add_loop_test(tests, layers_are_added_everywhere, 0, 6);
    return tests;
}
