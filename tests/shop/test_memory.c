/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Memory that runs out at every place of what the shop module does.
 */
#include "deposition.h"
#include "inquiry.h"
#include "out_of_memory.h"
#include "standard.h"
#include <bloomcoat/colour_runs.h>
#include <bloomcoat/conditions.h>
#include <bloomcoat/lens.h>
#include <bloomcoat/robust.h>
#include <bloomcoat/sensitivity.h>
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

static bc_status put_off(void *context, bc_error *error)
{
    const workshop *w = context;
    bc_check_result check;
    bc_sensitivity_result result = {0};
    bc_status status = bc_problem_check(&w->problem, &w->stack, &check, error);
    if (status != BC_OK)
        return status;
    status = bc_sensitivity(&w->problem, &w->stack, &check, NULL, NULL, &result, error);
    expect_memory_error(status == BC_OK || (result.layer == NULL && result.memory == NULL));
    bc_sensitivity_clear(&result);
    bc_check_result_clear(&check);
    return status;
}

static bc_status change_conditions(void *context, bc_error *error)
{
    static const bc_conditions before = {1.0, 20.0}, then = {1.33, 60.0};
    static const bc_behaviour behaviour[] = {
        {"1.38", 0.9, 1e-5, 1e-6}, {"Ta2O5", 0.95, 1e-5, 1e-6}, {"1.52", 1.0, 1e-5, 0.0}};
    const workshop *w = context;
    bc_shifted shifted;
    const bc_status status = bc_shift(&w->stack, 3, behaviour, &before, &then, &shifted, error);
    expect_memory_error(status == BC_OK || (shifted.stack.layer == NULL && shifted.table == NULL));
    bc_shifted_clear(&shifted);
    return status;
}

static bc_status colour(void *context, bc_error *error)
{
    static const double aoi_rad[] = {0.0, 0.5};
    const workshop *w = context;
    const bc_colour_view view = {.stack = &w->stack, .angles = 2, .aoi_rad = aoi_rad};
    bc_colour_runs runs;
    const bc_status status = bc_colour_simulate(&view, &w->process, &w->options, &runs, error);
    expect_memory_error(status == BC_OK || runs.scatter == NULL);
    bc_colour_runs_clear(&runs);
    return status;
}

static bc_status yield_of_colour(void *context, bc_error *error)
{
    workshop w = *(const workshop *)context;
    bc_callout row = {.name = "seen",
                      .statistic = BC_AVERAGE,
                      .limit = 0.5,
                      .from_nm = BC_CIE_FROM_NM,
                      .to_nm = BC_CIE_TO_NM,
                      .weight = bc_weight_luminous()};
    const bc_callouts callouts = {.count = 1, .callout = &row};
    w.problem.callouts = &callouts;
    w.options.colours = true;
    return yield(&w, error);
}

/* An error of each layer, other conditions, colours of runs, and colours beside a yield. */
START_TEST(what_is_said_of_a_stack)
{
    static failing_act *const act[] = {put_off, change_conditions, colour, yield_of_colour};
    workshop w;
    workshop_open(&w, "air", "1.38,Ta2O5", "1.52");
    workshop_ask(&w, 0.05, 545.0, 550.0, 0.0);
    workshop_errors(&w, "*", 0.02, 0.01, 0.01);
    w.options.runs = 20;
    w.options.threads = 1;
    ck_assert_uint_gt(fail_each_allocation(act[_i], &w), 5);
    workshop_close(&w);
}
END_TEST

typedef struct shelf {
    inquiry q;
    bc_stack stack;
    bc_standard standard;
    bc_standards standards;
} shelf;

static bc_status hold_standards(void *context, bc_error *error)
{
    shelf *s = context;
    bc_watch watch = {.limit_used = INFINITY};
    bc_pool pool = {.request = &s->q.request, .problem = &s->q.w.problem, .watch = &watch, .part = {0.0, 1.0}};
    bc_quote_result result = {.layers = 1, .layer = s->q.layer};
    bc_status status = bc_standards_hold(&pool, &result, error);
    if (status == BC_OK)
        status = bc_standards_start(&pool, &result, error);
    if (status == BC_OK)
        status = bc_standards_put_first(&s->q.request, &result, error);
    bc_pool_clear(&pool);
    result.layer = NULL;
    bc_quote_result_clear(&result);
    return status;
}

/* One that is refined, taken back to where it still is the standard, and offered; one that becomes a new design. */
START_TEST(standard_coatings)
{
    shelf s;
    open_inquiry(&s.q, "1.38", 1);
    workshop_ask(&s.q.w, 0.015, 550.0, 550.0, 0.0);
    s.q.request.threads = 1;
    ck_assert_int_eq(bc_stack_alloc(1, &s.stack, NULL), BC_OK);
    s.stack.incident = s.q.w.problem.incident;
    s.stack.substrate = s.q.w.glass[0];
    s.stack.layer[0] = (bc_layer){s.q.layer[0], _i == 0 ? 75.0 : 70.0, false};
    s.standard = (bc_standard){.callouts = s.q.w.callouts, .stacks = 1, .stack = &s.stack};
    s.standards = (bc_standards){1, &s.standard};
    s.q.request.standards = &s.standards;
    ck_assert_uint_gt(fail_each_allocation(hold_standards, &s), 10);
    bc_stack_clear(&s.stack);
    workshop_close(&s.q.w);
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
    tcase_add_loop_test(tcase, what_is_said_of_a_stack, 0, 4);
    tcase_add_loop_test(tcase, standard_coatings, 0, 2);
    return tcase;
}
