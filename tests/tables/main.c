/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "../run_suites.h"
#include "suites.h"

int main(void)
{
    SRunner *runner = srunner_create(number_suite());
    srunner_add_suite(runner, text_suite());
    srunner_add_suite(runner, file_suite());
    srunner_add_suite(runner, checksum_suite());
    srunner_add_suite(runner, csv_suite());
    srunner_add_suite(runner, dispersion_suite());
    srunner_add_suite(runner, interpolation_suite());
    srunner_add_suite(runner, materials_suite());
    srunner_add_suite(runner, glass_code_suite());
    srunner_add_suite(runner, stack_suite());
    srunner_add_suite(runner, weights_suite());
    srunner_add_suite(runner, callouts_suite());
    srunner_add_suite(runner, callout_words_suite());
    srunner_add_suite(runner, callout_ratio_suite());
    srunner_add_suite(runner, process_suite());
    srunner_add_suite(runner, chamber_suite());
    srunner_add_suite(runner, shop_suite());
    srunner_add_suite(runner, request_suite());
    srunner_add_suite(runner, standard_suite());
    srunner_add_suite(runner, glasses_suite());
    srunner_add_suite(runner, measured_suite());
    srunner_add_suite(runner, measured_habits_suite());
    srunner_add_suite(runner, measured_refused_suite());
    srunner_add_suite(runner, measured_settings_suite());
    srunner_add_suite(runner, profile_suite());
    srunner_add_suite(runner, reference_suite());
    srunner_add_suite(runner, locale_suite());
    srunner_add_suite(runner, materials_data_suite());
    srunner_add_suite(runner, memory_suite());
    return run_suites(runner);
}
