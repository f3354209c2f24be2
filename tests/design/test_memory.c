/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Memory that runs out at every place of a search.
 */
#include "crossing.h"
#include "many_or_few.h"
#include "out_of_memory.h"
#include "problem.h"
#include <bloomcoat/proof.h>
#include <math.h>

typedef struct task {
    problem p;
    bc_stack start;
    bc_draft_options options;
    double refined_nm; /* the first layer of the refinement that lacked nothing; 0 before it */
} task;

static bc_status draft(void *context, bc_error *error)
{
    const task *t = context;
    bc_draft_result result;
    const bc_status status = bc_draft(&t->p.design, &t->options, &result, error);
    expect_memory_error(status == BC_OK || (result.rung == NULL && result.outer == NULL && result.candidate == NULL));
    bc_draft_result_clear(&result);
    return status;
}

static bc_status refine(void *context, bc_error *error)
{
    task *t = context;
    bc_refine_result result;
    bc_stack stack;
    bc_status status = bc_stack_copy(&t->start, &stack, error);
    if (status != BC_OK)
        return status;
    status = bc_refine(&t->p.design, &stack, &result, error);
    expect_memory_error(status == BC_OK || (stack.layer[0].thickness_nm == t->start.layer[0].thickness_nm &&
                                            stack.layer[1].thickness_nm == t->start.layer[1].thickness_nm));
    if (t->refined_nm == 0.0)
        t->refined_nm = stack.layer[0].thickness_nm;
    expect_memory_error(status != BC_OK ||
                        stack.layer[0].thickness_nm == t->refined_nm); /* no other answer for want of memory */
    bc_stack_clear(&stack);
    return status;
}

static bc_status prove(void *context, bc_error *error)
{
    const task *t = context;
    const bc_proof_options options = {.layers = 1, .most_work = 1e5, .threads = 1};
    bc_proof proof;
    const bc_status status = bc_prove(&t->p.design, &options, &proof, error);
    expect_memory_error(status == BC_OK || proof.step == NULL);
    bc_proof_clear(&proof);
    return status;
}

/* Two designs that differ are crossed, and what comes of them is taken up. */
static bc_status cross(void *context, bc_error *error)
{
    static unsigned material[2] = {0, 1};
    static double nm[2][2] = {{97.0, 30.0}, {60.0, 130.0}};
    static bool fixed[2];
    const task *t = context;
    bc_multistart multistart;
    bc_crossing *crossing;
    bc_status status = bc_multistart_open(&t->p.design, &t->options, &multistart, error);
    if (status != BC_OK)
        return status;
    for (size_t i = 0; i < 2; i++)
        bc_best_offer(&multistart.own[0], &(bc_recipe){2, 2, material, nm[i], fixed, 10.0 + (double)i, NULL});
    status = bc_crossing_alloc(&multistart, 2, 1e9, &crossing);
    expect_memory_error(status == BC_OK || crossing == NULL);
    if (status == BC_OK) {
        expect_memory_error(bc_crossing_turn(crossing) > 0 || multistart.failed);
        status = multistart.failed ? BC_ERROR_MEMORY : bc_crossing_take_up(crossing);
    }
    bc_crossing_free(crossing);
    bc_multistart_close(&multistart);
    return status == BC_OK ? BC_OK : bc_fail_memory(error);
}

static void open_task(task *t)
{
    t->refined_nm = 0.0;
    problem_open(&t->p, "1.52", "1.38,2.1");
    problem_add(&t->p, 0.01, 520.0, 560.0, 0.0);
    t->p.design.max_layers = 2;
    t->options = (bc_draft_options){.aim = BC_AIM_BEST, .seed = 1, .effort = 0.02, .threads = 1};
    ck_assert_int_eq(bc_stack_alloc(2, &t->start, NULL), BC_OK);
    t->start.incident = t->p.design.incident;
    t->start.substrate = t->p.substrate[0];
    t->start.layer[0] = (bc_layer){.material = t->p.material[0], .thickness_nm = 97.0};
    t->start.layer[1] = (bc_layer){.material = t->p.material[1], .thickness_nm = 30.0};
}

static void close_task(task *t)
{
    bc_stack_clear(&t->start);
    problem_close(&t->p);
}

START_TEST(a_draft)
{
    task t;
    open_task(&t);
    if (_i == 1)
        t.options.start = &t.start;
    ck_assert_uint_gt(fail_each_allocation(draft, &t), MANY_OR_FEW(60, 30));
    close_task(&t);
}
END_TEST

START_TEST(a_refinement)
{
    static const bc_zone zone[] = {{0.0, 0.0, 1.0, false}, {4.0, 0.4, 0.92, false}, {8.0, 0.9, 0.62, false}};
    task t;
    open_task(&t);
    if (_i == 1) {
        t.p.design.zones = 3;
        t.p.design.zone = zone;
    }
    ck_assert_uint_gt(fail_each_allocation(refine, &t), 20);
    close_task(&t);
}
END_TEST

START_TEST(a_proof)
{
    task t;
    open_task(&t);
    ck_assert_uint_gt(fail_each_allocation(prove, &t), 20);
    close_task(&t);
}
END_TEST

START_TEST(a_crossing)
{
    task t;
    open_task(&t);
    ck_assert_uint_gt(fail_each_allocation(cross, &t), MANY_OR_FEW(50, 20));
    close_task(&t);
}
END_TEST

Suite *memory_suite(void)
{
    Suite *suite = suite_create("memory");
    TCase *tcase = tcase_create("all");
    tcase_set_timeout(tcase, 120.0);
    tcase_add_loop_test(tcase, a_draft, 0, 2);
    tcase_add_loop_test(tcase, a_refinement, 0, 2);
    tcase_add_test(tcase, a_proof);
    tcase_add_test(tcase, a_crossing);
    suite_add_tcase(suite, tcase);
    return suite;
}
