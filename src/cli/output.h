/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_OUTPUT_H
#define BLOOMCOAT_CLI_OUTPUT_H
/*
 * Results to standard output and to files. A file is written whole or not at all: without a name first, where the
 * system has that, else beside its place; then it takes its place. What a killed program left beside it is removed
 * after a day.
 */
#include "paths.h"
#include <bloomcoat/report.h>

/* Whether `path` (NULL or "-": standard output) can take a result: a folder that exists, no input. Before the work, so
 * that a long search is not lost to a misspelt folder. */
bc_status cli_output_check(const char *path, size_t inputs, const char *const *input, bc_error *error);

bc_status cli_output_write(const char *path, const bc_text *text, bc_error *error);

/* As cli_output_write(), for what a long search has found: where its place is gone, or the disk is full, it goes to
 * standard output, and the error (of the machine: the place was there before) says so. */
bc_status cli_output_write_or_show(const char *path, const bc_text *text, bc_error *error);

#endif
