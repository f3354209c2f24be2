/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_TEST_ENTRY_H
#define BLOOMCOAT_TEST_ENTRY_H
/*
 * Entries to write, and writers to kill.
 */
#include <bloomcoat/record.h>

/* A whole entry with two inputs, a folder and two outputs whose bytes follow from `seed`. */
bc_status write_entry(bc_record *record, bc_record_kind kind, unsigned long first, unsigned seed,
                      char number[BC_RECORD_NUMBER_SIZE], bc_error *error);

typedef struct kill_figures {
    int kills;
    long confirmed, kept;   /* entries that a writer said were committed; those that the record has */
    long lost;              /* confirmed ones that are not there */
    long faults;            /* what a check found, after every kill */
    long killed_in_writing; /* kills between the begin of an entry and its commit's confirmation */
} kill_figures;

/* Start a writer on the record at `path` and kill it (SIGKILL) at a random moment, `kills` times; after each kill the
 * record is opened and checked. False: something did not even start. */
int kill_writers(const char *path, int kills, unsigned seed, kill_figures *figures);

#endif
