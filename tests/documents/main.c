/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "documents.h"
#include <stdlib.h>

int main(void)
{
    SRunner *runner = srunner_create(options_suite());
    int failed;
    srunner_add_suite(runner, fields_suite());
    srunner_add_suite(runner, examples_suite());
    srunner_add_suite(runner, formats_suite());
    srunner_add_suite(runner, sources_suite());
    srunner_add_suite(runner, theory_suite());
    srunner_add_suite(runner, terminal_suite());
    srunner_add_suite(runner, customer_suite());
    srunner_run_all(runner, CK_NORMAL);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
