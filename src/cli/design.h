/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_DESIGN_H
#define BLOOMCOAT_CLI_DESIGN_H
/*
 * What draft and refine have in common.
 */
#include "session.h"

/* --callouts, --substrate (else the stack's), the curved surface, --back, --minimum-nm, --max-total-nm. `start` may be
 * NULL. */
bc_status cli_read_problem(cli_session *session, const bc_stack *start, bc_design_problem *problem, bc_error *error);

/* The thinnest layer that every layer material can be controlled at; `process` may be NULL. */
double cli_minimum_of(const bc_process *process, size_t count, const bc_medium *layer);

/* The layer materials: --materials, else those of `start` (may be NULL), else those that the process has a row for,
 * which is said; the process is read before. *media is to be released with free(). */
bc_status cli_read_layers(cli_session *session, const bc_stack *start, size_t *count, bc_medium **media,
                          bc_error *error);

/* Layers of the start that must grow to the minimum. */
size_t cli_thin_layers(const bc_stack *start, double minimum_nm);

/* Check the stack that was found, complete the report with the verdict and write everything. */
bc_status cli_write_design(cli_session *session, const bc_design_problem *problem, const bc_stack *stack,
                           bc_design_report *report, bool *met, bc_error *error);

#endif
