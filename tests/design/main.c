/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "../run_suites.h"
#include "problem.h"

int main(void)
{
    SRunner *runner = srunner_create(recipe_suite());
    srunner_add_suite(runner, merit_suite());
    srunner_add_suite(runner, near_suite());
    srunner_add_suite(runner, rows_suite());
    srunner_add_suite(runner, newton_suite());
    srunner_add_suite(runner, minimax_suite());
    srunner_add_suite(runner, refine_suite());
    srunner_add_suite(runner, polish_suite());
    srunner_add_suite(runner, draft_suite());
    srunner_add_suite(runner, rough_suite());
    srunner_add_suite(runner, bound_suite());
    srunner_add_suite(runner, zones_suite());
    srunner_add_suite(runner, memory_suite());
    srunner_add_suite(runner, starts_suite());
    srunner_add_suite(runner, exploration_suite());
    srunner_add_suite(runner, crossing_suite());
    srunner_add_suite(runner, proof_suite());
    srunner_add_suite(runner, proof_bounds_suite());
    return run_suites(runner);
}
