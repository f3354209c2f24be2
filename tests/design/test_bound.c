/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "problem.h"

/* A callout no coating meets, so many layers that the search could go on for days, and little work allowed. */
static bc_draft_options hopeless(problem *p)
{
    problem_open(p, "1.52", "1.38,2.10");
    problem_add(p, 0.00001, 420.0, 680.0, 0.0);
    p->design.max_layers = 200;
    return (bc_draft_options){.aim = BC_AIM_FEWEST, .seed = 1, .effort = 0.01, .threads = 1, .most_work = 4e7};
}

static bc_draft_result drafted(const problem *p, const bc_draft_options *options)
{
    bc_draft_result result;
    bc_error error;
    ck_assert_msg(bc_draft(&p->design, options, &result, &error) == BC_OK, "%s", error.message);
    ck_assert_int_eq(result.stop, BC_STOP_BUDGET);
    ck_assert_uint_eq(result.allowed, 200);
    ck_assert_uint_lt(result.looked_at, 200);
    return result;
}

START_TEST(a_search_without_hope_ends_at_its_bound)
{
    problem p;
    bc_draft_options options = hopeless(&p);
    bc_draft_result one = drafted(&p, &options), two, more;
    options.threads = 2;
    two = drafted(&p, &options);
    ck_assert_uint_eq(one.starts, two.starts); /* it is no clock that ends it */
    ck_assert_uint_eq(one.looked_at, two.looked_at);
    ck_assert(one.rung[one.chosen].limit_used == two.rung[two.chosen].limit_used);
    options.most_work *= 4.0;
    more = drafted(&p, &options);
    ck_assert_uint_gt(more.looked_at, one.looked_at);
    bc_draft_result_clear(&one);
    bc_draft_result_clear(&two);
    bc_draft_result_clear(&more);
    problem_close(&p);
}
END_TEST

/* What was there at the beginning is there in the end. */
START_TEST(a_start_is_not_lost_at_the_bound)
{
    problem p;
    bc_stack start;
    bc_draft_options options = hopeless(&p);
    bc_draft_result result;
    ck_assert_int_eq(bc_stack_alloc(30, &start, NULL), BC_OK);
    for (size_t j = 0; j < start.layers; j++)
        start.layer[j] = (bc_layer){p.material[j % 2], 60.0 + 10.0 * (double)(j % 7), false};
    options.start = &start;
    result = drafted(&p, &options);
    ck_assert_uint_gt(result.rungs, 0);
    bc_stack_clear(&start);
    bc_draft_result_clear(&result);
    problem_close(&p);
}
END_TEST

Suite *bound_suite(void)
{
    Suite *suite = suite_create("bound on the work");
    TCase *tests = tcase_create("all");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, a_search_without_hope_ends_at_its_bound);
    tcase_add_test(tests, a_start_is_not_lost_at_the_bound);
    suite_add_tcase(suite, tests);
    return suite;
}
