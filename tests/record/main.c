/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "../run_suites.h"
#include "cases.h"

int main(void)
{
    TCase *(*const cases[])(void) = {entries_case, refusals_case, survives_case, memory_case};
    Suite *suite = suite_create("record");
    SRunner *runner;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        TCase *tests = cases[i]();
        tcase_set_timeout(tests, 120.0);
        suite_add_tcase(suite, tests);
    }
    runner = srunner_create(suite);
    return run_suites(runner);
}
