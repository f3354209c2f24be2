/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_CONTROL_WORDS_H
#define BLOOMCOAT_REPORT_CONTROL_WORDS_H
/*
 * Control charts in words: what their text, JSON and picture say alike.
 */
#include "text.h"

#define BC_SERIES_SIZE (BC_CALLOUT_NAME_SIZE + 32)

/* "limit_used", "\"band\" in %", "tooling factor of HfO2". */
void bc_print_series(char to[BC_SERIES_SIZE], const bc_control_series *series);
/* "7 values in succession above the average, runs 21 to 27" */
void bc_add_alarm(bc_text *out, const bc_control_chart *chart, const bc_control_alarm *alarm);

#endif
