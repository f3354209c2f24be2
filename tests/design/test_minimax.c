/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "minimax.h"
#include "problem.h"
#include <math.h>

typedef struct bench {
    problem p;
    bc_merit *merit;
    bc_optimizer *optimizer;
    bc_recipe recipe;
} bench;

static void open_bench(bench *b, const char *layers, size_t count, const double *start)
{
    problem_open(&b->p, "1.52", layers);
    problem_add(&b->p, 0.005, 420.0, 680.0, 0.0);
    problem_add(&b->p, 0.003, 420.0, 680.0, 0.0)->statistic = BC_AVERAGE;
    ck_assert_int_eq(bc_merit_alloc(&b->p.design, BC_DENSITY_SEARCH, count, BC_NO_FRINGES, &b->merit, NULL), BC_OK);
    ck_assert_int_eq(bc_optimizer_alloc(count, bc_merit_constraints(b->merit), &b->optimizer, NULL), BC_OK);
    ck_assert_int_eq(bc_recipe_alloc(count + 2, &b->recipe, NULL), BC_OK);
    for (size_t j = 0; j < count; j++)
        bc_recipe_insert(&b->recipe, j, (unsigned)(j % b->p.design.materials), start[j]);
}

static void close_bench(bench *b)
{
    bc_recipe_clear(&b->recipe);
    bc_optimizer_free(b->optimizer);
    bc_merit_free(b->merit);
    problem_close(&b->p);
}

/* One layer, one variable: the minimax must be the lowest point of a fine scan. */
START_TEST(one_layer_reaches_the_lowest_point_of_a_scan)
{
    const bc_limits limits = {0.0, INFINITY, INFINITY};
    double lowest = INFINITY;
    bench b;
    open_bench(&b, "1.38", 1, (double[]){60.0});
    for (double d = 50.0; d < 150.0; d += 0.01) {
        bc_merit_evaluate(b.merit, 1, b.recipe.material, &d, false);
        lowest = fmin(lowest, bc_merit_largest(b.merit));
    }
    ck_assert_int_eq(bc_minimax(b.optimizer, b.merit, &limits, &b.recipe, 100, 1e-7), BC_STOP_CONVERGED);
    ck_assert_double_le(b.recipe.limit_used, lowest * (1.0 + 1e-6));
    ck_assert_double_ge(b.recipe.limit_used, lowest * (1.0 - 1e-4)); /* the scan's own step */
    close_bench(&b);
}
END_TEST

/* At a minimax optimum the multipliers add up to 1 and balance the slopes: sum z du = 0 for every layer that is not on
 * a bound (Nocedal and Wright, Numerical Optimization, ch. 12). */
START_TEST(multipliers_balance_the_slopes)
{
    const bc_limits limits = {0.0, INFINITY, INFINITY};
    const double *z;
    double total = 0.0;
    bench b;
    open_bench(&b, "1.38,2.10", 4, (double[]){100.0, 130.0, 35.0, 20.0});
    ck_assert_int_eq(bc_minimax(b.optimizer, b.merit, &limits, &b.recipe, 200, 1e-8), BC_STOP_CONVERGED);
    z = bc_minimax_multipliers(b.optimizer);
    for (size_t c = 0; c < bc_merit_constraints(b.merit); c++)
        total += z[c];
    ck_assert_double_eq_tol(total, 1.0, 1e-3);
    for (size_t j = 0; j < 4; j++) {
        double balance = 0.0, size = 0.0;
        for (size_t c = 0; c < bc_merit_constraints(b.merit); c++) {
            balance += z[c] * bc_merit_slope(b.merit, j)[c];
            size += z[c] * fabs(bc_merit_slope(b.merit, j)[c]);
        }
        ck_assert_double_le(fabs(balance), 1e-3 * size);
    }
    close_bench(&b);
}
END_TEST

START_TEST(limits_hold_and_a_layer_wanting_to_vanish_rests_on_its_bound)
{
    const bc_limits limits = {12.0, 260.0, INFINITY};
    bench b;
    open_bench(&b, "1.38,2.10", 4, (double[]){100.0, 130.0, 35.0, 20.0});
    bc_minimax(b.optimizer, b.merit, &limits, &b.recipe, 200, 1e-6);
    ck_assert_double_le(bc_recipe_total_nm(&b.recipe), 260.0);
    for (size_t j = 0; j < 4; j++)
        ck_assert_double_ge(b.recipe.thickness_nm[j], 12.0);
    close_bench(&b);
}
END_TEST

START_TEST(fixed_layers_stay)
{
    const bc_limits limits = {0.0, INFINITY, INFINITY};
    bench b;
    open_bench(&b, "1.38,2.10", 4, (double[]){100.0, 130.0, 35.0, 20.0});
    b.recipe.fixed[1] = b.recipe.fixed[3] = true;
    bc_least_squares(b.optimizer, b.merit, &limits, &b.recipe, 20);
    bc_minimax(b.optimizer, b.merit, &limits, &b.recipe, 200, 1e-6);
    ck_assert_double_eq(b.recipe.thickness_nm[1], 130.0);
    ck_assert_double_eq(b.recipe.thickness_nm[3], 20.0);
    ck_assert_double_ne(b.recipe.thickness_nm[0], 100.0);
    close_bench(&b);
}
END_TEST

START_TEST(least_squares_lowers_the_sum)
{
    const bc_limits limits = {0.0, INFINITY, INFINITY};
    double before = 0.0, after = 0.0;
    bench b;
    open_bench(&b, "1.38,2.10", 4, (double[]){140.0, 40.0, 80.0, 5.0});
    bc_merit_evaluate(b.merit, 4, b.recipe.material, b.recipe.thickness_nm, false);
    for (size_t c = 0; c < bc_merit_constraints(b.merit); c++)
        before += bc_merit_u(b.merit)[c];
    bc_least_squares(b.optimizer, b.merit, &limits, &b.recipe, 50);
    bc_merit_evaluate(b.merit, 4, b.recipe.material, b.recipe.thickness_nm, false);
    for (size_t c = 0; c < bc_merit_constraints(b.merit); c++)
        after += bc_merit_u(b.merit)[c];
    ck_assert_double_lt(after, 0.2 * before);
    close_bench(&b);
}
END_TEST

/* Of both ways down, where the model would go farther. */
START_TEST(no_layer_moves_farther_in_one_step)
{
    const double start[4] = {140.0, 40.0, 80.0, 5.0}, step_nm = 3.0;
    const bc_limits limits = {0.0, INFINITY, step_nm};
    double before, farthest = 0.0;
    bench b;
    open_bench(&b, "1.38,2.10", 4, start);
    bc_merit_evaluate(b.merit, 4, b.recipe.material, b.recipe.thickness_nm, false);
    before = bc_merit_largest(b.merit);
    if (_i == 0)
        bc_minimax(b.optimizer, b.merit, &limits, &b.recipe, 1, 1e-6);
    else
        bc_least_squares(b.optimizer, b.merit, &limits, &b.recipe, 1);
    for (size_t j = 0; j < 4; j++)
        farthest = fmax(farthest, fabs(b.recipe.thickness_nm[j] - start[j]));
    ck_assert_double_le(farthest, step_nm * (1.0 + 1e-12));
    bc_merit_evaluate(b.merit, 4, b.recipe.material, b.recipe.thickness_nm, false);
    ck_assert_double_lt(bc_merit_largest(b.merit), before);
    close_bench(&b);
}
END_TEST

/* The best known of this problem, 0.5502 (its source: tests/reference/test_designs.c), by steps of at most 2 nm from
 * layers up to 20 nm away. */
START_TEST(short_steps_arrive_as_well)
{
    const bc_limits limits = {0.0, INFINITY, 2.0};
    bench b;
    open_bench(&b, "1.38,2.10", 4, (double[]){90.0, 113.0, 40.0, 20.0});
    bc_least_squares(b.optimizer, b.merit, &limits, &b.recipe, 30);
    ck_assert_double_gt(fabs(b.recipe.thickness_nm[1] - 113.0), 2.0 * limits.step_nm);
    ck_assert_int_eq(bc_minimax(b.optimizer, b.merit, &limits, &b.recipe, 200, 1e-6), BC_STOP_CONVERGED);
    ck_assert_double_lt(b.recipe.limit_used, 0.5502 * 1.001);
    close_bench(&b);
}
END_TEST

Suite *minimax_suite(void)
{
    Suite *suite = suite_create("minimax");
    TCase *tests = tcase_create("minimax");
    tcase_add_test(tests, one_layer_reaches_the_lowest_point_of_a_scan);
    tcase_add_test(tests, multipliers_balance_the_slopes);
    tcase_add_test(tests, limits_hold_and_a_layer_wanting_to_vanish_rests_on_its_bound);
    tcase_add_test(tests, fixed_layers_stay);
    tcase_add_test(tests, least_squares_lowers_the_sum);
    tcase_add_loop_test(tests, no_layer_moves_farther_in_one_step, 0, 2);
    tcase_add_test(tests, short_steps_arrive_as_well);
    suite_add_tcase(suite, tests);
    return suite;
}
