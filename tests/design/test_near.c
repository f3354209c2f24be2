/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Evaluations that leave out what does not decide, against evaluations of everything. */
#include "merit.h"
#include "minimax.h"
#include "problem.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LAYERS    4
#define SCENARIOS 9
static const unsigned material[LAYERS] = {0, 1, 0, 1};
static const double thickness_nm[LAYERS] = {95.0, 110.0, 35.0, 18.0};

/* Rows that come near the level and rows that do not, and an average, of which nothing can be left out. */
static void add_rows(problem *p)
{
    problem_add(p, 0.01, 430.0, 670.0, 0.0);
    problem_add(p, 0.02, 430.0, 670.0, 45.0)->polarization = BC_POL_EACH;
    problem_add(p, 0.3, 430.0, 670.0, 20.0);
    problem_add(p, 0.01, 430.0, 670.0, 30.0)->statistic = BC_AVERAGE;
}

/* The design, and each layer too thick and too thin. */
static bc_merit *open_scenarios(const problem *p)
{
    bc_merit *merit;
    ck_assert_int_eq(
        bc_merit_alloc_scenarios(&p->design, BC_DENSITY_SEARCH, LAYERS, BC_NO_FRINGES, SCENARIOS, &merit, NULL), BC_OK);
    for (size_t s = 1; s < SCENARIOS; s++) {
        double error[LAYERS] = {0};
        error[(s - 1) / 2] = s % 2 == 0 ? 0.01 : -0.01;
        bc_merit_set_scenario(merit, s, LAYERS, error, 0, NULL);
    }
    return merit;
}

static void move(double nm, double *moved_nm)
{
    for (size_t j = 0; j < LAYERS; j++)
        moved_nm[j] = thickness_nm[j] + (j % 2 == 0 ? nm : -nm);
}

/* What comes within a fifth of the level is the same to the bit, and what is left out lies below it. */
START_TEST(what_comes_near_the_level_is_exact)
{
    problem p;
    bc_merit *near, *all;
    double moved_nm[LAYERS], level, farthest = 0.0;
    size_t exact = 0;
    problem_open(&p, "1.52", "1.38,2.1");
    add_rows(&p);
    near = open_scenarios(&p);
    all = open_scenarios(&p);
    bc_merit_evaluate(all, LAYERS, material, thickness_nm, false);
    level = 1.1 * bc_merit_largest(all);
    bc_merit_evaluate_near(near, LAYERS, material, thickness_nm, true, level);
    ck_assert(!bc_merit_is_near(near));
    move(0.4, moved_nm);
    bc_merit_evaluate_near(near, LAYERS, material, moved_nm, true, level);
    ck_assert(bc_merit_is_near(near));
    bc_merit_evaluate(all, LAYERS, material, moved_nm, true);
    for (size_t c = 0; c < bc_merit_constraints(all); c++) {
        const double u = bc_merit_u(all)[c], apart = fabs(bc_merit_u(near)[c] - u);
        farthest = fmax(farthest, apart);
        if (u >= 0.8 * level)
            ck_assert_double_eq(apart, 0.0);
        for (size_t j = 0; apart == 0.0 && u >= 0.8 * level && j < LAYERS; j++)
            ck_assert_double_eq(bc_merit_slope(near, j)[c], bc_merit_slope(all, j)[c]);
        exact += apart == 0.0;
        ck_assert_double_lt(apart, 0.02 * level);
    }
    ck_assert_double_gt(farthest, 0.0);
    ck_assert_uint_lt(exact, bc_merit_constraints(all) / 2);
    bc_merit_free(near);
    bc_merit_free(all);
    problem_close(&p);
}
END_TEST

/* Where u curves away from its slopes, under a level that falls, and with other errors nothing is left out. */
START_TEST(nothing_is_left_out_where_slopes_do_not_tell)
{
    const double error[LAYERS] = {0.02, 0.02, 0.02, 0.02};
    problem p;
    bc_merit *near, *all;
    double moved_nm[LAYERS], level;
    problem_open(&p, "1.52", "1.38,2.1");
    add_rows(&p);
    near = open_scenarios(&p);
    all = open_scenarios(&p);
    bc_merit_evaluate(all, LAYERS, material, thickness_nm, false);
    level = 1.1 * bc_merit_largest(all);
    for (int way = 0; way < 3; way++) {
        bc_merit_evaluate(near, LAYERS, material, thickness_nm, true);
        bc_merit_evaluate_near(near, LAYERS, material, thickness_nm, true, level);
        move(way == 0 ? 4.0 : 0.1, moved_nm);
        for (int m = 0; way == 2 && m < 2; m++)
            bc_merit_set_scenario(m == 0 ? near : all, 1, LAYERS, error, 0, NULL);
        bc_merit_evaluate_near(near, LAYERS, material, moved_nm, true, way == 1 ? 0.3 * level : level);
        ck_assert(!bc_merit_is_near(near));
        bc_merit_evaluate(all, LAYERS, material, moved_nm, true);
        ck_assert(memcmp(bc_merit_u(near), bc_merit_u(all), bc_merit_constraints(all) * sizeof(double)) == 0);
    }
    bc_merit_free(near);
    bc_merit_free(all);
    problem_close(&p);
}
END_TEST

/* A descent says what all samples use at its end, and no lower place is near: it is where everything was looked at. */
START_TEST(a_descent_ends_with_all_samples)
{
    const bc_limits limits = {5.0, INFINITY, INFINITY};
    problem p;
    bc_merit *merit, *all;
    bc_optimizer *optimizer;
    bc_recipe recipe = {0};
    problem_open(&p, "1.52", "1.38,2.1");
    add_rows(&p);
    merit = open_scenarios(&p);
    all = open_scenarios(&p);
    ck_assert_int_eq(bc_optimizer_alloc(LAYERS, bc_merit_constraints(merit), &optimizer, NULL), BC_OK);
    ck_assert_int_eq(bc_recipe_alloc(LAYERS, &recipe, NULL), BC_OK);
    recipe.layers = LAYERS;
    for (size_t j = 0; j < LAYERS; j++) {
        recipe.material[j] = material[j];
        recipe.fixed[j] = false;
    }
    for (unsigned steps = 1; steps <= 200; steps = steps < 50 ? steps + 1 : 200 + (steps == 200)) {
        for (size_t j = 0; j < LAYERS; j++)
            recipe.thickness_nm[j] = thickness_nm[j];
        ck_assert(bc_minimax(optimizer, merit, &limits, &recipe, steps, 1e-6) == BC_STOP_CONVERGED || steps < 200);
        ck_assert(!bc_merit_is_near(merit));
        bc_merit_evaluate(all, LAYERS, material, recipe.thickness_nm, false);
        ck_assert_double_eq(recipe.limit_used, bc_merit_largest(all));
    }
    for (int way = 0; way < 1 << LAYERS; way++) {
        double moved_nm[LAYERS];
        for (size_t j = 0; j < LAYERS; j++)
            moved_nm[j] = recipe.thickness_nm[j] + (way >> j & 1 ? 0.5 : -0.5);
        bc_merit_evaluate(all, LAYERS, material, moved_nm, false);
        ck_assert_double_gt(bc_merit_largest(all), recipe.limit_used);
    }
    bc_recipe_clear(&recipe);
    bc_optimizer_free(optimizer);
    bc_merit_free(merit);
    bc_merit_free(all);
    problem_close(&p);
}
END_TEST

Suite *near_suite(void)
{
    Suite *suite = suite_create("near");
    TCase *tests = tcase_create("near");
    tcase_add_test(tests, what_comes_near_the_level_is_exact);
    tcase_add_test(tests, nothing_is_left_out_where_slopes_do_not_tell);
    tcase_add_test(tests, a_descent_ends_with_all_samples);
    suite_add_tcase(suite, tests);
    return suite;
}
