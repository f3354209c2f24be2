/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cases.h"
#include <stdlib.h>

int main(void)
{
    TCase *(*const cases[])(void) = {entries_case, refusals_case, survives_case, memory_case};
    Suite *suite = suite_create("record");
    SRunner *runner;
    int failed;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        TCase *tests = cases[i]();
        tcase_set_timeout(tests, 120.0);
        suite_add_tcase(suite, tests);
    }
    runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
