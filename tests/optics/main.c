/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The engine against itself and against what must hold of any stack: properties on seeded random stacks, no expected
 * value taken from the program. Figures from outside it are in tests/reference/.
 */
#include "../run_suites.h"
#include "suites.h"
#include <stdlib.h>

int main(void)
{
    TCase *(*const cases[])(void) = {energy_case,   direction_case, derivatives_case, insertion_case,   paths_case,
                                     extremes_case, refusals_case,  part_case,        part_slopes_case, spectrum_case,
                                     stacks_case,   expm1_case,     gate_case,        graded_case};
    Suite *suite = suite_create("optics");
    SRunner *runner;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        TCase *tests = cases[i]();
        tcase_set_timeout(tests, getenv("BC_STACKS") == NULL ? 60.0 : 0.0); /* test_stacks.c: 0 is no limit */
        suite_add_tcase(suite, tests);
    }
    runner = srunner_create(suite);
    return run_suites(runner);
}
