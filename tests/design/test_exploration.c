/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What all searches found, together. */
#include "exploration.h"
#include "polish.h"
#include "problem.h"
#include <bloomcoat/refine.h>

#define LAYERS 4
#define HALF   2

static const unsigned material[LAYERS] = {0, 1, 0, 1}; /* 1.38 and 2.1, outer layer first */

static bc_recipe recipe_of(const double *nm)
{
    bc_recipe recipe;
    ck_assert_int_eq(bc_recipe_alloc(LAYERS + 1, &recipe, NULL), BC_OK);
    for (size_t j = 0; j < LAYERS; j++)
        bc_recipe_insert(&recipe, j, material[j], nm[j]);
    return recipe;
}

/* As if a search had ended there. */
static void end_at(bc_multistart *multistart, size_t search, const double *nm)
{
    bc_recipe recipe = recipe_of(nm);
    ck_assert_int_eq(bc_judge(multistart->problem, &recipe, &recipe.limit_used, NULL), BC_OK);
    bc_best_offer(&multistart->own[search], &recipe);
    bc_best_offer(&multistart->best, &recipe);
    bc_recipe_clear(&recipe);
}

/* The lowest limit_used after two searches ended at these, and no neighbour was looked at. */
static double explore(const problem *p, bool decides, const double *one, const double *other)
{
    const bc_draft_options options = {.aim = BC_AIM_BEST, .seed = 1, .effort = 0.2, .threads = 1};
    bc_multistart multistart;
    double lowest;
    ck_assert_int_eq(bc_multistart_open(&p->design, &options, &multistart, NULL), BC_OK);
    ck_assert_uint_ge(multistart.searches, 2);
    end_at(&multistart, 0, one);
    end_at(&multistart, 1, other);
    bc_explore_all(&multistart, LAYERS, decides, 0.0, 0.0);
    ck_assert(!multistart.failed);
    lowest = bc_best_limit_used(&multistart.best, LAYERS);
    bc_multistart_close(&multistart);
    return lowest;
}

/* One search has the outer layers of a good design and half waves below, the other has its inner layers. */
START_TEST(ends_are_crossed)
{
    const double good_nm[LAYERS] = {95.0, 118.0, 32.0, 14.0}, half_nm[2] = {200.0, 130.0};
    double one[LAYERS], other[LAYERS], refined;
    bc_refine_result result;
    bc_layer layer[LAYERS];
    bc_stack stack = {.layers = LAYERS, .layer = layer};
    problem p;
    problem_open(&p, "1.52", "1.38,2.1");
    problem_add(&p, 0.005, 420.0, 680.0, 0.0);
    p.design.max_layers = LAYERS;
    stack.incident = p.design.incident;
    stack.substrate = p.substrate[0];
    for (size_t j = 0; j < LAYERS; j++) {
        one[j] = j < HALF ? good_nm[j] : half_nm[j % 2];
        other[j] = j < HALF ? half_nm[j % 2] : good_nm[j];
        layer[j] = (bc_layer){.material = p.material[material[j]], .thickness_nm = good_nm[j]};
    }
    ck_assert_int_eq(bc_refine(&p.design, &stack, &result, NULL), BC_OK);
    refined = result.limit_used;
    ck_assert_double_gt(explore(&p, false, one, other), 2.0 * refined);
    ck_assert_double_le(explore(&p, true, one, other), 1.01 * refined);
    ck_assert_double_le(explore(&p, true, other, one), 1.01 * refined);
    problem_close(&p);
}
END_TEST

Suite *exploration_suite(void)
{
    Suite *suite = suite_create("exploration");
    TCase *tests = tcase_create("exploration");
    tcase_add_test(tests, ends_are_crossed);
    suite_add_tcase(suite, tests);
    return suite;
}
