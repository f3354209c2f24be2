/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Standard coatings of one layer held against a request, without a search: which of their stacks, which are refused, in
 * which order they stand, and how far their thicknesses may move. R = 1.26 % at the quarter wave of 99.6 nm.
 */
#include "scene.h"
#include "standard.h"
#include <math.h>
#include <stdlib.h>

#define MADE 16

typedef struct held {
    scene s;
    bc_stack stack[MADE];
    bc_standard made[MADE];
    bc_standards standards;
    bc_quote_result result;
} held;

static void open_held(held *h, const char *materials, double limit)
{
    open_scene_of(&h->s, materials, 2);
    h->s.q.w.stack.layers = 1;
    h->s.q.w.callout[0].limit = limit;
    h->standards = (bc_standards){0, h->made};
    h->s.q.request.standards = &h->standards;
    h->result = (bc_quote_result){0};
    h->result.layers = h->s.q.w.problem.materials;
    h->result.layer = h->s.q.layer;
}

/* A standard coating of one layer; its stack comes back to be changed. */
static bc_stack *make(held *h, double nm)
{
    const size_t i = h->standards.count++;
    ck_assert_uint_lt(i, MADE);
    ck_assert_int_eq(bc_stack_alloc(1, &h->stack[i], NULL), BC_OK);
    h->stack[i].incident = h->s.q.w.problem.incident;
    h->stack[i].substrate = h->s.q.w.glass[0];
    h->stack[i].layer[0] = (bc_layer){h->s.q.layer[0], nm, false};
    h->made[i] = (bc_standard){.callouts = h->s.q.w.callouts, .stacks = 1, .stack = &h->stack[i]};
    return &h->stack[i];
}

static void hold(held *h)
{
    bc_error error;
    ck_assert_msg(bc_standards_hold(&h->s.pool, &h->result, &error) == BC_OK, "%s", error.message);
}

static void expect_offer(const held *h, size_t place, size_t made, bool refined, bool does)
{
    ck_assert_uint_lt(place, h->result.standards);
    const bc_standard_offer *offer = &h->result.standard[place];
    ck_assert_msg(offer->standard == &h->made[made], "place %zu: %zu", place, (size_t)(offer->standard - h->made));
    ck_assert(offer->refined == refined && offer->does == does);
}

static void close_held(held *h)
{
    h->result.layer = NULL;
    bc_quote_result_clear(&h->result);
    for (size_t i = 0; i < h->standards.count; i++)
        bc_stack_clear(&h->stack[i]);
    h->s.q.w.stack.layers = 2;
    close_scene(&h->s);
}

/* The stack for the substrate asked for; else the one whose substrate has the nearest index in the middle of the first
 * band: 517642 has 1.527 at 425 nm, 1.518 at 550 nm and 1.510 at 850 nm. */
START_TEST(the_stack_for_the_nearest_substrate)
{
    static const char *const made_for[] = {"1.51", "1.526", "1.6", "517642"};
    const size_t stacks = _i == 0 ? 4 : 3;
    bc_stack stack[4];
    held h;
    open_held(&h, "1.38,2.1", 0.03);
    h.s.q.w.glass[0] = workshop_medium(&h.s.q.w, "517642");
    h.s.q.w.callout[0].from_nm = 400.0;
    h.s.q.w.callout[0].to_nm = 450.0;
    make(&h, 77.0);
    for (size_t i = 0; i < stacks; i++) {
        stack[i] = h.stack[0];
        stack[i].substrate = workshop_medium(&h.s.q.w, made_for[i]);
    }
    h.made[0].stacks = stacks;
    h.made[0].stack = stack;
    hold(&h);
    expect_offer(&h, 0, 0, false, true);
    ck_assert_ptr_eq(h.result.standard[0].made_for, &stack[_i == 0 ? 3 : 1].substrate);
    ck_assert_ptr_eq(h.result.standard[0].option.stack.substrate.dispersion, h.s.q.w.glass[0].dispersion);
    close_held(&h);
}
END_TEST

/* Those that do, the faster first; then those that fail, the nearest first; then the refused in their order. */
START_TEST(the_order_of_those_as_they_are)
{
    held h;
    open_held(&h, "1.38,2.1", 0.015);
    make(&h, 100.0)->layer[0].material = workshop_medium(&h.s.q.w, "1.7");
    make(&h, 70.0);
    make(&h, 99.0)->incident = workshop_medium(&h.s.q.w, "1.33");
    make(&h, 104.0);
    make(&h, 75.0);
    make(&h, 96.0);
    hold(&h);
    ck_assert_uint_eq(h.result.standards, 6);
    expect_offer(&h, 0, 5, false, true);
    expect_offer(&h, 1, 3, false, true);
    expect_offer(&h, 2, 4, false, false);
    expect_offer(&h, 3, 1, false, false);
    expect_offer(&h, 4, 0, false, false);
    expect_offer(&h, 5, 2, false, false);
    ck_assert_ptr_eq(h.result.standard[4].refused, &h.stack[0].layer[0].material);
    ck_assert_ptr_eq(h.result.standard[5].refused, &h.stack[2].incident);
    ck_assert_uint_eq(h.result.standard[4].option.stack.layers + h.result.standard[5].option.stack.layers, 0);
    ck_assert(h.result.standard[3].refused == NULL && isnan(h.result.standard[3].option.yield));
    ck_assert_double_eq_tol(h.result.standard[3].option.limit_used, one_layer(1.38, 1.52, 70.0, 550.0) / 0.015, 1e-9);
    ck_assert(bc_standard_does(&h.result));
    close_held(&h);
}
END_TEST

/* A bare surface is no standard coating, and one that is too thick in all does not do as it is. */
START_TEST(what_is_no_standard_for_it)
{
    held h;
    open_held(&h, "1.38,2.1", 0.05);
    if (_i == 0) {
        make(&h, 99.6)->layers = 0;
    } else {
        make(&h, 99.6);
        h.s.q.w.problem.max_total_nm = _i == 1 ? 99.59 : 99.6;
    }
    hold(&h);
    ck_assert_uint_eq(h.result.standards, _i == 1 ? 2 : 1);
    expect_offer(&h, h.result.standards - 1, 0, false, _i == 2);
    ck_assert_double_lt(h.result.standard[h.result.standards - 1].option.limit_used, 1.0);
    if (_i == 1) {
        expect_offer(&h, 0, 0, true, true);
        ck_assert_double_le(h.result.standard[0].option.total_nm, 99.59);
    }
    close_held(&h);
}
END_TEST

/* At most a tenth of a layer, or 3 nm: of 75 nm those that do it lie within reach, of 70 nm they do not. What has
 * become a new design is not offered, but the search begins with it. */
START_TEST(how_far_thicknesses_may_move)
{
    bc_quote_option *before;
    held h;
    open_held(&h, "1.38,2.1", 0.015);
    make(&h, 70.0);
    make(&h, 75.0);
    hold(&h);
    ck_assert_uint_eq(h.result.standards, 4);
    expect_offer(&h, 0, 1, true, true);
    expect_offer(&h, 1, 0, true, true);
    expect_offer(&h, 2, 1, false, false);
    expect_offer(&h, 3, 0, false, false);
    ck_assert(!h.result.standard[0].new_design && h.result.standard[1].new_design);
    ck_assert_double_eq_tol(h.result.standard[0].moved_nm, 7.4925, 1e-9);
    ck_assert_double_eq_tol(h.result.standard[0].option.stack.layer[0].thickness_nm, 82.4925, 1e-9);
    ck_assert_double_eq_tol(h.result.standard[0].option.limit_used, one_layer(1.38, 1.52, 82.4925, 550.0) / 0.015,
                            1e-9);
    ck_assert_double_eq(h.result.standard[0].option.yield, 1.0);
    ck_assert_double_eq_tol(h.result.standard[1].option.stack.layer[0].thickness_nm, 99.6, 1.0);
    ck_assert_double_eq_tol(h.result.standard[1].moved_nm,
                            h.result.standard[1].option.stack.layer[0].thickness_nm - 70.0, 1e-9);
    ck_assert(bc_standard_does(&h.result));
    ck_assert_int_eq(bc_standards_start(&h.s.pool, &h.result, NULL), BC_OK);
    ck_assert_uint_eq(h.s.pool.count, 1);
    ck_assert_double_eq_tol(h.s.pool.design[0].stack.layer[0].thickness_nm,
                            h.result.standard[1].option.stack.layer[0].thickness_nm, 0.0006);
    h.result.option = before = calloc(1, sizeof *before);
    h.result.options = 1;
    *before = (bc_quote_option){.total_nm = 123.0, .yield = NAN};
    ck_assert_int_eq(bc_standards_put_first(&h.s.q.request, &h.result, NULL), BC_OK);
    ck_assert_uint_eq(h.result.options, 2);
    ck_assert_uint_eq(h.result.recommended, 0);
    ck_assert_int_eq(h.result.verdict, BC_FEASIBLE);
    ck_assert_ptr_eq(h.result.option[0].standard, &h.result.standard[0]);
    ck_assert_double_eq(h.result.option[1].total_nm, 123.0);
    close_held(&h);
}
END_TEST

/* A little too far is too far: from 84 to 99.6 nm is 1.9 tenths, and 92.4 nm will not do. */
START_TEST(a_little_too_far_is_a_new_design)
{
    held h;
    open_held(&h, "1.38,2.1", 0.0128);
    h.s.q.w.row[0].thickness_sigma = 0.0001;
    make(&h, 84.0);
    hold(&h);
    expect_offer(&h, 0, 0, true, true);
    ck_assert_double_eq_tol(h.result.standard[0].moved_nm, 15.6, 1.5);
    ck_assert(h.result.standard[0].new_design);
    close_held(&h);
}
END_TEST

/* A layer of 2.1 that is to be thinner: 3 nm of 14 are more than a tenth. */
START_TEST(thin_layers_may_move_by_3_nm)
{
    held h;
    open_held(&h, "2.1,1.38", 0.062);
    h.s.q.w.row[0].thickness_sigma = 0.0001;
    make(&h, 14.0);
    hold(&h);
    expect_offer(&h, 0, 0, true, true);
    ck_assert(!h.result.standard[0].new_design);
    ck_assert_double_eq_tol(h.result.standard[0].option.stack.layer[0].thickness_nm, 14.0 - 0.999 * 3.0, 1e-9);
    close_held(&h);
}
END_TEST

/* Whoever waits is asked while the runs of one are estimated. */
START_TEST(a_standard_asks_whether_to_go_on)
{
    size_t asked = 0;
    held h;
    open_held(&h, "1.38,2.1", 0.015);
    make(&h, 99.6);
    h.s.watch.progress = count_asked;
    h.s.watch.context = &asked;
    hold(&h);
    expect_offer(&h, 0, 0, false, true);
    ck_assert_uint_gt(asked, 50);
    close_held(&h);
}
END_TEST

/* Those that come nearest are refined, twelve of them. */
START_TEST(twelve_at_most_are_refined)
{
    size_t refined = 0;
    held h;
    open_held(&h, "1.38,2.1", 0.0120); /* less than any thickness leaves */
    for (size_t i = 0; i < 14; i++)
        make(&h, 50.0 + (double)i);
    hold(&h);
    ck_assert_uint_eq(h.result.standards, 14 + 12);
    for (size_t i = 0; i < h.result.standards; i++) {
        ck_assert(!h.result.standard[i].does);
        refined += h.result.standard[i].refined;
        ck_assert(!h.result.standard[i].refined || h.result.standard[i].standard >= &h.made[2]);
    }
    ck_assert_uint_eq(refined, 12);
    ck_assert(!bc_standard_does(&h.result));
    close_held(&h);
}
END_TEST

TCase *standard_offers_case(void)
{
    TCase *tests = tcase_create("standard_offers");
    tcase_add_loop_test(tests, the_stack_for_the_nearest_substrate, 0, 2);
    tcase_add_test(tests, the_order_of_those_as_they_are);
    tcase_add_loop_test(tests, what_is_no_standard_for_it, 0, 3);
    tcase_add_test(tests, how_far_thicknesses_may_move);
    tcase_add_test(tests, a_little_too_far_is_a_new_design);
    tcase_add_test(tests, thin_layers_may_move_by_3_nm);
    tcase_add_test(tests, a_standard_asks_whether_to_go_on);
    tcase_add_test(tests, twelve_at_most_are_refined);
    return tests;
}
