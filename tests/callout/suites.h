/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef CALLOUT_SUITES_H
#define CALLOUT_SUITES_H
#include <check.h>

TCase *sampling_case(void);
TCase *limits_case(void);
TCase *every_case(void);
TCase *mean_case(void);
TCase *weighted_case(void);
TCase *angles_case(void);
TCase *glasses_case(void);
TCase *parts_case(void);
TCase *zones_case(void);
TCase *curves_case(void);
TCase *colour_case(void);
TCase *colour_callouts_case(void);
TCase *colour_difference_case(void);
TCase *colour_path_case(void);
TCase *cone_case(void);
TCase *ratio_case(void);
TCase *memory_case(void);

#endif
