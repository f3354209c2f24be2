/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Where a layer more may stand: all places and materials, and what becomes of the layers that were there.
 */
#include "add_layer.h"
#include "inquiry.h"
#include <math.h>
#include <string.h>

#define MOST 24

typedef struct grown {
    inquiry q;
    bc_stack stack[MOST];
    size_t count;
} grown;

/* Layers of these materials from the outer one, 100 nm and every next one 10 nm more, on any of three materials; the
 * band begins at 440 nm, whose fortieth is 11 nm. */
static void open_grown(grown *g, size_t layers, const unsigned *material)
{
    open_inquiry(&g->q, "1.38,2.1,1.65", 9);
    workshop_ask(&g->q.w, 0.01, 440.0, 660.0, 0.0);
    bc_stack_clear(&g->q.w.stack);
    ck_assert_int_eq(bc_stack_alloc(layers, &g->q.w.stack, NULL), BC_OK);
    g->q.w.stack.incident = g->q.w.problem.incident;
    g->q.w.stack.substrate = g->q.w.glass[0];
    for (size_t j = 0; j < layers; j++)
        g->q.w.stack.layer[j] = (bc_layer){g->q.layer[material[j]], 100.0 + 10.0 * (double)j, false};
    memset(g->stack, 0, sizeof g->stack);
    g->count = 2; /* of an earlier answer */
}

static void close_grown(grown *g)
{
    while (g->count > 0)
        bc_stack_clear(&g->stack[--g->count]);
    workshop_close(&g->q.w);
}

static void grow(grown *g, size_t more)
{
    ck_assert_uint_le(bc_add_layer_most(g->q.w.stack.layers, g->q.w.problem.materials), MOST);
    ck_assert_int_eq(bc_add_layer(&g->q.w.problem, &g->q.w.stack, more, g->stack, &g->count, NULL), BC_OK);
    ck_assert_uint_le(g->count, bc_add_layer_most(g->q.w.stack.layers, g->q.w.problem.materials));
}

typedef struct row {
    unsigned material;
    double nm;
} row;

static void expect_stack(const grown *g, size_t which, size_t layers, const row *expected)
{
    const bc_stack *stack = &g->stack[which];
    ck_assert_uint_lt(which, g->count);
    ck_assert_uint_eq(stack->layers, layers);
    ck_assert_ptr_eq(stack->incident.dispersion, g->q.w.stack.incident.dispersion);
    ck_assert_ptr_eq(stack->substrate.dispersion, g->q.w.stack.substrate.dispersion);
    ck_assert(stack->from_substrate == g->q.w.stack.from_substrate);
    for (size_t j = 0; j < layers; j++) {
        ck_assert_ptr_eq(stack->layer[j].material.dispersion, g->q.layer[expected[j].material].dispersion);
        ck_assert_double_eq_tol(stack->layer[j].thickness_nm, expected[j].nm, 1e-12);
        ck_assert(!stack->layer[j].fixed);
    }
}

/* Outside, between and next to the substrate, each material that neither neighbour is of. */
START_TEST(one_layer_more)
{
    static const row expected[][3] = {{{1, 11.0}, {0, 100.0}, {1, 110.0}},
                                      {{2, 11.0}, {0, 100.0}, {1, 110.0}},
                                      {{0, 100.0}, {2, 11.0}, {1, 110.0}},
                                      {{0, 100.0}, {1, 110.0}, {0, 11.0}},
                                      {{0, 100.0}, {1, 110.0}, {2, 11.0}}};
    grown g;
    open_grown(&g, 2, (const unsigned[]){0, 1});
    g.q.w.stack.from_substrate = _i == 1;
    grow(&g, 1);
    ck_assert_uint_eq(g.count, 5);
    for (size_t i = 0; i < 5; i++)
        expect_stack(&g, i, 3, expected[i]);
    close_grown(&g);
}
END_TEST

/* In the middle of each layer, of the other materials. */
START_TEST(two_layers_more)
{
    static const row expected[][4] = {{{0, 50.0}, {1, 11.0}, {0, 50.0}, {1, 110.0}},
                                      {{0, 50.0}, {2, 11.0}, {0, 50.0}, {1, 110.0}},
                                      {{0, 100.0}, {1, 55.0}, {0, 11.0}, {1, 55.0}},
                                      {{0, 100.0}, {1, 55.0}, {2, 11.0}, {1, 55.0}}};
    grown g;
    open_grown(&g, 2, (const unsigned[]){0, 1});
    grow(&g, 2);
    ck_assert_uint_eq(g.count, 4);
    for (size_t i = 0; i < 4; i++)
        expect_stack(&g, i, 4, expected[i]);
    close_grown(&g);
}
END_TEST

/* A layer that stays as it is, and one whose halves would be too thin, are not split; a new one is no thinner than any
 * may be. */
START_TEST(what_is_not_split)
{
    static const row expected[] = {{0, 100.0}, {1, 55.0}, {0, 50.0}, {1, 55.0}};
    grown g;
    open_grown(&g, 2, (const unsigned[]){0, 1});
    g.q.w.problem.minimum_nm = 50.0;
    grow(&g, 2);
    ck_assert_uint_eq(g.count, 2);
    expect_stack(&g, 0, 4, expected);
    close_grown(&g);
    open_grown(&g, 2, (const unsigned[]){0, 1});
    g.q.w.problem.minimum_nm = 49.9;
    g.q.w.stack.layer[1].fixed = true;
    grow(&g, 2);
    ck_assert_uint_eq(g.count, 2);
    ck_assert_double_eq_tol(g.stack[0].layer[0].thickness_nm, 50.0, 1e-12);
    ck_assert_double_eq_tol(g.stack[0].layer[1].thickness_nm, 49.9, 1e-12);
    ck_assert(g.stack[0].layer[3].fixed);
    close_grown(&g);
}
END_TEST

/* A place before each layer and one behind the last, for each material: room for more than there ever are. */
START_TEST(room_for_all_of_them)
{
    ck_assert_uint_eq(bc_add_layer_most(1, 3), 6);
    ck_assert_uint_eq(bc_add_layer_most(4, 2), 10);
}
END_TEST

TCase *add_layer_case(void)
{
    TCase *tests = tcase_create("add_layer");
    tcase_add_loop_test(tests, one_layer_more, 0, 2);
    tcase_add_test(tests, two_layers_more);
    tcase_add_test(tests, what_is_not_split);
    tcase_add_test(tests, room_for_all_of_them);
    return tests;
}
