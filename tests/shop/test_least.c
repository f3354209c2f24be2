/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * That what is offered is the least change: of one layer, all of whose thicknesses can be looked through by hand.
 */
#include "exceptions.h"
#include "relax.h"
#include "scene.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define THINNEST 70.0
#define THICKEST 150.0
#define STEP_NM  0.2

/* limit_used of these callouts with the best thickness; `which` alone, the others holding, or (BC_NO_CALLOUT) all. */
static double least_used(const scene *s, const bc_callout *row, size_t which)
{
    const bc_callouts callouts = {.count = s->q.w.callouts.count, .callout = (bc_callout *)(size_t)row};
    bc_stack stack = s->q.w.stack;
    bc_layer layer = stack.layer[0];
    double least = INFINITY;
    stack.layer = &layer;
    for (layer.thickness_nm = THINNEST; layer.thickness_nm < THICKEST; layer.thickness_nm += STEP_NM) {
        bc_check_result check;
        double used = 0.0;
        ck_assert_int_eq(bc_check(&stack, &callouts, 1, s->q.w.glass, NULL, &check, NULL), BC_OK);
        for (size_t f = 0; f < check.count; f++)
            if (which == BC_NO_CALLOUT || check.finding[f].callout == &row[which])
                used = fmax(used, check.finding[f].limit_used);
            else if (!check.finding[f].pass)
                used = INFINITY;
        least = fmin(least, used);
        bc_check_result_clear(&check);
    }
    return least;
}

static void open_least(scene *s)
{
    open_scene(s);
    s->q.request.process = NULL;
    s->q.request.effort = 0.3;
    s->q.w.callout[0].limit = 0.0133;
}

static bc_exception relax(scene *s, bc_exception_kind kind, size_t which)
{
    const size_t callouts = s->q.w.callouts.count;
    bc_thread_watch watch = {&s->watch, true};
    bc_exception exception = {.kind = kind, .callout = which, .factor = 1.0};
    const bc_try attempt = {&s->pool, &exception, &watch};
    add(s, 99.6, NAN, 1.4);
    s->pool.design[0].limit_factor = calloc(callouts, sizeof(double));
    ck_assert_ptr_nonnull(s->pool.design[0].limit_factor);
    for (size_t c = 0; c < callouts; c++)
        s->pool.design[0].limit_factor[c] = 1.4;
    ck_assert_int_eq(bc_try_relaxed(&attempt, NULL), BC_OK);
    ck_assert(exception.found);
    return exception;
}

/* A band's ends and an angle move in steps: one step less than is offered, with the best of all thicknesses, does not
 * do. Loop: each kind of change, of one row. */
START_TEST(one_step_less_does_not_do)
{
    static const bc_exception_kind kind[] = {BC_EXCEPT_FROM, BC_EXCEPT_TO, BC_EXCEPT_BOTH, BC_EXCEPT_ANGLE};
    bc_callout changed[1];
    scene s;
    open_least(&s);
    if (kind[_i] == BC_EXCEPT_ANGLE) {
        s.q.w.callout[0].aoi_from_rad = s.q.w.callout[0].aoi_to_rad = 60.0 * PI / 180.0;
    } else {
        s.q.w.callout[0].from_nm = 450.0;
        s.q.w.callout[0].to_nm = 650.0;
    }
    ck_assert_double_gt(least_used(&s, s.q.w.callout, BC_NO_CALLOUT), 1.0);
    size_t hard = 0, easy = bc_relax_steps(&s.q.w.callouts, 0, kind[_i]);
    while (easy > hard + 1) {
        const size_t middle = (easy + hard) / 2;
        bc_relax_to(&s.q.w.callouts, 0, kind[_i], middle, changed);
        if (least_used(&s, changed, BC_NO_CALLOUT) <= 1.0)
            easy = middle;
        else
            hard = middle;
    }
    ck_assert_uint_gt(easy, 10);
    bc_relax_to(&s.q.w.callouts, 0, kind[_i], easy, changed);
    bc_exception offer = relax(&s, kind[_i], 0);
    const bc_callout *asked = &s.q.w.callout[0];
    ck_assert_double_eq_tol(offer.offered.aoi_to_rad, changed[0].aoi_to_rad, 0.11 * PI / 180.0);
    ck_assert_double_eq_tol(offer.offered.from_nm, changed[0].from_nm, 1.01);
    ck_assert_double_eq_tol(offer.offered.to_nm, changed[0].to_nm, 1.01);
    ck_assert((offer.offered.from_nm != asked->from_nm) == (kind[_i] == BC_EXCEPT_FROM || kind[_i] == BC_EXCEPT_BOTH));
    ck_assert((offer.offered.to_nm != asked->to_nm) == (kind[_i] == BC_EXCEPT_TO || kind[_i] == BC_EXCEPT_BOTH));
    ck_assert(offer.limit_used <= 1.0 && offer.limit_used > 0.97);
    bc_stack_clear(&offer.stack);
    close_scene(&s);
}
END_TEST

/* One row's own limit while the other holds, and both by one factor, of a whole quote: no thickness does with 1 % less.
 */
START_TEST(one_per_cent_less_does_not_do)
{
    static const double limit[][2] = {{0.0150, 0.0100}, {0.0130, 0.0120}, {0.0150, 0.0060}, {0.0128, 0.0100}};
    size_t offers = 0;
    bc_quote_result result;
    scene s;
    open_least(&s);
    s.q.w.callout[0].limit = limit[_i][0];
    workshop_ask(&s.q.w, limit[_i][1], 450.0, 450.0, 0.0);
    s.q.request.effort = 1.0;
    ck_assert_double_gt(least_used(&s, s.q.w.callout, BC_NO_CALLOUT), 1.03);
    result = ask(&s.q);
    ck_assert_int_eq(result.verdict, BC_NOT_FEASIBLE);
    for (size_t e = 0; e < result.exceptions; e++) {
        const bc_exception *offer = &result.exception[e];
        if (offer->kind != BC_EXCEPT_LIMIT || !offer->found)
            continue;
        const double least = least_used(&s, s.q.w.callout, offer->callout);
        const double asked = s.q.w.callout[offer->callout == BC_NO_CALLOUT ? 0 : offer->callout].limit;
        ck_assert_double_ge(offer->factor, 0.999 * least);
        ck_assert_double_le(offer->factor, 1.01 * least);
        ck_assert_double_ge(offer->offered.limit, asked * offer->factor * (1.0 - 1e-9));
        ck_assert_double_le(offer->offered.limit, asked * offer->factor * 1.01); /* rounded up to three digits */
        ck_assert((offer->all != NULL) == (offer->callout == BC_NO_CALLOUT));
        ck_assert(offer->limit_used <= 1.0 && offer->limit_used > 0.97);
        offers++;
    }
    ck_assert_uint_ge(offers, 2);
    bc_quote_result_clear(&result);
    close_scene(&s);
}
END_TEST

TCase *least_case(void)
{
    TCase *tests = tcase_create("least");
    tcase_add_loop_test(tests, one_step_less_does_not_do, 0, 4);
    tcase_add_loop_test(tests, one_per_cent_less_does_not_do, 0, 4);
    return tests;
}
