/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_COMPARE_H
#define BLOOMCOAT_CLI_COMPARE_H
/*
 * Several stacks side by side. What --set and its like change is the last one, so that a file given twice is seen
 * before and after.
 */
#include "session.h"

/* The stacks of the command line but the last, which is the session's. */
typedef struct cli_stacks {
    size_t count;
    bc_stack *stack;
} cli_stacks;

bc_status cli_read_stacks(cli_session *session, cli_stacks *others, bc_error *error);
void cli_stacks_clear(cli_stacks *others);
/* Of all stacks, in the order of the command line. */
const bc_stack *cli_stack_at(const cli_session *session, const cli_stacks *others, size_t which);

/* `check` of several stacks, once the session's was read. */
bc_status cli_compare(cli_session *session, const cli_stacks *others, bool *met, bc_error *error);

#endif
