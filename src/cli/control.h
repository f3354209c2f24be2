/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_CONTROL_H
#define BLOOMCOAT_CLI_CONTROL_H
/*
 * Control charts of runs as the record has them.
 */
#include <bloomcoat/record.h>
#include <bloomcoat/report.h>

typedef struct cli_control {
    bc_control_series *series;
    bc_control_chart *chart;
    const char **label; /* of the runs: their inspection's number, or their file */
    bc_control_report report;
} cli_control;

/* limit_used and the callouts of the runs that were inspected against those of the last one, and the tooling factor of
 * each material. Points into `runs`. Release with cli_control_clear(), also after an error. */
bc_status cli_control_make(const bc_record_runs *runs, size_t baseline, cli_control *control, bc_error *error);
void cli_control_clear(cli_control *control);

#endif
