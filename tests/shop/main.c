/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The simulated runs against closed forms, and against what must hold of any simulation. Random, and yet repeatable:
 * the seeds are fixed, so a test that passes keeps passing.
 */
#include "../run_suites.h"
#include "workshop.h"

int main(void)
{
    TCase *(*const cases[])(void) = {random_case,       proportion_case,   yield_case,           known_case,
                                     influence_case,    scale_case,        percentiles_case,     colour_runs_case,
                                     shift_case,        refusals_case,     robust_case,          load_case,
                                     quote_case,        offers_case,       deposit_case,         signal_case,
                                     monitor_case,      lens_case,         memory_case,          alternatives_case,
                                     relax_case,        estimate_case,     response_case,        doubtful_case,
                                     standard_case,     raise_case,        conditions_case,      contradiction_case,
                                     screen_case,       under_errors_case, sensitivity_case,     options_case,
                                     pool_case,         look_case,         prefer_case,          judged_case,
                                     ladder_case,       lens_factor_case,  add_layer_case,       found_case,
                                     process_draw_case, bounds_case,       standard_offers_case, progress_case,
                                     plan_case,         decided_case,      choice_case,          least_case,
                                     change_case,       recorded_case,     recorded_runs_case};
    Suite *suite = suite_create("shop");
    SRunner *runner;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        TCase *tests = cases[i]();
        tcase_set_timeout(tests, 120.0);
        suite_add_tcase(suite, tests);
    }
    runner = srunner_create(suite);
    return run_suites(runner);
}
