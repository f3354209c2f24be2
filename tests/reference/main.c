/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The engine against the world outside: closed forms and figures of the literature, and a reference of many bits.
 */
#include "support.h"
#include <stdlib.h>

int main(void)
{
    Suite *suite = suite_create("outside");
    SRunner *runner;
    int failed;
    suite_add_tcase(suite, reference_case());
    suite_add_tcase(suite, interfaces_case());
    suite_add_tcase(suite, few_layers_case());
    suite_add_tcase(suite, many_layers_case());
    suite_add_tcase(suite, parts_case());
    suite_add_tcase(suite, precision_case());
    suite_add_tcase(suite, designs_case());
    suite_add_tcase(suite, signal_case());
    suite_add_tcase(suite, curved_case());
    suite_add_tcase(suite, extremes_case());
    runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
