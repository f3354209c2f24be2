/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "database.h"
#include "escaped.h"
#include <stdio.h>
#include <stdlib.h>

#define APPLICATION "0x626c6f6d" /* "blom", for file(1) and for whoever opens another database by mistake */

/* What brings the tables from version i to version i + 1. A version that was shipped never changes. */
static const char *const step[] = {
    "PRAGMA application_id = " APPLICATION ";"
    "CREATE TABLE file (sha256 TEXT PRIMARY KEY NOT NULL CHECK (length(sha256) = 64), bytes BLOB NOT NULL);"
    "CREATE TABLE entry (id INTEGER PRIMARY KEY, kind TEXT NOT NULL, serial INTEGER NOT NULL CHECK (serial > 0),"
    " number TEXT NOT NULL UNIQUE, date TEXT NOT NULL, version TEXT NOT NULL, subject TEXT NOT NULL, tables TEXT,"
    " color INTEGER NOT NULL, exit_code INTEGER, verdict TEXT, UNIQUE (kind, serial));"
    "CREATE TABLE word (entry INTEGER NOT NULL REFERENCES entry, place INTEGER NOT NULL, word TEXT NOT NULL,"
    " PRIMARY KEY (entry, place)) WITHOUT ROWID;"
    "CREATE TABLE setting (entry INTEGER NOT NULL REFERENCES entry, name TEXT NOT NULL, value TEXT NOT NULL,"
    " PRIMARY KEY (entry, name)) WITHOUT ROWID;"
    "CREATE TABLE input (entry INTEGER NOT NULL REFERENCES entry, place INTEGER NOT NULL, path TEXT NOT NULL,"
    " sha256 TEXT REFERENCES file, PRIMARY KEY (entry, place)) WITHOUT ROWID;"
    "CREATE TABLE output (entry INTEGER NOT NULL REFERENCES entry, place INTEGER NOT NULL, path TEXT,"
    " sha256 TEXT NOT NULL REFERENCES file, PRIMARY KEY (entry, place)) WITHOUT ROWID;"
    "CREATE TABLE request (entry INTEGER NOT NULL REFERENCES entry, place INTEGER NOT NULL, surface INTEGER NOT NULL,"
    " surface_name TEXT, name TEXT NOT NULL, words TEXT NOT NULL, substrate TEXT NOT NULL,"
    " PRIMARY KEY (entry, place)) WITHOUT ROWID;"
    "CREATE TABLE quote (entry INTEGER NOT NULL REFERENCES entry, surface INTEGER NOT NULL, surface_name TEXT,"
    " verdict TEXT NOT NULL, limit_used REAL, yield REAL, yield_low REAL, yield_high REAL, hours REAL,"
    " PRIMARY KEY (entry, surface)) WITHOUT ROWID;"
    "CREATE TABLE design (entry INTEGER NOT NULL REFERENCES entry, surface INTEGER NOT NULL, layer INTEGER NOT NULL,"
    " material TEXT NOT NULL, thickness_nm REAL NOT NULL, PRIMARY KEY (entry, surface, layer)) WITHOUT ROWID;"
    "CREATE TABLE witness (entry INTEGER NOT NULL REFERENCES entry, witness INTEGER NOT NULL, path TEXT NOT NULL,"
    " verdict TEXT NOT NULL, limit_used REAL, scale REAL, scale_sigma REAL, PRIMARY KEY (entry, witness)) WITHOUT "
    "ROWID;"
    "CREATE TABLE finding (entry INTEGER NOT NULL, witness INTEGER NOT NULL, callout INTEGER NOT NULL,"
    " name TEXT NOT NULL, value REAL, limit_value REAL NOT NULL, limit_used REAL,"
    " PRIMARY KEY (entry, witness, callout), FOREIGN KEY (entry, witness) REFERENCES witness) WITHOUT ROWID;"
    "CREATE TABLE index_fit (entry INTEGER NOT NULL REFERENCES entry, piece INTEGER NOT NULL,"
    " thickness_nm REAL NOT NULL, thickness_sigma_nm REAL, PRIMARY KEY (entry, piece)) WITHOUT ROWID;",
    "ALTER TABLE witness ADD COLUMN of_instrument REAL;"
    "CREATE TABLE witness_layer (entry INTEGER NOT NULL, witness INTEGER NOT NULL, layer INTEGER NOT NULL,"
    " material TEXT NOT NULL, design_nm REAL NOT NULL, fitted_nm REAL, fitted_sigma_nm REAL, tooling REAL,"
    " against INTEGER NOT NULL, pull REAL NOT NULL, PRIMARY KEY (entry, witness, layer),"
    " FOREIGN KEY (entry, witness) REFERENCES witness) WITHOUT ROWID;"
    "CREATE TABLE witness_information (entry INTEGER NOT NULL, witness INTEGER NOT NULL, layer INTEGER NOT NULL,"
    " other INTEGER NOT NULL, value REAL NOT NULL, PRIMARY KEY (entry, witness, layer, other),"
    " FOREIGN KEY (entry, witness, layer) REFERENCES witness_layer) WITHOUT ROWID;"
    "CREATE TABLE witness_material (entry INTEGER NOT NULL, witness INTEGER NOT NULL, material TEXT NOT NULL,"
    " factor REAL, factor_sigma REAL, dn REAL, dn_sigma REAL, PRIMARY KEY (entry, witness, material),"
    " FOREIGN KEY (entry, witness) REFERENCES witness) WITHOUT ROWID;"};
_Static_assert(sizeof step / sizeof *step == BC_RECORD_SCHEMA, "a step for each version of the tables");

static bc_status find_version(bc_record *record, sqlite3_int64 *version, bc_error *error)
{
    sqlite3_int64 tables = 0, application = 0;
    char shown[BC_ESCAPED_PATH_SIZE];
    bc_status status = bc_record_count(record, "PRAGMA user_version", version, error);
    if (status == BC_OK)
        status = bc_record_count(record, "PRAGMA application_id", &application, error);
    if (status == BC_OK)
        status = bc_record_count(record, "SELECT count(*) FROM sqlite_master", &tables, error);
    if (status != BC_OK)
        return status;
    if (*version > BC_RECORD_SCHEMA)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s: found a record of version %lld; expected up to %d: a newer bloomcoat has written it",
                       bc_escaped_path(record->path, shown), (long long)*version, BC_RECORD_SCHEMA);
    if ((*version == 0) != (tables == 0) || (tables > 0 && application != strtoll(APPLICATION, NULL, 16)))
        return bc_fail(error, BC_ERROR_INPUT, "%s: found a database of something else; expected a shop's record",
                       bc_escaped_path(record->path, shown));
    return BC_OK;
}

/* All steps in one transaction: of two programs that find an old record, the second finds it done. */
static bc_status migrate(bc_record *record, bc_error *error)
{
    sqlite3_int64 version = 0;
    char set[64];
    bc_status status = bc_record_do(record, "BEGIN IMMEDIATE", error);
    if (status != BC_OK)
        return status;
    record->writing = true;
    status = find_version(record, &version, error);
    for (sqlite3_int64 i = version; status == BC_OK && i < BC_RECORD_SCHEMA; i++)
        status = bc_record_do(record, step[i], error);
    snprintf(set, sizeof set, "PRAGMA user_version = %d", BC_RECORD_SCHEMA);
    if (status == BC_OK)
        status = bc_record_do(record, set, error);
    if (status == BC_OK)
        status = bc_record_do(record, "COMMIT", error);
    record->writing = status != BC_OK;
    return status;
}

bc_status bc_record_migrate(bc_record *record, bc_error *error)
{
    sqlite3_int64 version = 0;
    /* In one transaction: between two reads another program may have made the tables. */
    bc_status status = bc_record_do(record, "BEGIN", error);
    if (status != BC_OK)
        return status;
    status = find_version(record, &version, error);
    sqlite3_exec(record->database, "ROLLBACK", NULL, NULL, NULL);
    return status == BC_OK && version < BC_RECORD_SCHEMA ? migrate(record, error) : status;
}
