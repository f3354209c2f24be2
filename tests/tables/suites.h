/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_TEST_SUITES_H
#define BLOOMCOAT_TEST_SUITES_H
#include <check.h>

Suite *number_suite(void);
Suite *text_suite(void);
Suite *file_suite(void);
Suite *checksum_suite(void);
Suite *csv_suite(void);
Suite *dispersion_suite(void);
Suite *interpolation_suite(void);
Suite *materials_suite(void);
Suite *glass_code_suite(void);
Suite *glasses_suite(void);
Suite *stack_suite(void);
Suite *weights_suite(void);
Suite *callouts_suite(void);
Suite *callout_words_suite(void);
Suite *callout_ratio_suite(void);
Suite *process_suite(void);
Suite *chamber_suite(void);
Suite *shop_suite(void);
Suite *request_suite(void);
Suite *standard_suite(void);
Suite *measured_suite(void);
Suite *measured_habits_suite(void);
Suite *measured_refused_suite(void);
Suite *measured_settings_suite(void);
Suite *profile_suite(void);
Suite *reference_suite(void);
Suite *locale_suite(void);
Suite *memory_suite(void);
Suite *materials_data_suite(void); /* the tables in materials/ themselves */

#endif
