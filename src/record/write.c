/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "database.h"
#include <stdio.h>

static const struct {
    const char *name;
    char letter;
} kinds[BC_RECORD_KINDS] = {[BC_RECORD_QUOTE] = {"quote", 'Q'},
                            [BC_RECORD_DESIGN] = {"design", 'D'},
                            [BC_RECORD_INSPECTION] = {"inspection", 'I'},
                            [BC_RECORD_INDEX] = {"index", 'N'}};

const char *bc_record_kind_name(bc_record_kind kind)
{
    return kinds[kind].name;
}

static bc_status next_serial(bc_record *record, bc_record_kind kind, sqlite3_int64 *serial, bc_error *error)
{
    sqlite3_stmt *statement = NULL;
    bool more = false;
    bc_status status =
        bc_record_prepare(record, &statement, error, "SELECT coalesce(max(serial), 0) + 1 FROM entry WHERE kind = ?",
                          "s", kinds[kind].name);
    if (status == BC_OK)
        status = bc_record_step(record, statement, &more, error);
    *serial = more ? sqlite3_column_int64(statement, 0) : 1;
    sqlite3_finalize(statement);
    return status;
}

bc_status bc_record_begin(bc_record *record, const bc_record_command *command, unsigned long first,
                          char number[BC_RECORD_NUMBER_SIZE], bc_error *error)
{
    sqlite3_int64 serial = 1;
    bc_status status = bc_record_do(record, "BEGIN IMMEDIATE", error);
    if (status != BC_OK)
        return status;
    record->writing = true;
    record->place = 1;
    status = next_serial(record, command->kind, &serial, error);
    if (serial < (sqlite3_int64)first)
        serial = (sqlite3_int64)first;
    snprintf(number, BC_RECORD_NUMBER_SIZE, "%c-%04lld", kinds[command->kind].letter, (long long)serial);
    if (status == BC_OK)
        status = bc_record_change(record, error,
                                  "INSERT INTO entry (kind, serial, number, date, version, subject, tables, color) "
                                  "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                                  "sisssssi", kinds[command->kind].name, (long long)serial, number, command->date,
                                  command->version, command->subject, command->tables, (long long)command->color);
    record->entry = sqlite3_last_insert_rowid(record->database);
    for (size_t i = 0; status == BC_OK && i < command->words; i++)
        status = bc_record_change(record, error, "INSERT INTO word VALUES (?, ?, ?)", "iis", (long long)record->entry,
                                  (long long)i, command->word[i]);
    return status;
}

/* Kept once, whoever brings it. */
static bc_status keep_file(bc_record *record, const char *bytes, size_t length, char sha256[BC_SHA256_SIZE],
                           bc_error *error)
{
    bc_sha256(bytes, length, sha256);
    return bc_record_change(record, error, "INSERT OR IGNORE INTO file VALUES (?, ?)", "sb", sha256,
                            length == 0 ? "" : bytes, length);
}

bc_status bc_record_add_input(bc_record *record, const char *path, const char *bytes, size_t length, bc_error *error)
{
    char sha256[BC_SHA256_SIZE];
    bc_status status = bytes == NULL ? BC_OK : keep_file(record, bytes, length, sha256, error);
    if (status == BC_OK)
        status =
            bc_record_change(record, error, "INSERT INTO input VALUES (?, ?, ?, ?)", "iiss", (long long)record->entry,
                             (long long)record->place++, path, bytes == NULL ? NULL : sha256);
    return status;
}

bc_status bc_record_add_output(bc_record *record, const char *path, const char *bytes, size_t length, bc_error *error)
{
    char sha256[BC_SHA256_SIZE];
    bc_status status = keep_file(record, bytes, length, sha256, error);
    if (status == BC_OK)
        status = bc_record_change(record, error, "INSERT INTO output VALUES (?, ?, ?, ?)", "iiss",
                                  (long long)record->entry, (long long)record->place++, path, sha256);
    return status;
}

bc_status bc_record_add_setting(bc_record *record, const char *name, const char *value, bc_error *error)
{
    return bc_record_change(record, error, "INSERT INTO setting VALUES (?, ?, ?)", "iss", (long long)record->entry,
                            name, value);
}

bc_status bc_record_add_callout(bc_record *record, const bc_record_callout *callout, bc_error *error)
{
    return bc_record_change(record, error, "INSERT INTO request VALUES (?, ?, ?, ?, ?, ?, ?)", "iiissss",
                            (long long)record->entry, (long long)record->place++, (long long)callout->surface,
                            callout->surface_name, callout->name, callout->words, callout->substrate);
}

bc_status bc_record_add_quote(bc_record *record, const bc_record_quote *quote, bc_error *error)
{
    return bc_record_change(record, error, "INSERT INTO quote VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", "iissddddd",
                            (long long)record->entry, (long long)quote->surface, quote->surface_name, quote->verdict,
                            quote->limit_used, quote->yield, quote->yield_low, quote->yield_high, quote->hours);
}

bc_status bc_record_add_layer(bc_record *record, const bc_record_layer *layer, bc_error *error)
{
    return bc_record_change(record, error, "INSERT INTO design VALUES (?, ?, ?, ?, ?)", "iiisd",
                            (long long)record->entry, (long long)layer->surface, (long long)layer->layer,
                            layer->material, layer->thickness_nm);
}

bc_status bc_record_add_index(bc_record *record, const bc_record_index *index, bc_error *error)
{
    return bc_record_change(record, error, "INSERT INTO index_fit VALUES (?, ?, ?, ?)", "iidd",
                            (long long)record->entry, (long long)index->piece, index->thickness_nm,
                            index->thickness_sigma_nm);
}

bc_status bc_record_commit(bc_record *record, int exit_code, const char *verdict, bc_error *error)
{
    bc_status status = bc_record_change(record, error, "UPDATE entry SET exit_code = ?, verdict = ? WHERE id = ?",
                                        "isi", (long long)exit_code, verdict, (long long)record->entry);
    if (status == BC_OK)
        status = bc_record_do(record, "COMMIT", error);
    record->writing = status != BC_OK;
    return status;
}
