/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A short search that begins with designs at hand: it goes as far as there is something to be had. */
#include "problem.h"
#include "rough.h"
#include <math.h>

#define LAYERS 3

static bool count(void *context, double fraction, double limit_used)
{
    size_t *calls = context;
    (void)fraction;
    (void)limit_used;
    ++*calls;
    return true;
}

/* The best design of a search for `aim`, from one that is far from it; how often it told of its progress is how much
 * was searched. */
static double search(problem *p, bc_rough_aim aim, size_t *calls)
{
    bc_layer layer[1] = {{p->material[1], 20.0, false}};
    const bc_stack start = {.layers = 1, .layer = layer, .incident = p->design.incident, .substrate = p->substrate[0]};
    const bc_stack *seed = &start;
    const bc_draft_options options = {
        .seed = 1, .effort = 0.001, .threads = 1, .progress = count, .progress_context = calls};
    double used = INFINITY;
    bc_rough found;
    bc_error error;
    *calls = 0;
    p->design.max_layers = LAYERS;
    ck_assert_msg(bc_draft_rough(&p->design, &options, 1, &seed, &aim, &found, &error) == BC_OK, "%s", error.message);
    for (size_t i = 0; i < found.count; i++) {
        bc_check_result check;
        ck_assert_int_eq(bc_problem_check(&p->design, &found.stack[i], &check, NULL), BC_OK);
        used = fmin(used, check.limit_used);
        bc_check_result_clear(&check);
    }
    bc_rough_clear(&found);
    return used;
}

START_TEST(a_search_ends_where_what_is_wanted_is_out_of_reach)
{
    problem p;
    size_t all, none, some, enough;
    double best, seeds;
    problem_open(&p, "1.52", "1.38,2.1");
    problem_add(&p, 0.01, 450.0, 650.0, 0.0);
    best = search(&p, (bc_rough_aim){INFINITY, true}, &all);
    seeds = search(&p, (bc_rough_aim){1e-3, true}, &none);
    ck_assert_double_lt(best, seeds); /* there was something to be found, */
    ck_assert_uint_lt(none, all);     /* and it was not looked for; */
    /* but where seeds tell nothing the first number of layers is looked at, */
    search(&p, (bc_rough_aim){1e-3, false}, &some);
    ck_assert_uint_gt(some, none);
    ck_assert_uint_lt(some, all);
    /* and what is within reach is found. */
    ck_assert_double_eq(search(&p, (bc_rough_aim){seeds, true}, &enough), best);
    ck_assert_uint_eq(enough, all);
    problem_close(&p);
}
END_TEST

Suite *rough_suite(void)
{
    Suite *suite = suite_create("rough");
    TCase *tests = tcase_create("rough");
    tcase_add_test(tests, a_search_ends_where_what_is_wanted_is_out_of_reach);
    suite_add_tcase(suite, tests);
    return suite;
}
