/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Inspection held against runs whose errors are known, made by the 256-bit reference, and against closed forms. Random,
 * and yet repeatable: the seeds are fixed.
 */
#include "../run_suites.h"
#include "witness.h"

int main(void)
{
    TCase *(*const cases[])(void) = {
        conformity_case,  noise_case,      rule_case,       coverage_case,   match_case,
        back_case,        fit_case,        run_case,        wrong_case,      groups_case,
        next_case,        lot_case,        refusal_case,    memory_case,     prediction_case,
        layer_index_case, curve_case,      outlier_case,    correction_case, runs_case,
        learn_case,       acceptance_case, parts_case,      control_case,    overlay_colour_case,
        stencil_case,     behind_case,     told_case,       factors_case,    smooth_case,
        problem_case,     band_tests,      likelihood_case, chamber_case,    causes_case,
        worst_case,       index_fit_case,  evidence_case,   forecast_case,   rows_case,
        found_case,       priors_case,     prospect_case,   bounds_case,     details_case,
        loss_case,        search_case,     odds_case,       starts_case,     far_case,
        choice_case,      draws_case};
    Suite *suite = suite_create("inspect");
    SRunner *runner;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        TCase *tests = cases[i]();
        tcase_set_timeout(tests, 240.0);
        suite_add_tcase(suite, tests);
    }
    runner = srunner_create(suite);
    return run_suites(runner);
}
