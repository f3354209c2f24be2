/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Sampling plans against cells of ISO 2859-1's table 2-A (from memory), and against what any of its plans must do.
 */
#include "witness.h"
#include <bloomcoat/acceptance.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>

START_TEST(cells_of_the_table)
{
    static const struct {
        size_t lot;
        double limit;
        char letter;
        size_t sample, accept;
    } cell[] = {{1000, 1.0, 'J', 80, 2},    {1200, 2.5, 'J', 80, 5}, {1201, 1.0, 'K', 125, 3},
                {5000, 0.65, 'L', 200, 3},  {500, 1.0, 'H', 50, 1},  {280, 1.0, 'G', 50, 1},
                {150, 1.0, 'F', 13, 0},     {90, 1.0, 'E', 13, 0},   {500, 0.25, 'H', 50, 0},
                {10000, 4.0, 'L', 200, 14}, {40, 0.65, 'D', 20, 0},  {300000, 4.0, 'P', 315, 21}};
    for (size_t i = 0; i < sizeof cell / sizeof *cell; i++) {
        bc_acceptance_plan plan;
        ck_assert_int_eq(bc_acceptance_plan_for(cell[i].lot, cell[i].limit, &plan, NULL), BC_OK);
        ck_assert_msg(plan.letter == cell[i].letter && plan.sample == cell[i].sample && plan.accept == cell[i].accept,
                      "lot %zu, %g %%: %c, %zu of which %zu", cell[i].lot, cell[i].limit, plan.letter, plan.sample,
                      plan.accept);
    }
}
END_TEST

/* A lot at the limit is nearly always accepted, and a worse one less often. */
START_TEST(what_a_plan_does)
{
    static const double limits[] = {0.10, 0.15, 0.25, 0.40, 0.65, 1.0, 1.5, 2.5, 4.0};
    for (size_t i = 0; i < 9; i++)
        for (size_t lot = 2; lot <= 500000; lot = lot * 3 / 2 + 1) {
            bc_acceptance_plan plan;
            ck_assert_int_eq(bc_acceptance_plan_for(lot, limits[i], &plan, NULL), BC_OK);
            ck_assert(plan.sample <= lot && plan.every == (plan.sample == lot));
            /* of a series of lots, by the binomial distribution */
            const double series = gsl_cdf_binomial_P((unsigned)plan.accept, limits[i] / 100.0, (unsigned)plan.sample);
            ck_assert_msg(plan.every || series > 0.86, "lot %zu, %g %%: %g", lot, limits[i], series);
            ck_assert_double_gt(plan.accepted_one_in_ten, limits[i] / 100.0);
            ck_assert(bc_acceptance_chance(&plan, lot / 2) >= bc_acceptance_chance(&plan, lot / 2 + 1));
        }
}
END_TEST

/* Of a lot of so many, as many failing as the limit says, a sample drawn without putting back: the hypergeometric
 * distribution (Feller, An Introduction to Probability Theory, vol. 1, II.6; from memory), counted out. */
START_TEST(a_lot_at_the_limit)
{
    static const struct {
        size_t lot, failing;
        double limit;
    } row[] = {{1000, 10, 1.0}, {1000, 7, 0.65}, {280, 7, 2.5}, {90, 1, 1.0}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        bc_acceptance_plan plan;
        double chance = 0.0;
        ck_assert_int_eq(bc_acceptance_plan_for(row[i].lot, row[i].limit, &plan, NULL), BC_OK);
        for (unsigned k = 0; k <= plan.accept; k++)
            chance += gsl_ran_hypergeometric_pdf(k, (unsigned)row[i].failing, (unsigned)(row[i].lot - row[i].failing),
                                                 (unsigned)plan.sample);
        ck_assert_double_eq_tol(plan.accepted_at_limit, chance, 1e-10);
    }
}
END_TEST

START_TEST(what_is_refused)
{
    bc_acceptance_plan plan;
    ck_assert_int_eq(bc_acceptance_plan_for(100, 0.7, &plan, NULL), BC_ERROR_INPUT);
    ck_assert_int_eq(bc_acceptance_plan_for(100, 6.5, &plan, NULL), BC_ERROR_INPUT);
    ck_assert_int_eq(bc_acceptance_plan_for(1, 1.0, &plan, NULL), BC_ERROR_INPUT);
    ck_assert_int_eq(bc_acceptance_plan_for(500001, 1.0, &plan, NULL), BC_ERROR_INPUT);
}
END_TEST

TCase *acceptance_case(void)
{
    TCase *tests = tcase_create("acceptance");
    tcase_add_test(tests, cells_of_the_table);
    tcase_add_test(tests, what_a_plan_does);
    tcase_add_test(tests, a_lot_at_the_limit);
    tcase_add_test(tests, what_is_refused);
    return tests;
}
