/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "database.h"
#include "escaped.h"
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

bc_status bc_record_fail(const bc_record *record, int code, bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE];
    bc_escaped_path(record->path, shown);
    switch (code & 0xff) {
    case SQLITE_NOMEM:
        return bc_fail_memory(error);
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return bc_fail(error, BC_ERROR_IO, "%s: found it in use by another program for 30 s; expected it to be free",
                       shown);
    case SQLITE_NOTADB:
    case SQLITE_CORRUPT:
        return bc_fail(error, BC_ERROR_INPUT, "%s: found no record, or a damaged one (%s); expected a shop's record",
                       shown, sqlite3_errmsg(record->database));
    case SQLITE_CANTOPEN:
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_AUTH:
        return bc_fail(error, BC_ERROR_INPUT, "%s: found a record that cannot be written (%s); expected permission",
                       shown, sqlite3_errmsg(record->database));
    default:
        return bc_fail(error, BC_ERROR_IO, "%s: found a failure of the record (%s); expected a disk in order", shown,
                       sqlite3_errmsg(record->database));
    }
}

bc_status bc_record_do(bc_record *record, const char *statements, bc_error *error)
{
    const int code = sqlite3_exec(record->database, statements, NULL, NULL, NULL);
    return code == SQLITE_OK ? BC_OK : bc_record_fail(record, code, error);
}

static int bind_one(sqlite3_stmt *statement, int at, char kind, va_list *values)
{
    const char *text;
    double number;
    switch (kind) {
    case 'i':
        return sqlite3_bind_int64(statement, at, va_arg(*values, long long));
    case 'd':
        number = va_arg(*values, double);
        return isnan(number) ? sqlite3_bind_null(statement, at) : sqlite3_bind_double(statement, at, number);
    case 'b':
        text = va_arg(*values, const char *);
        return text == NULL ? (int)((void)va_arg(*values, size_t), sqlite3_bind_null(statement, at))
                            : sqlite3_bind_blob64(statement, at, text, va_arg(*values, size_t), SQLITE_STATIC);
    default:
        return sqlite3_bind_text(statement, at, va_arg(*values, const char *), -1, SQLITE_STATIC);
    }
}

static bc_status prepare(bc_record *record, sqlite3_stmt **statement, bc_error *error, const char *text,
                         const char *values, va_list *of_values)
{
    int code = sqlite3_prepare_v2(record->database, text, -1, statement, NULL);
    for (int at = 1; code == SQLITE_OK && values[at - 1] != '\0'; at++)
        code = bind_one(*statement, at, values[at - 1], of_values);
    return code == SQLITE_OK ? BC_OK : bc_record_fail(record, code, error);
}

bc_status bc_record_prepare(bc_record *record, sqlite3_stmt **statement, bc_error *error, const char *text,
                            const char *values, ...)
{
    va_list of_values;
    bc_status status;
    va_start(of_values, values);
    status = prepare(record, statement, error, text, values, &of_values);
    va_end(of_values);
    return status;
}

bc_status bc_record_change(bc_record *record, bc_error *error, const char *text, const char *values, ...)
{
    sqlite3_stmt *statement = NULL;
    va_list of_values;
    bool more;
    bc_status status;
    va_start(of_values, values);
    status = prepare(record, &statement, error, text, values, &of_values);
    va_end(of_values);
    if (status == BC_OK)
        status = bc_record_step(record, statement, &more, error);
    sqlite3_finalize(statement);
    return status;
}

bc_status bc_record_step(bc_record *record, sqlite3_stmt *statement, bool *more, bc_error *error)
{
    const int code = sqlite3_step(statement);
    *more = code == SQLITE_ROW;
    return code == SQLITE_ROW || code == SQLITE_DONE ? BC_OK : bc_record_fail(record, code, error);
}

bc_status bc_record_text(sqlite3_stmt *statement, int column, char **text, bc_error *error)
{
    const char *found = (const char *)sqlite3_column_text(statement, column);
    *text = NULL;
    if (found == NULL)
        return sqlite3_column_type(statement, column) == SQLITE_NULL ? BC_OK : bc_fail_memory(error);
    *text = strdup(found);
    return *text == NULL ? bc_fail_memory(error) : BC_OK;
}

bc_status bc_record_count(bc_record *record, const char *text, sqlite3_int64 *count, bc_error *error)
{
    sqlite3_stmt *statement = NULL;
    bool more = false;
    bc_status status = bc_record_prepare(record, &statement, error, text, "");
    if (status == BC_OK)
        status = bc_record_step(record, statement, &more, error);
    *count = status == BC_OK && more ? sqlite3_column_int64(statement, 0) : 0;
    sqlite3_finalize(statement);
    return status;
}
