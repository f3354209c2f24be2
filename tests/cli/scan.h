/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_TEST_SCAN_H
#define BLOOMCOAT_TEST_SCAN_H
/*
 * Measured files for the tests of inspect.
 */
#include "program.h"

#define INSPECT "inspect scan.csv --stack stack.csv --callouts callouts.csv"

/* Write what `spectrum` (a command line) computes as a scan, rounded to 4 digits behind the point. `header` as it is to
 * stand; with a third name in it T is written beside R. */
void write_scan(const char *name, const char *header, const char *spectrum);

/* What write_inputs() writes; the stack with its second layer (material 2.1) thicker by a tenth, second.csv, and all of
 * it by 2 %, thick.csv; process.csv; and a scan of the stack as designed, scan.csv. */
void write_stacks(void);

#endif
