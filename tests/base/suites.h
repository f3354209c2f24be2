/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BASE_SUITES_H
#define BASE_SUITES_H
#include <check.h>

TCase *arena_case(void);
TCase *error_case(void);
TCase *jobs_case(void);
TCase *words_case(void);

#endif
