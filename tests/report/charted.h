/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TEST_CHARTED_H
#define TEST_CHARTED_H
/*
 * Three control charts of 24 runs: limit_used, a callout, and a tooling factor that leaves its lines at run 22. The
 * first two runs were inspected against other callouts.
 */
#include <bloomcoat/plot.h>

#define CHARTED 24
#define CHARTS  3

typedef struct charted {
    double value[CHARTS][CHARTED], used[CHARTED];
    size_t run[CHARTED], all_runs[CHARTED];
    char name[CHARTED][8];
    const char *label[CHARTED];
    bc_control_series series[CHARTS];
    bc_control_chart chart[CHARTS];
    bc_control_report report;
} charted;

void open_charted(charted *all);
/* The charts anew, of series that were changed. */
void remake(charted *all);
void close_charted(charted *all);

#endif
