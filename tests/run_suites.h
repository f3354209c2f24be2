/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TESTS_RUN_SUITES_H
#define TESTS_RUN_SUITES_H
#include <check.h>
#include <stdlib.h>

/* Run all that was added and free the runner. Returns the exit code. Under AddressSanitizer nothing is forked: a fork
 * would copy the sanitizer's tables and search for leaks at its end, which takes many times longer than most tests.
 * Suites that change their own process (limits, descriptors) do without. */
static inline int run_suites(SRunner *runner)
{
    int failed;
#ifdef __SANITIZE_ADDRESS__
    srunner_set_fork_status(runner, CK_NOFORK);
#endif
    srunner_run_all(runner, CK_ENV);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

#endif
