/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_RECORD_DATABASE_H
#define BLOOMCOAT_RECORD_DATABASE_H
/*
 * Statements of the record's database. A failure of SQLite becomes a status with its sentence.
 */
#include <bloomcoat/record.h>
#include <sqlite3.h>

struct bc_record {
    sqlite3 *database;
    char *path;
    bool writing;        /* a transaction is open */
    sqlite3_int64 entry; /* that is being written */
    sqlite3_int64 place; /* of the next row of the entry */
};

/* The status for what SQLite said last. */
bc_status bc_record_fail(const bc_record *record, int code, bc_error *error);

bc_status bc_record_do(bc_record *record, const char *statements, bc_error *error);

/* Prepare `statement` and give it its values, a letter each: 'i' long long, 'd' double (NAN: NULL), 's' const char *
 * (NULL: NULL), 'b' const char * and size_t. */
bc_status bc_record_prepare(bc_record *record, sqlite3_stmt **statement, bc_error *error, const char *text,
                            const char *values, ...);
/* The same, run to its end without a result. */
bc_status bc_record_change(bc_record *record, bc_error *error, const char *text, const char *values, ...);
/* The next row; *more false: there was none. Then, or on an error, the statement is still to be finalized. */
bc_status bc_record_step(bc_record *record, sqlite3_stmt *statement, bool *more, bc_error *error);
/* A column as text of its own; NULL stays NULL. */
bc_status bc_record_text(sqlite3_stmt *statement, int column, char **text, bc_error *error);
/* The first column of the first row. */
bc_status bc_record_count(bc_record *record, const char *text, sqlite3_int64 *count, bc_error *error);

/* The tables, made or brought up to date. */
bc_status bc_record_migrate(bc_record *record, bc_error *error);

#endif
