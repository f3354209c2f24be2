/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_RECORDING_H
#define BLOOMCOAT_CLI_RECORDING_H
/*
 * --record: what the command reads and writes goes into the shop's record once it has succeeded. And the other way: an
 * entry of the record runs again, reading what was read then and writing into memory.
 *
 * Of the whole program, as standard output is: one command runs in it.
 */
#include "session.h"
#include <bloomcoat/record.h>

#define CLI_OPTION_RECORD                                                                                              \
    {                                                                                                                  \
        "record", NULL, false,                                                                                         \
            "keep this in the shop's record, with all it was made from (default where shop.csv says record,yes)"       \
    }

/* SHOP/record.db in *path; free() it. */
bc_status cli_record_path(const char *folder, char **path, bc_error *error);

/* ---- recording: main() calls watch, check and end, the command the rest ---- */

/* From here on every file that is read is kept in memory, when the command has --record. `words` outlive the command.
 */
void cli_recording_watch(const cli_command *command, size_t count, char *const *words);
/* All options being known: is it wanted, and can it be done? Before the work, so that none is lost. */
bc_status cli_recording_check(const cli_arguments *arguments, bc_error *error);
/* All being computed and nothing written: begins the entry, which then has a number. Nothing where none is wanted. */
bc_status cli_recording_begin(const cli_session *session, bc_record_kind kind, const char *verdict, bc_error *error);
/* The record to add figures to after begin; NULL: nothing is recorded. */
bc_record *cli_recording_record(void);
/* The number of the entry, or NULL. */
const char *cli_recording_number(void);
/* What was written. */
void cli_recording_output(const char *path, const bc_text *text);
/* Keep all where the command succeeded, else undo; returns `status`, or why it could not be kept. */
bc_status cli_recording_end(bc_status status, bool met, bool quiet, bc_error *error);

/* The folder of the installed tables; during a rerun the one that was recorded (NULL: none). */
void cli_recording_tables(const char *folder);
/* Colours on standard output; during a rerun what they were. */
bool cli_recording_color(bool color);

/* ---- running an entry again ---- */

typedef struct cli_rerun {
    int exit_code;
    size_t outputs;
    bc_record_file *output;
} cli_rerun;

/* Runs `command` with the entry's words, files and variables. An error of the machine, or a command that failed, is
 * returned. Release with cli_rerun_clear(). */
bc_status cli_rerun_entry(const bc_record_entry *entry, const cli_command *command,
                          int (*run)(cli_arguments *arguments, bc_error *error), cli_rerun *again, bc_error *error);
void cli_rerun_clear(cli_rerun *again);
/* Then nothing is said on standard error either: it was said the first time. */
bool cli_rerunning(void);
/* Whether the command is recorded, or an entry runs again: then it has the number of its entry. */
bool cli_recording_wanted(void);
/* The folder of the installed tables of the entry that runs again. */
const char *cli_rerun_tables(void);

#endif
