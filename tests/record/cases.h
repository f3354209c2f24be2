/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_TEST_RECORD_CASES_H
#define BLOOMCOAT_TEST_RECORD_CASES_H

#include <check.h>

TCase *entries_case(void);
TCase *refusals_case(void);
TCase *survives_case(void);
TCase *memory_case(void);

#endif
