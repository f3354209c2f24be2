/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_TEST_DESK_SUITES_H
#define BLOOMCOAT_TEST_DESK_SUITES_H

#include <check.h>

Suite *gate_suite(void);
Suite *command_suite(void);
Suite *jobs_suite(void);
Suite *system_calls_suite(void);

#endif
