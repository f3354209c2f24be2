/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Memory that runs out at every place of what the shop module does.
 */
#include "deposition.h"
#include "inquiry.h"
#include "out_of_memory.h"
#include <bloomcoat/lens.h>
#include <bloomcoat/robust.h>
#include <math.h>

static bc_status yield(void *context, bc_error *error)
{
    const workshop *w = context;
    bc_yield_result result;
    const bc_status status = bc_yield(&w->problem, &w->stack, &w->process, &w->options, &result, error);
    expect_memory_error(status == BC_OK || (result.fails == NULL && result.influence == NULL && result.curve == NULL));
    bc_yield_result_clear(&result);
    return status;
}

/* With each of what may be asked for besides. */
START_TEST(simulated_runs)
{
    workshop w;
    bool *const besides[] = {&w.options.influence, &w.options.sigma_for_yield, &w.options.percentiles,
                             &w.options.known_yield};
    workshop_open(&w, "air", "1.38", "1.52");
    workshop_ask(&w, 0.05, 545.0, 550.0, 0.0);
    workshop_errors(&w, "*", 0.02, 0.01, 0.01);
    w.options.runs = 40;
    w.options.threads = 1;
    *besides[_i] = true;
    w.row[0].runs = (bc_process_runs){6.0, 6.0, 6.0, 6.0, 6.0};
    ck_assert_uint_gt(fail_each_allocation(yield, &w), 10);
    workshop_close(&w);
}
END_TEST

typedef struct choice {
    inquiry q;
    bc_draft_result draft;
} choice;

static bc_status choose(void *context, bc_error *error)
{
    const bc_robust_options options = {.seed = 1, .runs = 40, .threads = 1};
    const choice *c = context;
    bc_robust_result result;
    const bc_status status = bc_robust(&c->q.w.problem, &c->q.w.process, &c->draft, &options, &result, error);
    expect_memory_error(status == BC_OK || result.stack.layer == NULL);
    bc_robust_result_clear(&result);
    return status;
}

START_TEST(the_robust_choice)
{
    const bc_draft_options options = {.aim = BC_AIM_BEST, .seed = 1, .effort = 0.05, .threads = 1};
    choice c;
    open_runs(&c.q, 0.02);
    c.q.w.callout[0].from_nm = 545.0;
    c.q.w.callout[0].to_nm = 550.0;
    c.q.w.problem.max_layers = 2;
    ck_assert_int_eq(bc_draft(&c.q.w.problem, &options, &c.draft, NULL), BC_OK);
    ck_assert_uint_gt(fail_each_allocation(choose, &c), 20);
    bc_draft_result_clear(&c.draft);
    workshop_close(&c.q.w);
}
END_TEST

static bc_status quote(void *context, bc_error *error)
{
    const inquiry *q = context;
    bc_quote_result result;
    const bc_status status = bc_quote(&q->request, &result, error);
    expect_memory_error(status == BC_OK ||
                        (result.option == NULL && result.exception == NULL && result.remark == NULL));
    bc_quote_result_clear(&result);
    return status;
}

/* Nothing at hand does it, so that everything else is tried; with a process (2) other designs as well. */
START_TEST(a_quote_with_exceptions)
{
    bc_medium other_layer, other_glass;
    bc_error error;
    inquiry q;
    open_inquiry(&q, "1.38", 1);
    workshop_ask(&q.w, 0.01, 540.0, 560.0, 0.0);
    ck_assert_msg(bc_medium_find(q.w.materials, "1.25", NULL, &other_layer, &error) == BC_OK, "%s", error.message);
    ck_assert_msg(bc_medium_find(q.w.materials, "1.80", NULL, &other_glass, &error) == BC_OK, "%s", error.message);
    q.request.threads = 1;
    q.request.effort = 0.02;
    if (_i > 0) {
        q.request.other_layers = q.request.other_glasses = 1;
        q.request.other_layer = &other_layer;
        q.request.other_glass = &other_glass;
    }
    if (_i == 2) {
        q.w.callout[0].limit = 0.016;
        workshop_errors(&q.w, "*", 0.05, 0.02, 0.01);
        q.request.process = &q.w.process;
    }
    ck_assert_uint_gt(fail_each_allocation(quote, &q), 40);
    workshop_close(&q.w);
}
END_TEST

typedef struct sheet {
    workshop w;
    bc_monitor monitor;
} sheet;

static bc_status fill(void *context, bc_error *error)
{
    const sheet *s = context;
    bc_deposit_result result;
    const bc_status status = bc_deposit(&s->w.stack, &s->w.process, NULL, &s->monitor, &result, error);
    expect_memory_error(status == BC_OK || result.layer == NULL);
    bc_deposit_result_clear(&result);
    return status;
}

START_TEST(a_deposition_sheet)
{
    static const double at_nm[] = {550.0};
    sheet s;
    open_rates(&s.w);
    s.monitor = monitor_at(at_nm);
    if (_i == 1) { /* it chooses for itself */
        s.monitor.wavelengths = 0;
        s.monitor.wavelength_nm = NULL;
        s.monitor.step_nm = 100.0;
    }
    ck_assert_uint_gt(fail_each_allocation(fill, &s), 10);
    workshop_close(&s.w);
}
END_TEST

static bc_status judge_lens(void *context, bc_error *error)
{
    static const bc_curved curved = {.radius_mm = 10.0, .clear_aperture_mm = 17.0, .slope_exponent = 1.0};
    const workshop *w = context;
    bc_lens_result result;
    const bc_status status = bc_lens(&w->stack, &w->callouts, 1, &w->stack.substrate, &curved, 3, &result, error);
    expect_memory_error(status == BC_OK || (result.zone == NULL && result.designed.limit_used == NULL));
    bc_lens_result_clear(&result);
    return status;
}

START_TEST(a_lens)
{
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52");
    workshop_ask(&w, _i == 0 ? 0.02 : 0.013, 520.0, 560.0, 0.0);
    ck_assert_uint_gt(fail_each_allocation(judge_lens, &w), 20);
    workshop_close(&w);
}
END_TEST

TCase *memory_case(void)
{
    TCase *tcase = tcase_create("memory");
    tcase_add_loop_test(tcase, simulated_runs, 0, 4);
    tcase_add_test(tcase, the_robust_choice);
    tcase_add_loop_test(tcase, a_quote_with_exceptions, MANY_OR_FEW(0, 2), 3);
    tcase_add_loop_test(tcase, a_deposition_sheet, 0, 2);
    tcase_add_loop_test(tcase, a_lens, 0, 2);
    return tcase;
}
