/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The ground floor: memory in one piece, how a function says that it failed, jobs on several threads.
 */
#include "suites.h"
#include <stdlib.h>

int main(void)
{
    Suite *suite = suite_create("base");
    SRunner *runner;
    int failed;
    suite_add_tcase(suite, arena_case());
    suite_add_tcase(suite, error_case());
    suite_add_tcase(suite, jobs_case());
    suite_add_tcase(suite, words_case());
    runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
