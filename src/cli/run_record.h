/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_RUN_RECORD_H
#define BLOOMCOAT_CLI_RUN_RECORD_H
/*
 * A run as the record has it, out of its inspection; and as bc_learn() takes it.
 */
#include "session.h"
#include <bloomcoat/learn.h>
#include <bloomcoat/record.h>

/* What an inspection says of its run. `witness`: from 1. Its strings are its own. */
bc_status cli_describe_run(const bc_inspect_result *result, const bc_inspect_setup *setup, const char *path,
                           size_t witness, bc_record_run *run, bc_error *error);

/* Release with bc_learn_run_clear(). Only of a run with layers. */
bc_status cli_learn_run(const bc_record_run *from, bc_learn_run *run, bc_error *error);

#endif
