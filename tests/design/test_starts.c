/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Where a design begins: what lies behind the part, and starts that cannot be one.
 */
#include "problem.h"
#include <math.h>
#include <string.h>

/* A quarter wave of 1.38 is the best single layer on 1.52, and a quarter wave of 2.1 on the back makes it brighter: R
 * of each by ((n0 ns - n1^2)/(n0 ns + n1^2))^2 (Born and Wolf, Principles of Optics, ch. 1.6.4), and of the two added
 * incoherently R = Rf + (1 - Rf)^2 Rb / (1 - Rf Rb) (geometric series, elementary). */
START_TEST(a_part_with_another_coating_behind_it)
{
    const double nm = 550.0, front = pow((1.52 - 1.38 * 1.38) / (1.52 + 1.38 * 1.38), 2.0);
    const double behind = pow((1.52 - 2.1 * 2.1) / (1.52 + 2.1 * 2.1), 2.0);
    const double both = front + (1.0 - front) * (1.0 - front) * behind / (1.0 - front * behind);
    bc_refine_result result;
    bc_layer on_back;
    bc_stack back, stack;
    bc_error error;
    problem p;
    problem_open(&p, "1.52", "1.38,2.1");
    problem_add(&p, 0.5, nm, nm, 0.0)->scope = BC_SCOPE_PART;
    p.design.max_total_nm = 150.0;
    on_back = (bc_layer){.material = p.material[1], .thickness_nm = nm / 4.0 / 2.1};
    back = (bc_stack){.incident = p.design.incident, .substrate = p.substrate[0], .layers = 1, .layer = &on_back};
    p.design.back = (bc_back){.kind = BC_BACK_OWN, .stack = &back, .substrate_mm = 2.0};
    ck_assert_int_eq(bc_stack_alloc(1, &stack, NULL), BC_OK);
    stack.incident = p.design.incident;
    stack.substrate = p.substrate[0];
    stack.layer[0] = (bc_layer){.material = p.material[0], .thickness_nm = 80.0};
    ck_assert_msg(bc_refine(&p.design, &stack, &result, &error) == BC_OK, "%s", error.message);
    ck_assert_double_eq_tol(stack.layer[0].thickness_nm, nm / 4.0 / 1.38, 0.1);
    ck_assert_double_eq_tol(result.limit_used, both / 0.5, 1e-6);
    bc_stack_clear(&stack);
    problem_close(&p);
}
END_TEST

typedef enum wrong { NO_MATERIAL, NO_GLASS, NO_CALLOUT, TOO_MANY_LAYERS, FOREIGN_LAYER, TOO_THICK, WRONGS } wrong;

static const char *const said[WRONGS] = {
    "at least one layer material",
    "at least one layer material",
    "at least one layer material",
    "the start has 2 layers; at most 1 are allowed",
    "layer 1 of the start is '2.1', which is not among the layer materials",
    "no stack of at most 4 layers keeps the limits on thickness",
};

START_TEST(what_no_draft_can_begin_with)
{
    bc_draft_options options = {.aim = BC_AIM_BEST, .seed = 1, .effort = 0.05, .threads = 1};
    bc_draft_result result;
    bc_layer layer[2];
    bc_stack start;
    bc_error error = {0};
    problem p;
    problem_open(&p, "1.52", "1.38,2.1");
    problem_add(&p, 0.01, 540.0, 560.0, 0.0);
    layer[0] = (bc_layer){.material = p.material[0], .thickness_nm = 90.0, .fixed = _i == TOO_THICK};
    layer[1] = (bc_layer){.material = p.material[1], .thickness_nm = 30.0, .fixed = _i == TOO_THICK};
    start = (bc_stack){.incident = p.design.incident, .substrate = p.substrate[0], .layers = 2, .layer = layer};
    if (_i >= TOO_MANY_LAYERS)
        options.start = &start;
    if (_i == NO_MATERIAL)
        p.design.materials = 0;
    if (_i == NO_GLASS)
        p.design.substrates = 0;
    if (_i == NO_CALLOUT)
        p.callouts.count = 0;
    if (_i == TOO_MANY_LAYERS)
        p.design.max_layers = 1;
    if (_i == FOREIGN_LAYER)
        p.design.materials = 1;
    if (_i == TOO_THICK)
        p.design.max_total_nm = 100.0;
    ck_assert_int_eq(bc_draft(&p.design, &options, &result, &error), BC_ERROR_INPUT);
    ck_assert_msg(strstr(error.message, said[_i]) != NULL, "%s", error.message);
    ck_assert_ptr_null(result.rung);
    problem_close(&p);
}
END_TEST

Suite *starts_suite(void)
{
    Suite *suite = suite_create("starts");
    TCase *tests = tcase_create("starts");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, a_part_with_another_coating_behind_it);
    tcase_add_loop_test(tests, what_no_draft_can_begin_with, 0, WRONGS);
    suite_add_tcase(suite, tests);
    return suite;
}
