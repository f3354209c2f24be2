/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "database.h"
#include "escaped.h"
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define PATIENCE_MS 30000

/* Whether there is such a file: SQLite's own message for none is of no help. */
static bc_status look_for(const char *path, bool create, bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE];
    if (create || access(path, F_OK) == 0)
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT, "%s: found no record; expected one, as --record begins it",
                   bc_escaped_path(path, shown));
}

bc_status bc_record_open(const char *path, bool create, bc_record **record, bc_error *error)
{
    bc_record *fresh;
    int code;
    bc_status status = look_for(path, create, error);
    *record = NULL;
    if (status != BC_OK)
        return status;
    fresh = calloc(1, sizeof *fresh);
    if (fresh == NULL || (fresh->path = strdup(path)) == NULL) {
        free(fresh);
        return bc_fail_memory(error);
    }
    code = sqlite3_open_v2(path, &fresh->database, SQLITE_OPEN_READWRITE | (create ? SQLITE_OPEN_CREATE : 0), NULL);
    if (code == SQLITE_OK)
        code = sqlite3_busy_timeout(fresh->database, PATIENCE_MS);
    status = code == SQLITE_OK ? BC_OK : bc_record_fail(fresh, code, error);
    if (status == BC_OK)
        status = bc_record_do(fresh, "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;",
                              error);
    if (status == BC_OK)
        status = bc_record_migrate(fresh, error);
    if (status != BC_OK)
        bc_record_close(fresh);
    else
        *record = fresh;
    return status;
}

void bc_record_close(bc_record *record)
{
    if (record == NULL)
        return;
    if (record->writing)
        sqlite3_exec(record->database, "ROLLBACK", NULL, NULL, NULL);
    sqlite3_close(record->database);
    free(record->path);
    free(record);
}
