/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a quote says of its recommended option, held against what can be computed of it from outside: which row decides,
 * at which glass, how often rows fail, and what the runs behind the process leave open. One layer, so that it is quick.
 */
#include "estimate.h"
#include "inquiry.h"
#include "known_yield.h"
#include <math.h>
#include <string.h>

/* A layer that scatters, on two glasses. At 275 nm, where a quarter wave for 550 nm is a half wave, R is that of the
 * bare glasses, 5.33 % of 1.60, and no error makes it more: a row there uses nearly all of its limit and never fails.
 */
static void open_decided(inquiry *q, double first, double second)
{
    open_inquiry(q, "1.38", 1);
    ck_assert_int_eq(bc_medium_find(q->w.materials, "1.60", NULL, &q->w.glass[1], NULL), BC_OK);
    q->w.problem.substrates = 2;
    workshop_ask(&q->w, first, 275.0, 275.0, 0.0);
    workshop_ask(&q->w, second, 550.0, 550.0, 0.0);
    workshop_errors(&q->w, "*", 0.04, 0.0, 0.0);
    q->request.process = &q->w.process;
    q->request.effort = 0.05;
}

static void expect_decided(const inquiry *q, const bc_quote_result *result)
{
    const bc_check_result *check = &result->check;
    const bc_finding *decisive = &check->finding[result->decisive_finding];
    const bc_quote_option *option = &result->option[result->recommended];
    ck_assert_uint_eq(check->count, 4);
    ck_assert_double_eq(check->limit_used, option->limit_used);
    ck_assert_ptr_eq(decisive->callout, &q->w.callout[result->decisive]);
    for (size_t f = 0; f < check->count; f++)
        if (check->finding[f].callout == decisive->callout)
            ck_assert_double_le(check->finding[f].limit_used, decisive->limit_used);
    if (result->verdict == BC_NOT_FEASIBLE && !result->decides_alone)
        ck_assert_uint_eq(result->decisive_finding, check->decisive);
    if (result->verdict != BC_NOT_FEASIBLE && !result->decides_alone)
        ck_assert_double_ge(result->fails[result->decisive], result->fails[1 - result->decisive]);
}

START_TEST(the_row_that_decides)
{
    static const struct {
        double first, second, yield;
        bc_feasibility verdict;
        size_t decisive;
    } known[] = {{0.0534, 0.0132, 0.1, BC_FEASIBLE, 1},
                 {0.0534, 0.0132, 1.0, BC_MARGINAL, 1},
                 {0.0534, 0.0060, 0.9, BC_NOT_FEASIBLE, 1},
                 {0.0100, 0.0132, 0.9, BC_NOT_FEASIBLE, 0}};
    bc_quote_result result;
    inquiry q;
    open_decided(&q, known[_i].first, known[_i].second);
    q.request.yield = known[_i].yield;
    result = ask(&q);
    ck_assert_int_eq(result.verdict, known[_i].verdict);
    expect_decided(&q, &result);
    ck_assert_uint_eq(result.decisive, known[_i].decisive);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* How often each row fails, by runs of another seed. */
START_TEST(how_often_rows_fail)
{
    const bc_yield_options options = {.runs = 4000, .seed = 4711, .threads = 1};
    bc_quote_result result;
    bc_yield_result runs;
    inquiry q;
    open_decided(&q, 0.0534, 0.0132);
    q.request.yield = 0.1;
    result = ask(&q);
    ck_assert_ptr_nonnull(result.fails);
    ck_assert_int_eq(
        bc_yield(&q.w.problem, &result.option[result.recommended].stack, &q.w.process, &options, &runs, NULL), BC_OK);
    for (size_t c = 0; c < 2; c++)
        ck_assert_double_eq_tol(result.fails[c], runs.fails[c],
                                4.0 * sqrt(fmax(runs.fails[c] * (1.0 - runs.fails[c]), 1e-4) / 1000.0));
    ck_assert_double_eq_tol(result.option[result.recommended].yield, runs.yield, 0.07);
    bc_yield_result_clear(&runs);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* Only of an option that meets the limits on paper, and is no more than its own yield says. */
START_TEST(what_is_open_of_a_yield)
{
    bc_quote_result result;
    inquiry q;
    open_decided(&q, 0.0534, _i == 0 ? 0.0132 : 0.0120);
    q.w.problem.substrates = 1;
    q.request.yield = 0.1;
    q.w.row[0].runs = (bc_process_runs){.thickness_sigma = 6.0};
    result = ask(&q);
    const bc_quote_option *option = &result.option[result.recommended];
    if (_i == 0) {
        bc_known_yield known;
        ck_assert_double_le(option->limit_used, 1.0);
        ck_assert_int_eq(
            bc_known_yield_find(&q.w.problem, &option->stack, &q.w.process, option->yield, 1, NULL, &known, NULL),
            BC_OK);
        ck_assert_double_eq(option->known.runs, 6.0);
        ck_assert(option->known.low == known.low && option->known.high == known.high);
        ck_assert(option->known.low < option->yield && option->known.high > option->yield);
    } else {
        ck_assert(option->limit_used > 1.0 && option->limit_used < 2.0 && isfinite(option->yield));
        ck_assert_double_eq(option->known.runs, 0.0);
    }
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

typedef struct told {
    size_t calls;
    double last;
    bool goes_on;
} told;

static bool tell(void *context, double fraction, double limit_used)
{
    told *t = context;
    (void)limit_used;
    ck_assert_double_ge(fraction, t->last);
    ck_assert_double_le(fraction, 1.0);
    t->last = fraction;
    t->calls++;
    return t->goes_on;
}

/* It never goes back, nor beyond all of it: with a search of effort 1 before a longer one, and without; where every run
 * is good with few layers, and where none is. */
START_TEST(the_progress_of_a_quote)
{
    told t = {.goes_on = true};
    bc_quote_result result;
    inquiry q;
    open_inquiry(&q, "1.38", 1);
    workshop_ask(&q.w, 0.01, 550.0, 550.0, 0.0);
    q.request.effort = _i == 1 ? 1.5 : 0.1;
    q.request.threads = 1;
    if (_i >= 2) {
        workshop_errors(&q.w, "*", 0.001, 0.0, 0.0);
        q.request.process = &q.w.process;
        q.w.callout[0].limit = _i == 2 ? 0.02 : 0.01;
    }
    q.request.progress = tell;
    q.request.progress_context = &t;
    result = ask(&q);
    ck_assert_int_eq(result.verdict, _i == 2 ? BC_FEASIBLE : BC_NOT_FEASIBLE);
    ck_assert(!result.stopped && result.searched && result.exceptions == (_i == 2 ? 0 : 1));
    ck_assert(_i == 2 || result.exception[0].found);
    ck_assert_double_eq_tol(t.last, _i == 2 ? 0.9 : 1.0, 1e-9); /* a tenth is left for what is asked in the end */
    ck_assert_uint_gt(t.calls, 3);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* The most and the least that may be asked for; they are stopped at once. */
START_TEST(what_may_just_be_asked)
{
    told t = {0};
    bc_quote_result result;
    bc_error error = {0};
    inquiry q;
    open_inquiry(&q, "1.38", 1);
    workshop_ask(&q.w, 0.01, 550.0, 550.0, 0.0);
    q.request.progress = tell;
    q.request.progress_context = &t;
    q.request.yield = 1.0;
    q.request.effort = 1000.0;
    result = ask(&q);
    ck_assert(result.stopped && result.options == 1);
    bc_quote_result_clear(&result);
    q.request.yield = _i == 0 ? 1.001 : 1.0;
    q.request.effort = _i == 1 ? 1000.1 : _i == 2 ? 0.0 : 1000.0;
    ck_assert_int_eq(bc_quote(&q.request, &result, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, _i == 0   ? "a yield of 100.1 %"
                                                : _i == 1 ? "effort 1000.1"
                                                          : "effort 0;"));
    workshop_close(&q.w);
}
END_TEST

TCase *decided_case(void)
{
    TCase *tests = tcase_create("decided");
    tcase_add_loop_test(tests, the_row_that_decides, 0, 4);
    tcase_add_test(tests, how_often_rows_fail);
    tcase_add_loop_test(tests, what_is_open_of_a_yield, 0, 2);
    tcase_add_loop_test(tests, the_progress_of_a_quote, 0, 4);
    tcase_add_loop_test(tests, what_may_just_be_asked, 0, 3);
    return tests;
}
