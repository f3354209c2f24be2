/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_STANDARD_BUILD_H
#define BLOOMCOAT_CLI_STANDARD_BUILD_H
/*
 * One stack for each of many substrates: a file for each, so that a run that ended half way goes on where it was, and
 * several machines share the work.
 */
#include "session.h"

/* `yield`: the share of runs asked for, where the process is known. */
bc_status cli_standard_build(cli_session *session, double yield, size_t threads, bool *met, bc_error *error);

#endif
