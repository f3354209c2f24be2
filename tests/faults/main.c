/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "faults.h"
#include <stdlib.h>

int main(void)
{
    SRunner *runner = srunner_create(memory_suite());
    int failed;
    srunner_add_suite(runner, writes_suite());
    srunner_add_suite(runner, signals_suite());
    srunner_add_suite(runner, locale_suite());
    srunner_run_all(runner, CK_ENV);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
