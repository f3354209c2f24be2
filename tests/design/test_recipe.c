/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "best.h"
#include "moves.h"
#include "problem.h"
#include "recipe.h"
#include <math.h>

static bc_recipe recipe_of(size_t layers, const unsigned *material, const double *thickness_nm)
{
    bc_recipe recipe;
    ck_assert_int_eq(bc_recipe_alloc(8, &recipe, NULL), BC_OK);
    for (size_t j = 0; j < layers; j++)
        bc_recipe_insert(&recipe, j, material[j], thickness_nm[j]);
    return recipe;
}

START_TEST(a_vanished_layer_lets_its_neighbours_join)
{
    bc_recipe recipe = recipe_of(3, (unsigned[]){0, 1, 0}, (double[]){50.0, 0.01, 30.0});
    ck_assert(bc_recipe_tidy(&recipe, 0.1));
    ck_assert_uint_eq(recipe.layers, 1);
    ck_assert_double_eq(recipe.thickness_nm[0], 80.0);
    ck_assert(!bc_recipe_tidy(&recipe, 0.1));
    bc_recipe_clear(&recipe);
}
END_TEST

START_TEST(fixed_layers_are_neither_dropped_nor_joined)
{
    bc_recipe recipe = recipe_of(3, (unsigned[]){0, 0, 1}, (double[]){50.0, 0.01, 30.0});
    recipe.fixed[1] = true;
    ck_assert(!bc_recipe_tidy(&recipe, 0.1));
    ck_assert_uint_eq(recipe.layers, 3);
    bc_recipe_clear(&recipe);
}
END_TEST

static void cross(size_t kept, size_t layers, bool fixed, bc_recipe *recipe)
{
    bc_recipe other = recipe_of(4, (unsigned[]){1, 2, 0, 2}, (double[]){50.0, 60.0, 70.0, 80.0});
    *recipe = recipe_of(4, (unsigned[]){0, 1, 2, 1}, (double[]){10.0, 20.0, 30.0, 40.0});
    other.fixed[3] = fixed;
    bc_cross(&other, kept, layers, recipe);
    bc_recipe_clear(&other);
}

static void check_layers(bc_recipe *recipe, size_t layers, const unsigned *material, const double *thickness_nm)
{
    ck_assert_uint_eq(recipe->layers, layers);
    for (size_t j = 0; j < layers; j++) {
        ck_assert_uint_eq(recipe->material[j], material[j]);
        ck_assert_double_eq(recipe->thickness_nm[j], thickness_nm[j]);
    }
    bc_recipe_clear(recipe);
}

/* Outer layer first: what is kept is on the outside, what is taken lies next to the substrate. */
START_TEST(a_cross_is_outer_layers_upon_inner_ones)
{
    bc_recipe recipe;
    cross(2, 4, false, &recipe);
    check_layers(&recipe, 4, (unsigned[]){0, 1, 0, 2}, (double[]){10.0, 20.0, 70.0, 80.0});
    cross(3, 4, false, &recipe);
    check_layers(&recipe, 3, (unsigned[]){0, 1, 2}, (double[]){10.0, 20.0, 110.0});
    cross(1, 8, false, &recipe);
    check_layers(&recipe, 5, (unsigned[]){0, 1, 2, 0, 2}, (double[]){10.0, 50.0, 60.0, 70.0, 80.0});
    cross(5, 8, false, &recipe);
    check_layers(&recipe, 4, (unsigned[]){0, 1, 2, 1}, (double[]){10.0, 20.0, 30.0, 40.0});
    cross(2, 4, true, &recipe);
    check_layers(&recipe, 4, (unsigned[]){0, 1, 2, 1}, (double[]){10.0, 20.0, 30.0, 40.0});
}
END_TEST

START_TEST(the_best_keeps_the_best_first_and_no_design_twice)
{
    bc_best best;
    bc_recipe recipe = recipe_of(2, (unsigned[]){0, 1}, (double[]){50.0, 60.0});
    ck_assert_int_eq(bc_best_alloc(3, 6, &best, NULL), BC_OK);
    for (int k = 0; k < 20; k++) {
        recipe.thickness_nm[0] = 50.0 + 5.0 * k;
        recipe.limit_used = 1.0 + 0.1 * ((7 * k) % 20);
        bc_best_offer(&best, &recipe);
        bc_best_offer(&best, &recipe);
    }
    ck_assert_uint_eq(best.of[2].count, 6);
    for (size_t e = 0; e < 6; e++)
        ck_assert_double_eq_tol(best.of[2].design[e].limit_used, 1.0 + 0.1 * (double)e, 1e-12);
    ck_assert_double_eq_tol(bc_best_limit_used(&best, 3), 1.0, 1e-12);
    ck_assert(isinf(bc_best_limit_used(&best, 1)));
    bc_best_clear(&best);
    bc_recipe_clear(&recipe);
}
END_TEST

Suite *recipe_suite(void)
{
    Suite *suite = suite_create("recipe");
    TCase *tests = tcase_create("recipe");
    tcase_add_test(tests, a_vanished_layer_lets_its_neighbours_join);
    tcase_add_test(tests, fixed_layers_are_neither_dropped_nor_joined);
    tcase_add_test(tests, a_cross_is_outer_layers_upon_inner_ones);
    tcase_add_test(tests, the_best_keeps_the_best_first_and_no_design_twice);
    suite_add_tcase(suite, tests);
    return suite;
}
