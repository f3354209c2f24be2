/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "desk_suites.h"
#include <stdlib.h>

int main(void)
{
    SRunner *runner;
    int failed;
    if (getenv("BC_ONLY_END") != NULL) /* started by a test that looks whether it can be */
        return 77;
    runner = srunner_create(gate_suite());
    srunner_add_suite(runner, system_calls_suite());
    srunner_add_suite(runner, command_suite());
    srunner_add_suite(runner, jobs_suite());
    srunner_run_all(runner, CK_ENV);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
