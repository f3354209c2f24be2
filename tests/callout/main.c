/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The verdict: where a callout is looked at, where it is worst, and what is said of it. Expected values come from
 * closed forms of one layer and of bare glass, and from fine grids over them.
 */
#include "../run_suites.h"
#include "suites.h"

int main(void)
{
    TCase *(*const cases[])(void) = {sampling_case,
                                     limits_case,
                                     every_case,
                                     mean_case,
                                     cone_case,
                                     ratio_case,
                                     weighted_case,
                                     angles_case,
                                     glasses_case,
                                     parts_case,
                                     zones_case,
                                     curves_case,
                                     colour_case,
                                     colour_callouts_case,
                                     colour_difference_case,
                                     colour_path_case,
                                     memory_case};
    Suite *suite = suite_create("callout");
    SRunner *runner;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        TCase *tests = cases[i]();
        tcase_set_timeout(tests, 60.0);
        suite_add_tcase(suite, tests);
    }
    runner = srunner_create(suite);
    return run_suites(runner);
}
