/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Which changes a quote looks into, in which order, and what becomes of those that are found: from a pool of one
 * design, whose layer stays as it is.
 */
#include "exceptions.h"
#include "scene.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_SHOWN 24

typedef struct planned {
    scene s;
    bc_quote_result result;
    bc_medium layer[3], glass[3];
    size_t shown, kind[MOST_SHOWN]; /* to whoever waits */
} planned;

static void note(void *context, const bc_quote_found *found)
{
    planned *p = context;
    ck_assert(found->exception != NULL && found->exception->found && found->option == NULL);
    ck_assert_uint_lt(p->shown, MOST_SHOWN);
    p->kind[p->shown++] = (size_t)found->exception->kind;
}

/* One layer of 1.38, R <= 1 % at 550 nm: 1.26 % is the least. No yield is asked for. */
static void open_planned(planned *p)
{
    memset(p, 0, sizeof *p);
    open_scene(&p->s);
    p->s.q.w.callout[0].limit = 0.01;
    p->s.q.request.process = NULL;
    p->s.q.request.effort = 0.3;
    p->s.q.w.stack.layer[0].thickness_nm = 99.6;
}

static void plan(planned *p)
{
    bc_quote_result *result = &p->result;
    const size_t callouts = p->s.q.w.callouts.count;
    add(&p->s, 99.6, NAN, 1.3);
    p->s.pool.design[0].limit_factor = calloc(callouts, sizeof(double));
    ck_assert_ptr_nonnull(p->s.pool.design[0].limit_factor);
    for (size_t c = 0; c < callouts; c++)
        p->s.pool.design[0].limit_factor[c] = 1.3;
    result->verdict = BC_NOT_FEASIBLE;
    result->materials.lowest_n = result->materials.highest_n = 1.38;
    ck_assert_int_eq(bc_problem_check(&p->s.q.w.problem, &p->s.q.w.stack, &result->check, NULL), BC_OK);
    ck_assert_int_eq(bc_exceptions_find(&p->s.pool, result, NULL), BC_OK);
}

static void expect_kinds(const planned *p, size_t count, const bc_exception_kind *kind)
{
    for (size_t e = 0; e < count && e < p->result.exceptions; e++)
        ck_assert_msg(p->result.exception[e].kind == kind[e], "change %zu is %d", e, p->result.exception[e].kind);
    ck_assert_uint_eq(p->result.exceptions, count);
}

static void close_planned(planned *p)
{
    bc_quote_result_clear(&p->result);
    close_scene(&p->s);
}

/* The limit, the ends of a band, both, and the angle, as far as there is something to change. */
START_TEST(one_row_by_itself)
{
    static const bc_exception_kind all[] = {BC_EXCEPT_LIMIT, BC_EXCEPT_FROM, BC_EXCEPT_TO, BC_EXCEPT_BOTH,
                                            BC_EXCEPT_ANGLE};
    static const bc_exception_kind oblique[] = {BC_EXCEPT_LIMIT, BC_EXCEPT_ANGLE};
    planned p;
    open_planned(&p);
    p.s.q.w.callout[0].to_nm = _i == 1 ? 560.0 : 550.0;
    p.s.q.w.callout[0].aoi_to_rad = _i > 0 ? 0.1 : 0.0;
    plan(&p);
    expect_kinds(&p, _i == 0 ? 1 : _i == 1 ? 5 : 2, _i == 1 ? all : oblique);
    for (size_t e = 0; e < p.result.exceptions; e++)
        ck_assert_uint_eq(p.result.exception[e].callout, 0);
    ck_assert(p.result.exception[0].found);
    ck_assert_double_eq_tol(p.result.exception[0].offered.limit, 0.0127, 0.0001);
    close_planned(&p);
}
END_TEST

/* Several rows together, then the hardest alone; then layers, then glasses. As many of each as the effort says, but one
 * at least. */
START_TEST(rows_layers_and_glasses)
{
    static const bc_exception_kind few[] = {BC_EXCEPT_LIMIT, BC_EXCEPT_DROPPED, BC_EXCEPT_LAYER, BC_EXCEPT_GLASS};
    static const bc_exception_kind many[] = {BC_EXCEPT_LIMIT, BC_EXCEPT_DROPPED, BC_EXCEPT_DROPPED,
                                             BC_EXCEPT_LAYER, BC_EXCEPT_GLASS,   BC_EXCEPT_GLASS};
    planned p;
    open_planned(&p);
    workshop_ask(&p.s.q.w, 0.009, 550.0, 550.0, 0.0);
    for (int i = 0; i < 3; i++) {
        p.layer[i] = workshop_medium(&p.s.q.w, ((const char *[]){"1.36", "1.45", "1.45"})[i]);
        p.glass[i] = workshop_medium(
            &p.s.q.w, ((const char *[]){"1.54", "Si", "1.53"})[i]); /* of Si the table begins at 1357 nm */
    }
    p.s.q.request.other_layers = p.s.q.request.other_glasses = 3;
    p.s.q.request.other_layer = p.layer;
    p.s.q.request.other_glass = p.glass;
    p.s.q.request.effort = _i == 0 ? 0.49 : 1.0;
    plan(&p);
    expect_kinds(&p, _i == 0 ? 4 : 6, _i == 0 ? few : many);
    ck_assert_uint_eq(p.result.exception[0].callout, BC_NO_CALLOUT);
    ck_assert_ptr_nonnull(p.result.exception[0].all);
    ck_assert_uint_eq(p.result.exception[1].callout, 1);
    if (_i == 1)
        ck_assert_uint_eq(p.result.exception[2].callout, 0);
    const size_t layer = _i == 0 ? 2 : 3;
    ck_assert_ptr_eq(p.result.exception[layer].other, &p.layer[1]); /* 0.07 above, as the next; the other 0.02 below */
    ck_assert_ptr_eq(p.result.exception[layer + 1].other, &p.glass[2]);
    if (_i == 1)
        ck_assert_ptr_eq(p.result.exception[layer + 2].other, &p.glass[0]);
    for (size_t e = 0; e < p.result.exceptions; e++)
        ck_assert(p.result.exception[e].other == NULL || p.result.exception[e].callout == BC_NO_CALLOUT);
    ck_assert_double_eq_tol(p.s.watch.fraction, 1.0, 1e-12);
    close_planned(&p);
}
END_TEST

/* A glass must reach over the whole band. Loop: of ZnSe the table begins at 540 nm, of Si at 1357 nm. */
START_TEST(a_glass_whose_table_ends_in_the_band)
{
    static const bc_exception_kind kind[] = {BC_EXCEPT_LIMIT, BC_EXCEPT_FROM, BC_EXCEPT_TO, BC_EXCEPT_BOTH,
                                             BC_EXCEPT_GLASS};
    static const char *const other[] = {"ZnSe", "Si", "1.53"};
    planned p;
    open_planned(&p);
    p.s.q.w.callout[0].from_nm = 530.0;
    p.s.q.w.callout[0].to_nm = 550.0;
    p.glass[0] = workshop_medium(&p.s.q.w, other[_i]);
    p.s.q.request.other_glasses = 1;
    p.s.q.request.other_glass = p.glass;
    plan(&p);
    expect_kinds(&p, _i == 2 ? 5 : 4, kind);
    close_planned(&p);
}
END_TEST

/* Each of several glasses may have a recipe of its own; a back of its own stays on its glass. */
START_TEST(several_glasses_and_a_back)
{
    static const bc_exception_kind alone[] = {BC_EXCEPT_LIMIT, BC_EXCEPT_ALONE, BC_EXCEPT_ALONE};
    bc_stack back;
    planned p;
    open_planned(&p);
    p.glass[0] = workshop_medium(&p.s.q.w, "1.53");
    p.s.q.request.other_glasses = 1;
    p.s.q.request.other_glass = p.glass;
    ck_assert_int_eq(bc_stack_copy(&p.s.q.w.stack, &back, NULL), BC_OK);
    if (_i == 0) {
        p.s.q.w.glass[1] = workshop_medium(&p.s.q.w, "1.6");
        p.s.q.w.problem.substrates = 2;
    } else {
        p.s.q.w.problem.back = (bc_back){.kind = BC_BACK_OWN, .stack = &back};
    }
    plan(&p);
    expect_kinds(&p, _i == 0 ? 3 : 1, alone);
    for (size_t g = 0; _i == 0 && g < 2; g++)
        ck_assert_ptr_eq(p.result.exception[1 + g].other, &p.s.q.w.glass[g]);
    bc_stack_clear(&back);
    close_planned(&p);
}
END_TEST

/* What is found is shown once and enters the pool, but for what another layer material makes. */
START_TEST(what_becomes_of_what_is_found)
{
    size_t found = 0;
    planned p;
    open_planned(&p);
    p.layer[0] = workshop_medium(&p.s.q.w, "1.3");
    p.s.q.request.other_layers = 1;
    p.s.q.request.other_layer = p.layer;
    p.s.q.request.found = note;
    p.s.q.request.found_context = &p;
    p.s.q.w.callout[0].limit = 0.0127;
    p.s.q.w.callout[0].aoi_from_rad = p.s.q.w.callout[0].aoi_to_rad = 0.6;
    plan(&p);
    for (size_t e = 0; e < p.result.exceptions; e++) {
        const bc_exception *one = &p.result.exception[e];
        bc_pooled *pooled = one->found ? bc_pool_find(&p.s.pool, &one->stack) : NULL;
        found += one->found;
        ck_assert((one->stack.layers > 0) == one->found);
        ck_assert(!one->found || (pooled != NULL) == (one->kind != BC_EXCEPT_LAYER));
    }
    ck_assert_uint_eq(found, 3); /* the limit, the angle, the layer */
    ck_assert_uint_eq(p.shown, 3);
    for (size_t i = 0; i < 3; i++)
        for (size_t k = 0; k < i; k++)
            ck_assert_uint_ne(p.kind[i], p.kind[k]);
    ck_assert(p.s.watch.progress == NULL && p.s.watch.context == NULL);
    close_planned(&p);
}
END_TEST

static bool never(void *context, double fraction, double limit_used)
{
    (void)context;
    (void)limit_used;
    return fraction < BC_SHARE_WITH_EXCEPTIONS;
}

/* What a stop cuts short is neither found nor looked for in vain; what was found before stands. */
START_TEST(nothing_is_left_of_what_was_cut_short)
{
    planned p;
    open_planned(&p);
    p.s.q.w.callout[0].aoi_to_rad = 0.1;
    p.s.watch.progress = never;
    p.s.watch.fraction = 0.6;
    plan(&p);
    expect_kinds(&p, 1, (const bc_exception_kind[]){BC_EXCEPT_LIMIT});
    ck_assert(p.result.exception[0].found);
    ck_assert_uint_eq(p.s.pool.count, 1);
    close_planned(&p);
}
END_TEST

TCase *plan_case(void)
{
    TCase *tests = tcase_create("plan");
    tcase_add_loop_test(tests, one_row_by_itself, 0, 3);
    tcase_add_loop_test(tests, rows_layers_and_glasses, 0, 2);
    tcase_add_loop_test(tests, a_glass_whose_table_ends_in_the_band, 0, 3);
    tcase_add_loop_test(tests, several_glasses_and_a_back, 0, 2);
    tcase_add_test(tests, what_becomes_of_what_is_found);
    tcase_add_test(tests, nothing_is_left_of_what_was_cut_short);
    return tests;
}
