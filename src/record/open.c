/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "database.h"
#include "escaped.h"
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define PATIENCE_MS 30000
#define PAUSE_MS    5

/* Whether there is such a file: SQLite's own message for none is of no help. */
static bc_status look_for(const char *path, bool create, bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE];
    if (create || access(path, F_OK) == 0)
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT, "%s: found no record; expected one, as --record begins it",
                   bc_escaped_path(path, shown));
}

static double now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return 1e3 * (double)now.tv_sec + 1e-6 * (double)now.tv_nsec;
}

/* Several may begin a record at once. To change the journal each needs the file alone while it reads it, and there
 * SQLite does not wait (sqlite3_busy_handler(): two that wait for each other), but ends at once. */
static int set_journal(sqlite3 *database)
{
    const double begin = now_ms();
    int code = sqlite3_exec(database, "PRAGMA journal_mode = WAL", NULL, NULL, NULL);
    while ((code & 0xff) == SQLITE_BUSY && now_ms() - begin < PATIENCE_MS) {
        sqlite3_sleep(PAUSE_MS);
        code = sqlite3_exec(database, "PRAGMA journal_mode = WAL", NULL, NULL, NULL);
    }
    return code;
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
    if (code == SQLITE_OK)
        code = set_journal(fresh->database);
    status = code == SQLITE_OK ? BC_OK : bc_record_fail(fresh, code, error);
    if (status == BC_OK)
        status = bc_record_do(fresh, "PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;", error);
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
