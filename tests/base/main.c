/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The ground floor: memory in one piece, how a function says that it failed, jobs on several threads.
 */
#include "../run_suites.h"
#include "suites.h"

int main(void)
{
    Suite *suite = suite_create("base");
    SRunner *runner;
    suite_add_tcase(suite, arena_case());
    suite_add_tcase(suite, error_case());
    suite_add_tcase(suite, jobs_case());
    suite_add_tcase(suite, words_case());
    runner = srunner_create(suite);
    return run_suites(runner);
}
