/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Which of two options is recommended, what is said of the one that is, and which others are dropped: of options whose
 * figures are written by hand.
 */
#include "inquiry.h"
#include "options.h"
#include <math.h>
#include <stdlib.h>

#define NM_PER_HOUR 36.0

/* All layers grow 0.01 nm a second, so that an option's hours are those of its thickness; 90 % of the runs are to be
 * good. */
static void open_rates(inquiry *q)
{
    open_inquiry(q, "1.38,2.1", 4);
    workshop_ask(&q->w, 0.01, 500.0, 600.0, 0.0);
    workshop_errors(&q->w, "*", 0.01, 0.0, 0.0);
    q->w.row[0].has_rate = q->w.process.has_rate = true;
    q->w.row[0].rate_nm_per_s = 0.01;
    q->request.process = &q->w.process;
}

typedef struct figures {
    size_t layers;
    double total_nm, limit_used, yield;
} figures;

static bc_quote_option option_of(const inquiry *q, const figures *f)
{
    bc_quote_option option = {.limit_used = f->limit_used,
                              .total_nm = f->total_nm,
                              .yield = f->yield,
                              .yield_low = f->yield - 0.01,
                              .yield_high = f->yield + 0.01,
                              .thin_layer = f->layers};
    ck_assert_int_eq(bc_stack_alloc(f->layers, &option.stack, NULL), BC_OK);
    for (size_t j = 0; j < f->layers; j++)
        option.stack.layer[j] = (bc_layer){q->layer[j % 2], f->total_nm / (double)f->layers, false};
    return option;
}

static int preferred(const inquiry *q, const figures *one, const figures *other)
{
    bc_quote_option a = option_of(q, one), b = option_of(q, other);
    const int forth = bc_option_prefer(&q->request, &a, &b), back = bc_option_prefer(&q->request, &b, &a);
    ck_assert_int_eq((forth > 0) - (forth < 0), (back < 0) - (back > 0));
    bc_stack_clear(&a.stack);
    bc_stack_clear(&b.stack);
    return forth;
}

typedef struct pair {
    bc_prefer prefer;
    figures better, worse;
} pair;

/* As asked before not; no coating before any; within the limits before beyond. Of two as asked the hours decide, or the
 * yield, or the layers, as preferred, and what is equal to a twentieth of an hour (1.8 nm) or half a percent leaves it
 * to the next. */
START_TEST(the_better_of_two_is_preferred)
{
    static const pair pairs[] = {
        {BC_PREFER_HOURS, {4, 400.0, 0.99, 0.90}, {1, 100.0, 0.50, 0.89}},
        {BC_PREFER_YIELD, {4, 400.0, 1.00, 0.90}, {1, 100.0, 1.01, 0.99}},
        {BC_PREFER_YIELD, {0, 0.0, 0.99, NAN}, {2, 200.0, 0.50, 1.0}},
        {BC_PREFER_HOURS, {0, 0.0, 0.99, NAN}, {2, 200.0, 0.50, 1.0}},
        {BC_PREFER_HOURS, {3, 300.0, 1.00, 0.10}, {1, 100.0, 1.01, 0.80}},
        {BC_PREFER_HOURS, {3, 300.0, 1.10, 0.10}, {1, 100.0, 1.20, 0.80}},
        {BC_PREFER_HOURS, {3, 300.0, 0.90, 0.70}, {1, 100.0, 0.50, 0.60}},  /* neither does: the yield */
        {BC_PREFER_HOURS, {1, 100.0, 0.90, 0.701}, {3, 300.0, 0.50, 0.70}}, /* equal to half a percent: the hours */
        {BC_PREFER_LAYERS, {3, 300.0, 0.90, 0.70}, {1, 100.0, 0.50, 0.60}},
        {BC_PREFER_HOURS, {3, 290.0, 0.95, 0.95}, {1, 320.0, 0.50, 0.99}},
        {BC_PREFER_HOURS, {3, 297.0, 0.95, 0.99}, {1, 295.3, 0.50, 0.984}}, /* nearly equal hours: the yield */
        {BC_PREFER_HOURS, {1, 297.5, 0.95, 0.99}, {3, 297.0, 0.50, 0.99}},  /* then the layers */
        {BC_PREFER_HOURS, {3, 297.0, 0.95, 0.99}, {3, 297.5, 0.50, 0.99}},  /* then the thickness */
        {BC_PREFER_YIELD, {3, 400.0, 0.95, 0.99}, {1, 100.0, 0.50, 0.95}},
        {BC_PREFER_YIELD, {3, 100.0, 0.95, 0.99}, {1, 400.0, 0.50, 0.99}},
        {BC_PREFER_YIELD, {1, 297.5, 0.95, 0.99}, {3, 297.0, 0.50, 0.99}},
        {BC_PREFER_YIELD, {2, 297.0, 0.95, 0.99}, {2, 297.5, 0.50, 0.99}},
        {BC_PREFER_LAYERS, {1, 400.0, 0.95, 0.91}, {2, 100.0, 0.50, 0.99}},
        {BC_PREFER_LAYERS, {2, 300.0, 0.95, 0.91}, {2, 400.0, 0.50, 0.99}},
        {BC_PREFER_LAYERS, {2, 297.0, 0.95, 0.99}, {2, 295.3, 0.50, 0.984}},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        inquiry q;
        open_rates(&q);
        q.request.prefer = pairs[i].prefer;
        ck_assert_msg(preferred(&q, &pairs[i].better, &pairs[i].worse) < 0, "pair %zu", i);
        ck_assert_int_eq(preferred(&q, &pairs[i].better, &pairs[i].better), 0);
        workshop_close(&q.w);
    }
}
END_TEST

/* Where the yield is not known a tenth of the limit is kept in hand before anything else. */
START_TEST(the_better_of_two_on_paper_is_preferred)
{
    static const pair pairs[] = {
        {BC_PREFER_HOURS, {3, 400.0, 0.90, NAN}, {1, 100.0, 0.91, NAN}},
        {BC_PREFER_HOURS, {3, 400.0, 0.91, NAN}, {1, 100.0, 0.95, NAN}},
        {BC_PREFER_HOURS, {1, 400.0, 0.90, NAN}, {2, 100.0, 0.50, NAN}},
        {BC_PREFER_HOURS, {2, 300.0, 0.90, NAN}, {2, 400.0, 0.50, NAN}},
        {BC_PREFER_YIELD, {3, 400.0, 0.50, NAN}, {1, 100.0, 0.90, NAN}},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        inquiry q;
        open_rates(&q);
        q.request.prefer = pairs[i].prefer;
        ck_assert_msg(preferred(&q, &pairs[i].better, &pairs[i].worse) < 0, "pair %zu", i);
        workshop_close(&q.w);
    }
}
END_TEST

/* A layer that is too thin is not as asked, whatever its yield. */
START_TEST(what_is_as_asked)
{
    static const struct {
        figures f;
        bool thin, as_asked;
    } known[] = {{{2, 200.0, 1.0, 0.9}, false, true},
                 {{2, 200.0, 1.001, 1.0}, false, false},
                 {{2, 200.0, 1.0, 0.899}, false, false},
                 {{2, 200.0, 1.0, NAN}, false, true},
                 {{2, 200.0, 0.5, 1.0}, true, false}};
    inquiry q;
    open_rates(&q);
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        bc_quote_option option = option_of(&q, &known[i].f);
        option.thin_layer = known[i].thin ? 1 : 2;
        ck_assert(bc_option_as_asked(&q.request, &option) == known[i].as_asked);
        bc_stack_clear(&option.stack);
    }
    workshop_close(&q.w);
}
END_TEST

/* The verdict, and whether the yield lies so near to what is asked that its interval holds both. */
START_TEST(the_verdict_on_what_is_recommended)
{
    static const struct {
        double limit_used, yield, low, high;
        bc_feasibility verdict;
        bool at_the_limit;
    } known[] = {{1.001, 0.95, 0.94, 0.96, BC_NOT_FEASIBLE, false}, {1.0, 0.95, 0.94, 0.96, BC_FEASIBLE, false},
                 {1.0, 0.90, 0.89, 0.91, BC_FEASIBLE, true},        {1.0, 0.899, 0.89, 0.91, BC_MARGINAL, true},
                 {1.0, 0.85, 0.80, 0.90, BC_MARGINAL, true},        {1.0, 0.85, 0.84, 0.86, BC_MARGINAL, false},
                 {1.0, 0.91, 0.90, 0.92, BC_FEASIBLE, false},       {1.0, NAN, NAN, NAN, BC_FEASIBLE, false},
                 {1.001, 0.90, 0.89, 0.91, BC_NOT_FEASIBLE, false}};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        const figures f = {2, 200.0, known[i].limit_used, known[i].yield};
        bc_quote_option option[2];
        bc_quote_result result = {.options = 2, .option = option};
        inquiry q;
        open_rates(&q);
        option[0] = option_of(&q, &f);
        option[1] = option_of(&q, &f);
        option[1].yield_low = known[i].low;
        option[1].yield_high = known[i].high;
        option[1].runs = 11;
        option[1].predicted_runs = 12;
        bc_options_settle(&q.request, 1, &result);
        ck_assert_uint_eq(result.recommended, 1);
        ck_assert_int_eq(result.verdict, known[i].verdict);
        ck_assert(result.at_the_limit == known[i].at_the_limit);
        ck_assert(result.yield_known && result.runs == 11 && result.predicted_runs == 12);
        bc_stack_clear(&option[0].stack);
        bc_stack_clear(&option[1].stack);
        workshop_close(&q.w);
    }
}
END_TEST

/* One kind of error is enough for a yield; a process without any gives none. */
START_TEST(when_a_yield_is_known)
{
    bc_process process = {0};
    bc_quote_request request = {0};
    ck_assert(!bc_yield_is_known(&request));
    request.process = &process;
    ck_assert(!bc_yield_is_known(&request));
    for (int i = 0; i < 3; i++) {
        process.has_thickness_sigma = i == 0;
        process.has_run_thickness_sigma = i == 1;
        process.has_index_sigma = i == 2;
        ck_assert(bc_yield_is_known(&request));
    }
}
END_TEST

TCase *prefer_case(void)
{
    TCase *tests = tcase_create("prefer");
    tcase_add_test(tests, the_better_of_two_is_preferred);
    tcase_add_test(tests, the_better_of_two_on_paper_is_preferred);
    tcase_add_test(tests, what_is_as_asked);
    tcase_add_test(tests, the_verdict_on_what_is_recommended);
    tcase_add_test(tests, when_a_yield_is_known);
    return tests;
}
