/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TESTS_PART_H
#define TESTS_PART_H
/*
 * A part of a suite's program, so that CTest can run the parts side by side (tests/CMakeLists.txt).
 */
#include <check.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>

/* Which of `suites` run: with BC_PART=2/3 the second, the fifth, and so on; without it, all. Returns the exit code. */
static inline int run_part(size_t suites, Suite *(*const suite[])(void))
{
    const char *text = getenv("BC_PART");
    unsigned part = 1, parts = 1;
    SRunner *runner = srunner_create(NULL);
    int failed;
    if (text != NULL && (sscanf(text, "%u/%u", &part, &parts) != 2 || part == 0 || part > parts || parts > suites)) {
        fprintf(stderr, "BC_PART: found '%s'; expected a part of at most %zu, like 2/3\n", text, suites);
        return EXIT_FAILURE;
    }
    for (size_t i = part - 1; i < suites; i += parts)
        srunner_add_suite(runner, suite[i]());
    srunner_run_all(runner, CK_ENV);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

#endif
