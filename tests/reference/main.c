/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The engine against the world outside: closed forms and figures of the literature, and a reference of many bits.
 */
#include "../run_suites.h"
#include "support.h"

int main(void)
{
    Suite *suite = suite_create("outside");
    SRunner *runner;
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
    suite_add_tcase(suite, graded_case());
    runner = srunner_create(suite);
    return run_suites(runner);
}
