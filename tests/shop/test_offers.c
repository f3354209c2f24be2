/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a quote offers instead: that it holds, looked at from outside the quote.
 */
#include "estimate.h"
#include "inquiry.h"
#include <bloomcoat/curved.h>
#include <math.h>
#include <string.h>

/* The callouts with the exception's change, as a customer would ask for them. */
static void expect_offer_holds(const inquiry *q, const bc_exception *exception)
{
    const bc_callout *asked = &q->w.callout[exception->callout];
    const bc_callout *offered = &exception->offered;
    bc_design_problem problem = q->w.problem;
    bc_callout row[MOST_CALLOUTS];
    const bc_callouts callouts = {.count = q->w.callouts.count, .callout = row};
    bc_yield_options options = {.runs = exception->runs, .seed = exception->seed, .threads = 1};
    bc_check_result check;
    bc_yield_result runs;
    memcpy(row, q->w.callout, sizeof row);
    row[exception->callout] = *offered;
    problem.callouts = &callouts;
    ck_assert_int_eq(bc_check(&exception->stack, &callouts, 1, problem.substrate, &problem.back, &check, NULL), BC_OK);
    ck_assert(check.pass);
    ck_assert_double_eq(check.limit_used, exception->limit_used);
    bc_check_result_clear(&check);
    ck_assert_int_eq(bc_yield(&problem, &exception->stack, &q->w.process, &options, &runs, NULL), BC_OK);
    ck_assert_double_eq(runs.yield, exception->yield);
    ck_assert_double_ge(runs.yield, q->request.yield);
    bc_yield_result_clear(&runs);
    options.seed = 4711; /* and in runs that nobody has looked at */
    options.runs = MANY_OR_FEW(10000, 2000);
    ck_assert_int_eq(bc_yield(&problem, &exception->stack, &q->w.process, &options, &runs, NULL), BC_OK);
    ck_assert_double_ge(runs.yield, q->request.yield - 0.03);
    bc_yield_result_clear(&runs);
    ck_assert(offered->limit >= asked->limit && offered->from_nm >= asked->from_nm && offered->to_nm <= asked->to_nm &&
              offered->aoi_to_rad <= asked->aoi_to_rad);
    ck_assert_int_eq((offered->limit != asked->limit) +
                         (offered->from_nm != asked->from_nm || offered->to_nm != asked->to_nm) +
                         (offered->aoi_to_rad != asked->aoi_to_rad),
                     1);
}

START_TEST(every_offer_is_kept)
{
    bc_quote_result result;
    size_t found = 0;
    inquiry q;
    open_runs(&q, 0.003);
    q.w.callout[0].aoi_to_rad = 30.0 * PI / 180.0;
    result = ask(&q);
    ck_assert_int_ne(result.verdict, BC_FEASIBLE);
    for (size_t e = 0; e < result.exceptions; e++) {
        if (!result.exception[e].found)
            continue;
        found++;
        expect_offer_holds(&q, &result.exception[e]);
    }
    ck_assert_uint_ge(found, 2);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* The factor that 90.3 of 100 runs of a stack need. */
static double needed(const inquiry *q, const bc_stack *stack, size_t callout)
{
    double factor;
    ck_assert_int_eq(
        bc_judge_factor(&q->w.problem, stack, &q->w.process, q->request.yield + 0.003, callout, NULL, &factor, NULL),
        BC_OK);
    return factor;
}

/* A stack of 1.38 over 2.1 that a longer search finds. */
static const bc_stack *known_stack(inquiry *q, double outer_nm, double inner_nm)
{
    q->w.stack.layers = 2;
    q->w.stack.layer[0].thickness_nm = outer_nm;
    q->w.stack.layer[1].thickness_nm = inner_nm;
    return &q->w.stack;
}

static const bc_exception *offer_of(const bc_quote_result *result, bc_exception_kind kind, size_t callout)
{
    for (size_t e = 0; e < result->exceptions; e++)
        if (result->exception[e].kind == kind && result->exception[e].callout == callout && result->exception[e].found)
            return &result->exception[e];
    ck_abort_msg("nothing is offered");
    return NULL;
}

/* "The least": neither a stack of another offer needs less, nor one that a longer search finds. */
START_TEST(what_is_offered_is_the_least)
{
    const bc_exception *offer;
    bc_quote_result result;
    inquiry q;
    open_inquiry(&q, "1.38,2.1,1.65", 2);
    q.w.problem.minimum_nm = 8.0;
    q.request.effort = 0.1;
    workshop_ask(&q.w, 0.015, 430.0, 660.0, 0.0);
    workshop_ask(&q.w, 0.005, 430.0, 660.0, 0.0)->statistic = BC_AVERAGE;
    workshop_errors(&q.w, "*", 0.015, 0.007, 0.005);
    q.request.process = &q.w.process;
    result = ask(&q);
    offer = offer_of(&result, BC_EXCEPT_LIMIT, 1);
    ck_assert_double_ge(needed(&q, known_stack(&q, 91.7, 122.9), 1), 0.99 * offer->factor);
    for (size_t e = 0; e < result.exceptions; e++)
        if (result.exception[e].found)
            ck_assert_double_ge(needed(&q, &result.exception[e].stack, 1), 0.99 * offer->factor);
    q.w.callout[0].from_nm = q.w.callout[1].from_nm = 466.0;
    ck_assert_double_le(needed(&q, known_stack(&q, 125.4, 13.96), BC_NO_CALLOUT), 1.001);
    ck_assert_double_le(offer_of(&result, BC_EXCEPT_FROM, BC_NO_CALLOUT)->offered.from_nm, 466.0);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* 1.38 alone leaves 1.26 % where 2.1 beneath it leaves less: a layer at hand does it. */
START_TEST(another_layer_is_offered)
{
    bc_quote_result result;
    bool offered = false;
    inquiry q;
    open_inquiry(&q, "1.38,2.1", 3);
    q.w.problem.materials = 1;
    q.request.other_layers = 1;
    q.request.other_layer = &q.layer[1];
    workshop_ask(&q.w, 0.006, 500.0, 600.0, 0.0);
    result = ask(&q);
    ck_assert_int_eq(result.verdict, BC_NOT_FEASIBLE);
    ck_assert_ptr_eq(result.materials.higher, &q.layer[1]);
    ck_assert_ptr_null(result.materials.lower);
    for (size_t e = 0; e < result.exceptions; e++)
        if (result.exception[e].kind == BC_EXCEPT_LAYER && result.exception[e].found) {
            offered = true;
            ck_assert_ptr_eq(result.exception[e].other, &q.layer[1]);
            ck_assert_double_le(result.exception[e].limit_used, 1.0);
        }
    ck_assert(offered);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* Quarter wave of 1.38 on 1.80: 0.0794 % (Born and Wolf, ch. 1.6.4), which 1.52 cannot reach. */
START_TEST(another_glass_is_offered)
{
    bc_quote_result result;
    bc_medium glass;
    bool offered = false;
    inquiry q;
    open_inquiry(&q, "1.38", 1);
    ck_assert_int_eq(bc_medium_find(q.w.materials, "1.80", NULL, &glass, NULL), BC_OK);
    q.request.other_glasses = 1;
    q.request.other_glass = &glass;
    workshop_ask(&q.w, 0.0008, 550.0, 550.0, 0.0);
    result = ask(&q);
    for (size_t e = 0; e < result.exceptions; e++)
        if (result.exception[e].kind == BC_EXCEPT_GLASS && result.exception[e].found) {
            offered = true;
            ck_assert_double_eq_tol(result.exception[e].limit_used, 0.000794264672411 / 0.0008, 1e-4);
        }
    ck_assert(offered);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

typedef struct shown {
    size_t options, forecasts, exceptions;
    double limit_used[4]; /* of the option with so many layers that was shown last */
    double forecast[4];   /* 0: none yet; of a forecast likewise */
    double factor;        /* of the exception that was */
} shown;

static void note_found(void *context, const bc_quote_found *found)
{
    shown *all = context;
    if (found->option != NULL) {
        double *forecast = &all->forecast[found->option->stack.layers];
        /* A design that is worse than one shown before is not shown. (A forecast looks at fewer wavelengths.) */
        ck_assert(!found->forecast || *forecast == 0.0 || found->option->limit_used < 1.02 * *forecast);
        *forecast = found->forecast ? found->option->limit_used : *forecast;
        all->options += !found->forecast;
        all->forecasts += found->forecast;
        all->limit_used[found->option->stack.layers] = found->option->limit_used;
    } else if (found->exception->kind == BC_EXCEPT_LIMIT) {
        all->exceptions++;
        all->factor = found->exception->factor;
    }
}

/* While it searches, and with the same result as without. */
START_TEST(what_is_found_is_shown)
{
    bc_quote_result result, again;
    shown all = {0};
    inquiry q;
    open_inquiry(&q, "1.38,2.1", 2);
    workshop_ask(&q.w, 0.001, 480.0, 620.0, 0.0);
    result = ask(&q);
    q.request.found = note_found;
    q.request.found_context = &all;
    again = ask(&q);
    ck_assert_int_eq(result.verdict, BC_NOT_FEASIBLE);
    ck_assert_uint_eq(result.options, again.options);
    ck_assert_uint_ge(all.options, again.options);
    ck_assert_uint_ge(all.forecasts, again.options);
    for (size_t o = 0; o < again.options; o++) {
        ck_assert_double_eq(result.option[o].total_nm, again.option[o].total_nm);
        ck_assert_double_eq(again.option[o].limit_used, all.limit_used[again.option[o].stack.layers]);
    }
    ck_assert_uint_eq(result.exceptions, again.exceptions);
    ck_assert_uint_ge(all.exceptions, 1);
    for (size_t e = 0; e < again.exceptions; e++)
        if (again.exception[e].kind == BC_EXCEPT_LIMIT) {
            ck_assert_double_eq(result.exception[e].factor, again.exception[e].factor);
            ck_assert_double_eq(all.factor, again.exception[e].factor);
        }
    bc_quote_result_clear(&result);
    bc_quote_result_clear(&again);
    workshop_close(&q.w);
}
END_TEST

/* Three materials make many designs with as many layers, not all better than the one before. */
START_TEST(worse_designs_are_not_shown)
{
    bc_quote_result result;
    shown all = {0};
    inquiry q;
    open_inquiry(&q, "1.38,2.1,1.7", 3);
    workshop_ask(&q.w, 0.001, 430.0, 660.0, 0.0);
    workshop_errors(&q.w, "*", 0.015, 0.007, 0.005);
    q.request.process = &q.w.process;
    q.request.found = note_found;
    q.request.found_context = &all;
    result = ask(&q);
    ck_assert_uint_ge(all.forecasts, 3);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* On a steep surface layers thin out towards the edge. The aperture that is offered is the whole surface made smaller:
 * out to there the design holds at zones nobody looked at, and in runs. */
START_TEST(a_smaller_aperture_is_offered)
{
    const bc_curved asked = {.radius_mm = 15.0, .concave = true, .clear_aperture_mm = 24.0, .slope_exponent = 1.0};
    const size_t zones = MANY_OR_FEW(41, 5);
    bc_zone zone[41], fine[101];
    bc_quote_result result;
    const bc_exception *offer = NULL;
    inquiry q;
    open_runs(&q, 0.02);
    ck_assert_int_eq(bc_curved_zones(&asked, zones, zone, NULL), BC_OK);
    q.w.problem.zones = zones;
    q.w.problem.zone = zone;
    result = ask(&q);
    ck_assert_int_ne(result.verdict, BC_FEASIBLE);
    for (size_t e = 0; e < result.exceptions; e++)
        if (result.exception[e].kind == BC_EXCEPT_APERTURE && result.exception[e].found)
            offer = &result.exception[e];
    ck_assert_ptr_nonnull(offer);
    ck_assert_double_lt(offer->aperture_mm, 24.0);
    ck_assert_double_gt(offer->aperture_mm, 4.0);
    {
        bc_curved smaller = asked;
        bc_design_problem problem = q.w.problem;
        const bc_yield_options options = {.runs = MANY_OR_FEW(4000, 500), .seed = 4711, .threads = 2};
        bc_check_result check;
        bc_yield_result runs;
        smaller.clear_aperture_mm = offer->aperture_mm;
        ck_assert_int_eq(bc_curved_zones(&smaller, 101, fine, NULL), BC_OK);
        problem.zones = 101;
        problem.zone = fine;
        ck_assert_int_eq(
            bc_check_zones(&offer->stack, &q.w.callouts, 1, problem.substrate, &problem.back, 101, fine, &check, NULL),
            BC_OK);
        ck_assert(check.pass);
        ck_assert_double_eq_tol(check.limit_used, offer->limit_used, 1e-3);
        bc_check_result_clear(&check);
        ck_assert_int_eq(bc_yield(&problem, &offer->stack, &q.w.process, &options, &runs, NULL), BC_OK);
        ck_assert_double_ge(runs.yield, q.request.yield - 0.03);
        bc_yield_result_clear(&runs);
    }
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

TCase *offers_case(void)
{
    TCase *tests = tcase_create("offers");
    tcase_add_test(tests, every_offer_is_kept);
    tcase_add_test(tests, what_is_offered_is_the_least);
    tcase_add_test(tests, another_layer_is_offered);
    tcase_add_test(tests, another_glass_is_offered);
    tcase_add_test(tests, what_is_found_is_shown);
    tcase_add_test(tests, worse_designs_are_not_shown);
    tcase_add_test(tests, a_smaller_aperture_is_offered);
    return tests;
}
