/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef OPTICS_SUITES_H
#define OPTICS_SUITES_H
#include <check.h>

TCase *energy_case(void);
TCase *direction_case(void);
TCase *derivatives_case(void);
TCase *insertion_case(void);
TCase *paths_case(void);
TCase *extremes_case(void);
TCase *refusals_case(void);
TCase *part_case(void);
TCase *part_slopes_case(void);
TCase *spectrum_case(void);
TCase *stacks_case(void);
TCase *expm1_case(void);
TCase *gate_case(void);
TCase *graded_case(void);

#endif
