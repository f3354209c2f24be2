/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "problem.h"
#include <stdlib.h>

int main(void)
{
    SRunner *runner = srunner_create(recipe_suite());
    int failed;
    srunner_add_suite(runner, merit_suite());
    srunner_add_suite(runner, rows_suite());
    srunner_add_suite(runner, newton_suite());
    srunner_add_suite(runner, minimax_suite());
    srunner_add_suite(runner, refine_suite());
    srunner_add_suite(runner, polish_suite());
    srunner_add_suite(runner, draft_suite());
    srunner_add_suite(runner, bound_suite());
    srunner_add_suite(runner, zones_suite());
    srunner_add_suite(runner, memory_suite());
    srunner_add_suite(runner, starts_suite());
    srunner_add_suite(runner, proof_suite());
    srunner_run_all(runner, CK_NORMAL);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
