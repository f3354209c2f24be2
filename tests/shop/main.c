/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The simulated runs against closed forms, and against what must hold of any simulation. Random, and yet repeatable:
 * the seeds are fixed, so a test that passes keeps passing.
 */
#include "workshop.h"
#include <stdlib.h>

int main(void)
{
    TCase *(*const cases[])(void) = {random_case,   proportion_case,  yield_case,  known_case,        influence_case,
                                     scale_case,    percentiles_case, shift_case,  refusals_case,     robust_case,
                                     load_case,     quote_case,       offers_case, deposit_case,      signal_case,
                                     monitor_case,  lens_case,        memory_case, alternatives_case, relax_case,
                                     estimate_case, standard_case,    raise_case,  conditions_case};
    Suite *suite = suite_create("shop");
    SRunner *runner;
    int failed;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        TCase *tests = cases[i]();
        tcase_set_timeout(tests, 120.0);
        suite_add_tcase(suite, tests);
    }
    runner = srunner_create(suite);
#if defined(__SANITIZE_ADDRESS__)
    srunner_set_fork_status(runner, CK_NOFORK);
#endif
    srunner_run_all(runner, CK_ENV);
    failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
