/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "database.h"
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MOST_FAULTS 100 /* a damaged record could have one a row */

static bc_status add_fault(bc_record_check *check, bc_error *error, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static bc_status add_fault(bc_record_check *check, bc_error *error, const char *format, ...)
{
    char **moved;
    va_list values;
    int length;
    if (check->faults == MOST_FAULTS)
        return BC_OK;
    moved = realloc(check->fault, (check->faults + 1) * sizeof *moved);
    if (moved == NULL)
        return bc_fail_memory(error);
    check->fault = moved;
    va_start(values, format);
    length = vasprintf(&moved[check->faults], format, values);
    va_end(values);
    if (length < 0)
        return bc_fail_memory(error);
    check->faults++;
    return BC_OK;
}

static bc_status check_one_file(sqlite3_stmt *statement, bc_record_check *check, bc_error *error)
{
    const char *stated = (const char *)sqlite3_column_text(statement, 0);
    const void *bytes = sqlite3_column_blob(statement, 1);
    const size_t length = (size_t)sqlite3_column_bytes(statement, 1);
    char found[BC_SHA256_SIZE];
    if (stated == NULL)
        return bc_fail_memory(error);
    bc_sha256(length == 0 ? "" : bytes, length, found);
    check->files++;
    check->bytes += (double)length;
    return strcmp(found, stated) == 0
               ? BC_OK
               : add_fault(check, error, "A stored file has the SHA-256 %.12s..., but was stored as %.12s....", found,
                           stated);
}

static bc_status check_integrity(sqlite3_stmt *statement, bc_record_check *check, bc_error *error)
{
    const char *said = (const char *)sqlite3_column_text(statement, 0);
    if (said == NULL)
        return bc_fail_memory(error);
    return strcmp(said, "ok") == 0 ? BC_OK : add_fault(check, error, "The database is damaged: %s.", said);
}

static bc_status check_reference(sqlite3_stmt *statement, bc_record_check *check, bc_error *error)
{
    const char *table = (const char *)sqlite3_column_text(statement, 0);
    return table == NULL ? bc_fail_memory(error)
                         : add_fault(check, error, "A row of table %s refers to what is not there.", table);
}

static bc_status check_entry(sqlite3_stmt *statement, bc_record_check *check, bc_error *error)
{
    const char *number = (const char *)sqlite3_column_text(statement, 0);
    check->entries++;
    if (number == NULL)
        return bc_fail_memory(error);
    if (sqlite3_column_int(statement, 1) == 0 || sqlite3_column_int(statement, 2) == 0)
        return add_fault(check, error, "%s is incomplete: it lacks its command line, its result or its verdict.",
                         number);
    return BC_OK;
}

static bc_status each_row(bc_record *record, const char *text,
                          bc_status (*take)(sqlite3_stmt *statement, bc_record_check *check, bc_error *error),
                          bc_record_check *check, bc_error *error)
{
    sqlite3_stmt *statement = NULL;
    bool more = true;
    bc_status status = bc_record_prepare(record, &statement, error, text, "");
    while (status == BC_OK && more) {
        status = bc_record_step(record, statement, &more, error);
        if (status == BC_OK && more)
            status = take(statement, check, error);
    }
    sqlite3_finalize(statement);
    return status;
}

bc_status bc_record_check_all(bc_record *record, bc_record_check *check, bc_error *error)
{
    bc_status status;
    *check = (bc_record_check){0};
    status = each_row(record, "PRAGMA integrity_check", check_integrity, check, error);
    if (status == BC_OK)
        status = each_row(record, "PRAGMA foreign_key_check", check_reference, check, error);
    if (status == BC_OK)
        status = each_row(record, "SELECT sha256, bytes FROM file", check_one_file, check, error);
    if (status == BC_OK)
        status = each_row(record,
                          "SELECT number, (SELECT count(*) FROM word WHERE entry = id) > 0 AND verdict IS NOT NULL, "
                          "(SELECT count(*) FROM output WHERE entry = id) FROM entry ORDER BY id",
                          check_entry, check, error);
    if (status != BC_OK)
        bc_record_check_clear(check);
    return status;
}

void bc_record_check_clear(bc_record_check *check)
{
    for (size_t i = 0; i < check->faults; i++)
        free(check->fault[i]);
    free(check->fault);
    *check = (bc_record_check){0};
}
