/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A design refined to hold under errors: which errors those are.
 */
#include "inquiry.h"
#include "under_errors.h"
#include <math.h>
#include <string.h>

#define LAYERS    3
#define MATERIALS 2
#define SPREAD    2.0

/* Three layers of two materials, the outer one like the inner. */
static void open_three(inquiry *q, bc_stack *stack)
{
    static const double nm[LAYERS] = {90.0, 120.0, 60.0};
    open_inquiry(q, "1.38,2.1", LAYERS);
    workshop_ask(&q->w, 0.01, 450.0, 650.0, 0.0);
    ck_assert_int_eq(bc_stack_alloc(LAYERS, stack, NULL), BC_OK);
    stack->incident = q->w.problem.incident;
    stack->substrate = q->w.problem.substrate[0];
    for (size_t j = 0; j < LAYERS; j++)
        stack->layer[j] = (bc_layer){.material = q->layer[j % 2], .thickness_nm = nm[j]};
}

/* Each error alone, SPREAD standard deviations to either side: of each layer, of the whole run, of each material's
 * index. Written down here once more, and refined for, they lead to the same thicknesses; and without one of the kinds
 * to others. Loop: errors of layers, of the run, of indices; of all three. */
START_TEST(single_errors_both_ways)
{
    const double sigma = _i == 0 || _i == 3 ? 0.02 : 0.0, bias = _i == 1 || _i == 3 ? 0.03 : 0.0;
    const double index[MATERIALS] = {_i >= 2 ? 0.02 : 0.0, _i >= 2 ? 0.04 : 0.0};
    double error[16 * LAYERS] = {0}, dn[16 * MATERIALS] = {0};
    bc_scenarios by_hand = {.error = error, .materials = MATERIALS, .dn = dn};
    bc_refine_result expected, plain;
    bc_stack stack, same, without;
    inquiry q;
    open_three(&q, &stack);
    ck_assert_int_eq(bc_stack_copy(&stack, &same, NULL), BC_OK);
    ck_assert_int_eq(bc_stack_copy(&stack, &without, NULL), BC_OK);
    workshop_errors(&q.w, "1.38", sigma, bias, index[0]);
    workshop_errors(&q.w, "2.1", sigma, bias, index[1]);
    for (int way = -1; way <= 1; way += 2) {
        for (size_t j = 0; sigma > 0.0 && j < LAYERS; j++)
            error[by_hand.count++ * LAYERS + j] = way * SPREAD * sigma;
        for (size_t j = 0; j < LAYERS; j++)
            error[by_hand.count * LAYERS + j] = way * SPREAD * bias;
        by_hand.count += bias > 0.0;
        for (size_t m = 0; m < MATERIALS && index[m] > 0.0; m++)
            dn[by_hand.count++ * MATERIALS + m] = way * SPREAD * index[m];
    }
    ck_assert_int_eq(bc_refine_under_errors(&q.w.problem, &q.w.process, SPREAD, NULL, &stack, NULL), BC_OK);
    ck_assert_int_eq(bc_refine_scenarios(&q.w.problem, &by_hand, &same, &expected, NULL), BC_OK);
    ck_assert_int_eq(bc_refine(&q.w.problem, &without, &plain, NULL), BC_OK);
    double moved = 0.0;
    for (size_t j = 0; j < LAYERS; j++) {
        ck_assert_double_eq_tol(stack.layer[j].thickness_nm, same.layer[j].thickness_nm, 0.01);
        moved = fmax(moved, fabs(stack.layer[j].thickness_nm - without.layer[j].thickness_nm));
    }
    ck_assert_double_gt(moved, 0.1);
    bc_stack_clear(&stack);
    bc_stack_clear(&same);
    bc_stack_clear(&without);
    workshop_close(&q.w);
}
END_TEST

TCase *under_errors_case(void)
{
    TCase *tests = tcase_create("under_errors");
    tcase_add_loop_test(tests, single_errors_both_ways, 0, 4);
    return tests;
}
