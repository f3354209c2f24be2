/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * One step of the minimax, part by part: what it solves are the derivatives of the barrier function, by differences,
 * and the multipliers are Newton's (Nocedal and Wright, Numerical Optimization, ch. 19.3). The file itself is included,
 * for its parts are its own.
 */
#include "minimax.c"
#include "problem.h"
#include <stdlib.h>

#define LAYERS 4
#define FIXED  1 /* this layer does not move */
#define MOVING 3

typedef struct newton {
    problem p;
    bc_merit *merit;
    bc_optimizer *o;
    bc_recipe recipe;
    iterate at;
} newton;

/* Somewhere inside, with multipliers off the central path; loop: without and with a bound on the total. */
static void open_newton(newton *n, bool bounded)
{
    static const double start[LAYERS] = {100.0, 130.0, 35.0, 20.0};
    const bc_limits limits = {8.0, bounded ? 300.0 : INFINITY, INFINITY};
    problem_open(&n->p, "1.52", "1.38,2.10");
    problem_add(&n->p, 0.005, 420.0, 680.0, 0.0);
    problem_add(&n->p, 0.003, 420.0, 680.0, 30.0)->statistic = BC_AVERAGE;
    ck_assert_int_eq(bc_merit_alloc(&n->p.design, BC_DENSITY_SEARCH, LAYERS, BC_NO_FRINGES, &n->merit, NULL), BC_OK);
    ck_assert_int_eq(bc_optimizer_alloc(LAYERS, bc_merit_constraints(n->merit), &n->o, NULL), BC_OK);
    ck_assert_int_eq(bc_recipe_alloc(LAYERS, &n->recipe, NULL), BC_OK);
    for (size_t j = 0; j < LAYERS; j++)
        bc_recipe_insert(&n->recipe, j, (unsigned)(j % 2), start[j]);
    n->recipe.fixed[FIXED] = true;
    bc_optimizer_choose(n->o, &limits, &n->recipe);
    n->at = (iterate){.x = n->o->x, .y = n->o->y, .z = n->o->z};
    start_iterate(n->o, n->merit, &n->recipe, &n->at);
    for (size_t c = 0; c < n->o->constraints; c++)
        n->at.z[c] *= 1.0 + 0.3 * sin((double)c);
    n->at.y[1] *= 1.4;
    n->at.total *= 0.8;
    n->at.t *= 1.05;
}

static void close_newton(newton *n)
{
    bc_recipe_clear(&n->recipe);
    bc_optimizer_free(n->o);
    bc_merit_free(n->merit);
    problem_close(&n->p);
}

/* The barrier from its definition, at x + step along, t + step dt. */
static double barrier_at(newton *n, const double *along, double dt, double step)
{
    const bool bounded = isfinite(n->o->limits.most_nm);
    double x[MOVING], sum = 0.0, t = n->at.t + step * dt, total = n->o->fixed_nm;
    for (size_t j = 0; j < MOVING; j++) {
        x[j] = n->at.x[j] + step * along[j];
        total += x[j];
        sum += log(x[j] - n->o->limits.lower_nm);
    }
    evaluate(n->o, n->merit, &n->recipe, x, false);
    for (size_t c = 0; c < n->o->constraints; c++)
        sum += log(t - bc_merit_u(n->merit)[c]);
    if (bounded)
        sum += log(n->o->limits.most_nm - total);
    ck_assert_double_eq_tol(barrier(n->o, n->merit, x, t, n->at.mu), t - n->at.mu * sum, 1e-9 * fabs(t));
    return t - n->at.mu * sum;
}

static double difference(newton *n, const double *along, double dt)
{
    const double step = 1e-4;
    const double slope = (barrier_at(n, along, dt, step) - barrier_at(n, along, dt, -step)) / (2.0 * step);
    evaluate(n->o, n->merit, &n->recipe, n->at.x, true);
    return slope;
}

START_TEST(the_right_hand_side_is_the_steepest_descent_of_the_barrier)
{
    newton n;
    open_newton(&n, _i == 1);
    assemble(n.o, n.merit, &n.at);
    for (size_t j = 0; j <= MOVING; j++) {
        double along[MOVING] = {0.0}, slope;
        if (j < MOVING)
            along[j] = 1.0;
        slope = difference(&n, along, j == MOVING ? 1.0 : 0.0);
        ck_assert_double_gt(fabs(slope), 1e-6);
        ck_assert_double_eq_tol(n.o->rhs[j], -slope, 1e-5 * fabs(slope) + 1e-8);
    }
    close_newton(&n);
}
END_TEST

START_TEST(the_slope_along_a_step_is_that_of_the_barrier)
{
    const double step[MOVING + 1] = {0.7, -0.4, 0.2, 0.05};
    newton n;
    double slope;
    open_newton(&n, _i == 1);
    assemble(n.o, n.merit, &n.at);
    slope = difference(&n, step, step[MOVING]);
    memcpy(n.o->rhs, step, sizeof step);
    ck_assert_double_eq_tol(slope_along(n.o, &n.at), slope, 1e-5 * fabs(slope));
    close_newton(&n);
}
END_TEST

START_TEST(the_barrier_is_infinite_outside)
{
    newton n;
    open_newton(&n, false);
    ck_assert(isinf(barrier(n.o, n.merit, n.at.x, bc_merit_largest(n.merit), n.at.mu)));
    ck_assert(isfinite(barrier(n.o, n.merit, n.at.x, 1.0001 * bc_merit_largest(n.merit), n.at.mu)));
    close_newton(&n);
}
END_TEST

/* The matrix, term by term: Gauss-Newton's of sum(z u), every constraint's z / slack, the bounds', the damping. */
START_TEST(the_matrix_has_all_its_terms)
{
    double block[(MOVING + 1) * (MOVING + 1)], largest = 0.0;
    const bool bounded = _i % 2 == 1;
    newton n;
    open_newton(&n, bounded);
    n.at.damping = _i < 2 ? 0.0 : 0.5;
    bc_optimizer_hessian(n.o, n.merit, n.at.z);
    memcpy(block, n.o->system, sizeof block);
    for (size_t j = 0; j < MOVING; j++)
        largest = fmax(largest, block[j * (MOVING + 1) + j]);
    for (size_t j = 0; j < MOVING; j++) {
        block[j * (MOVING + 1) + j] += n.at.y[j] / (n.at.x[j] - 8.0) + n.at.damping * largest;
        for (size_t k = 0; bounded && k < MOVING; k++)
            block[j * (MOVING + 1) + k] += n.at.total / room_for_total(n.o, n.at.x);
    }
    for (size_t c = 0; c < n.o->constraints; c++) {
        const double ratio = n.at.z[c] / (n.at.t - bc_merit_u(n.merit)[c]);
        double row[MOVING + 1];
        for (size_t j = 0; j < MOVING; j++)
            row[j] = bc_merit_slope(n.merit, n.o->layer[j])[c];
        row[MOVING] = -1.0;
        for (size_t j = 0; j <= MOVING; j++)
            for (size_t k = 0; k <= MOVING; k++)
                block[j * (MOVING + 1) + k] += ratio * row[j] * row[k];
    }
    assemble(n.o, n.merit, &n.at);
    for (size_t i = 0; i < (MOVING + 1) * (MOVING + 1); i++)
        ck_assert_double_eq_tol(n.o->system[i], block[i], 1e-7 * fabs(block[i]) + 1e-9);
    close_newton(&n);
}
END_TEST

/* Newton's equation of a multiplier, z slack + dz slack + z dslack = mu, and the same for the bounds: as far as all
 * stay positive, else the share of the way that leaves half a percent. */
START_TEST(multipliers_follow_newton)
{
    const bool bounded = _i % 2 == 1;
    const double scale = _i < 2 ? 1e-3 : 1.0;
    double *z, y[MOVING], total, sum = 0.0, share = 1.0;
    newton n;
    open_newton(&n, bounded);
    n.at.mu *= _i < 2 ? 1.0 : 0.01;
    assemble(n.o, n.merit, &n.at);
    ck_assert(solve(n.o));
    for (size_t j = 0; j <= MOVING; j++)
        n.o->rhs[j] *= scale;
    z = malloc(n.o->constraints * sizeof *z);
    memcpy(z, n.at.z, n.o->constraints * sizeof *z);
    memcpy(y, n.at.y, sizeof y);
    total = n.at.total;
    step_multipliers(n.o, n.merit, &n.at);
    for (int pass = 0; pass < 2; pass++)
        for (size_t c = 0; c < n.o->constraints; c++) {
            const double slack = n.at.t - bc_merit_u(n.merit)[c];
            double move = n.o->rhs[MOVING], dz;
            for (size_t j = 0; j < MOVING; j++)
                move -= bc_merit_slope(n.merit, n.o->layer[j])[c] * n.o->rhs[j];
            dz = (n.at.mu - z[c] * slack - z[c] * move) / slack;
            if (pass == 0 && dz < 0.0)
                share = fmin(share, 0.995 * z[c] / -dz);
            else if (pass == 1)
                ck_assert_double_eq_tol(n.at.z[c], z[c] + share * dz, 1e-7 * z[c]);
        }
    for (size_t j = 0; j < MOVING; j++) {
        const double bound = n.at.x[j] - n.o->limits.lower_nm;
        const double dy = (n.at.mu - y[j] * bound - y[j] * n.o->rhs[j]) / bound;
        ck_assert_double_eq_tol(n.at.y[j], fmax(y[j] + dy, 0.005 * y[j]), 1e-9 * y[j]);
        sum += n.o->rhs[j];
    }
    if (bounded) {
        const double room = room_for_total(n.o, n.at.x);
        const double move = (n.at.mu - total * room + total * sum) / room;
        ck_assert_double_eq_tol(n.at.total, fmax(total + move, 0.005 * total), 1e-9 * total);
    }
    free(z);
    close_newton(&n);
}
END_TEST

/* A step ends 99.5 % of the way to the first bound in its way, and is whole where there is none. */
START_TEST(steps_end_before_the_bounds)
{
    newton n;
    double inside[MOVING + 1] = {0.5, -0.7, 0.5, 0.0}, thin[MOVING + 1] = {1.0, -1.0, -54.0, 0.0},
                           thick[MOVING + 1] = {50.0, 10.0, -1.0, 0.0};
    open_newton(&n, _i == 1);
    memcpy(n.o->rhs, inside, sizeof inside);
    ck_assert_double_eq(longest_step(n.o, &n.at), 1.0);
    n.o->limits.step_nm = 0.8;
    ck_assert_double_eq(longest_step(n.o, &n.at), 1.0);
    n.o->limits.step_nm = INFINITY;
    memcpy(n.o->rhs, thin, sizeof thin);
    ck_assert_double_eq_tol(longest_step(n.o, &n.at), 0.995 * (n.at.x[2] - 8.0) / 54.0, 1e-12);
    n.o->limits.step_nm = 2.7;
    ck_assert_double_eq_tol(longest_step(n.o, &n.at), 0.05, 1e-12);
    n.o->limits.step_nm = INFINITY;
    memcpy(n.o->rhs, thick, sizeof thick);
    ck_assert_double_eq_tol(longest_step(n.o, &n.at), _i == 0 ? 1.0 : 0.995 * (300.0 - 285.0) / 59.0, 1e-12);
    close_newton(&n);
}
END_TEST

/* mu / slack each, t above all u, and the gap what is between the multipliers and the slacks. */
START_TEST(the_start_is_on_the_central_path)
{
    newton n;
    double gap = 0.0, sum = 0.0;
    open_newton(&n, _i == 1);
    start_iterate(n.o, n.merit, &n.recipe, &n.at);
    ck_assert_double_gt(n.at.t, bc_merit_largest(n.merit));
    for (size_t c = 0; c < n.o->constraints; c++) {
        const double slack = n.at.t - bc_merit_u(n.merit)[c];
        ck_assert_double_eq_tol(n.at.z[c] * slack, n.at.mu, 1e-12 * n.at.mu);
        sum += n.at.z[c];
        gap += n.at.mu;
    }
    ck_assert_double_eq_tol(sum, 1.0, 1e-12);
    for (size_t j = 0; j < MOVING; j++) {
        ck_assert_double_eq_tol(n.at.y[j] * (n.at.x[j] - 8.0), n.at.mu, 1e-12 * n.at.mu);
        gap += n.at.mu;
    }
    if (_i == 1) {
        ck_assert_double_eq_tol(n.at.total * (300.0 - 285.0), n.at.mu, 1e-9 * n.at.mu);
        gap += n.at.mu;
    } else {
        ck_assert_double_eq(n.at.total, 0.0);
    }
    ck_assert_double_eq_tol(complementarity(n.o, n.merit, &n.at), gap, 1e-9 * gap);
    close_newton(&n);
}
END_TEST

/* Where layers start on their bounds, or beyond the total, they are put inside. */
START_TEST(a_start_on_the_bounds_is_put_inside)
{
    newton n;
    double sum = 0.0;
    open_newton(&n, true);
    n.recipe.thickness_nm[0] = 170.0;
    n.recipe.thickness_nm[3] = 8.0;
    start_iterate(n.o, n.merit, &n.recipe, &n.at);
    for (size_t j = 0; j < MOVING; j++) {
        ck_assert_double_gt(n.at.x[j], 8.0);
        sum += n.at.x[j] - 8.0;
    }
    ck_assert_double_eq_tol(sum, 0.99 * (300.0 - 130.0 - 24.0), 1e-9);
    close_newton(&n);
}
END_TEST

/* No farther from mu / slack than 1e8 times, either way. */
START_TEST(multipliers_stay_near_the_central_path)
{
    newton n;
    open_newton(&n, true);
    for (size_t c = 0; c < n.o->constraints; c++)
        n.at.z[c] *= c % 3 == 0 ? 1e12 : c % 3 == 1 ? 1e-12 : 1.0;
    n.at.y[0] *= 1e12;
    n.at.y[1] *= 1e-12;
    n.at.total *= 1e12;
    keep_multipliers_near(n.o, n.merit, &n.at);
    for (size_t c = 0; c < n.o->constraints; c++) {
        const double central = n.at.mu / (n.at.t - bc_merit_u(n.merit)[c]), share = n.at.z[c] / central;
        if (c % 3 == 2)
            ck_assert(share > 0.5 && share < 2.0); /* as it was */
        else
            ck_assert_double_eq_tol(share, c % 3 == 0 ? 1e8 : 1e-8, 1e-6 * share);
    }
    ck_assert_double_eq_tol(n.at.y[0], 1e8 * n.at.mu / (n.at.x[0] - 8.0), 1e-6 * n.at.y[0]);
    ck_assert_double_eq_tol(n.at.y[1], 1e-8 * n.at.mu / (n.at.x[1] - 8.0), 1e-6 * n.at.y[1]);
    ck_assert_double_eq_tol(n.at.total, 1e8 * n.at.mu / room_for_total(n.o, n.at.x), 1e-6 * n.at.total);
    close_newton(&n);
}
END_TEST

Suite *newton_suite(void)
{
    Suite *suite = suite_create("one step of the minimax");
    TCase *tests = tcase_create("all");
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(tests, the_right_hand_side_is_the_steepest_descent_of_the_barrier, 0, 2);
    tcase_add_loop_test(tests, the_slope_along_a_step_is_that_of_the_barrier, 0, 2);
    tcase_add_test(tests, the_barrier_is_infinite_outside);
    tcase_add_loop_test(tests, the_matrix_has_all_its_terms, 0, 4);
    tcase_add_loop_test(tests, multipliers_follow_newton, 0, 4);
    tcase_add_loop_test(tests, steps_end_before_the_bounds, 0, 2);
    tcase_add_loop_test(tests, the_start_is_on_the_central_path, 0, 2);
    tcase_add_test(tests, a_start_on_the_bounds_is_put_inside);
    tcase_add_test(tests, multipliers_stay_near_the_central_path);
    suite_add_tcase(suite, tests);
    return suite;
}
