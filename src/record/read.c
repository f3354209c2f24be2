/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "database.h"
#include "escaped.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LINE                                                                                                           \
    "SELECT number, date, kind, (SELECT word FROM word WHERE entry = id AND place = 0), subject, verdict, version, "   \
    "exit_code, id, tables, color FROM entry "

/* Room for one more in an array of `count`; the new one is zero. NULL: no memory. */
static void *one_more(void *array, size_t count, size_t size)
{
    char *moved = realloc(array, (count + 1) * size);
    if (moved != NULL)
        memset(moved + count * size, 0, size);
    return moved;
}

static bc_status read_line(sqlite3_stmt *statement, bc_record_line *line, bc_error *error)
{
    char **const text[] = {&line->kind, &line->command, &line->subject, &line->verdict, &line->version};
    const char *number = (const char *)sqlite3_column_text(statement, 0);
    const char *date = (const char *)sqlite3_column_text(statement, 1);
    bc_status status = number == NULL || date == NULL ? bc_fail_memory(error) : BC_OK;
    if (status != BC_OK)
        return status;
    snprintf(line->number, sizeof line->number, "%s", number);
    snprintf(line->date, sizeof line->date, "%s", date);
    for (int i = 0; status == BC_OK && i < (int)(sizeof text / sizeof *text); i++)
        status = bc_record_text(statement, 2 + i, text[i], error);
    line->exit_code = sqlite3_column_int(statement, 7);
    return status;
}

static void clear_line(bc_record_line *line)
{
    free(line->kind);
    free(line->command);
    free(line->subject);
    free(line->verdict);
    free(line->version);
}

static const char *const search = LINE
    "WHERE ?1 IS NULL OR instr(lower(number || ' ' || date || ' ' || kind || ' ' || subject || ' ' || verdict), "
    "lower(?1)) > 0"
    " OR EXISTS (SELECT 1 FROM word WHERE entry = id AND instr(lower(word), lower(?1)) > 0)"
    " OR EXISTS (SELECT 1 FROM input WHERE entry = id AND instr(lower(path), lower(?1)) > 0)"
    " OR EXISTS (SELECT 1 FROM request WHERE entry = id AND instr(lower(name || ' ' || words || ' ' || substrate), "
    "lower(?1)) > 0)"
    " OR EXISTS (SELECT 1 FROM output JOIN file USING (sha256) WHERE entry = id AND path IS NULL AND "
    "instr(lower(CAST(bytes AS TEXT)), lower(?1)) > 0) ORDER BY id";

bc_status bc_record_list_read(bc_record *record, const char *words, bc_record_list *list, bc_error *error)
{
    sqlite3_stmt *statement = NULL;
    bool more = true;
    bc_status status = bc_record_prepare(record, &statement, error, search, "s", words);
    *list = (bc_record_list){0};
    while (status == BC_OK) {
        bc_record_line *moved;
        status = bc_record_step(record, statement, &more, error);
        if (status != BC_OK || !more)
            break;
        moved = one_more(list->line, list->count, sizeof *moved);
        if (moved == NULL) {
            status = bc_fail_memory(error);
            break;
        }
        list->line = moved;
        status = read_line(statement, &moved[list->count++], error);
    }
    sqlite3_finalize(statement);
    if (status != BC_OK)
        bc_record_list_clear(list);
    return status;
}

void bc_record_list_clear(bc_record_list *list)
{
    for (size_t i = 0; i < list->count; i++)
        clear_line(&list->line[i]);
    free(list->line);
    *list = (bc_record_list){0};
}

static bc_status read_head(bc_record *record, const char *number, sqlite3_int64 *id, bc_record_entry *entry,
                           bc_error *error)
{
    sqlite3_stmt *statement = NULL;
    char shown[BC_ESCAPED_SIZE];
    bool more = false;
    bc_status status = bc_record_prepare(record, &statement, error, LINE "WHERE number = upper(?)", "s", number);
    if (status == BC_OK)
        status = bc_record_step(record, statement, &more, error);
    if (status == BC_OK && !more)
        status = bc_fail(error, BC_ERROR_INPUT, "found '%s', which the record does not have; expected a number of it",
                         bc_escaped(number, shown));
    if (status == BC_OK)
        status = read_line(statement, &entry->line, error);
    if (status == BC_OK)
        status = bc_record_text(statement, 9, &entry->tables, error);
    *id = more ? sqlite3_column_int64(statement, 8) : 0;
    entry->color = more && sqlite3_column_int(statement, 10) != 0;
    sqlite3_finalize(statement);
    return status;
}

static bc_status take_word(sqlite3_stmt *statement, bc_record_entry *entry, bc_error *error)
{
    char **moved = one_more(entry->word, entry->words, sizeof *moved);
    if (moved == NULL)
        return bc_fail_memory(error);
    entry->word = moved;
    return bc_record_text(statement, 0, &moved[entry->words++], error);
}

static bc_status take_setting(sqlite3_stmt *statement, bc_record_entry *entry, bc_error *error)
{
    bc_record_setting *moved = one_more(entry->setting, entry->settings, sizeof *moved);
    bc_status status;
    if (moved == NULL)
        return bc_fail_memory(error);
    entry->setting = moved;
    moved += entry->settings++;
    status = bc_record_text(statement, 0, &moved->name, error);
    return status == BC_OK ? bc_record_text(statement, 1, &moved->value, error) : status;
}

static bc_status take_file(sqlite3_stmt *statement, size_t *count, bc_record_file **files, bc_error *error)
{
    bc_record_file *moved = one_more(*files, *count, sizeof *moved);
    const char *sha256 = (const char *)sqlite3_column_text(statement, 1);
    const void *bytes = sqlite3_column_blob(statement, 2);
    bc_status status;
    if (moved == NULL)
        return bc_fail_memory(error);
    *files = moved;
    moved += (*count)++;
    status = bc_record_text(statement, 0, &moved->path, error);
    if (status != BC_OK || sqlite3_column_type(statement, 2) == SQLITE_NULL)
        return status;
    moved->length = (size_t)sqlite3_column_bytes(statement, 2);
    moved->bytes = malloc(moved->length + 1);
    if (moved->bytes == NULL || sha256 == NULL)
        return bc_fail_memory(error);
    if (moved->length > 0)
        memcpy(moved->bytes, bytes, moved->length);
    moved->bytes[moved->length] = '\0';
    snprintf(moved->sha256, sizeof moved->sha256, "%s", sha256);
    return BC_OK;
}

static bc_status take_input(sqlite3_stmt *statement, bc_record_entry *entry, bc_error *error)
{
    return take_file(statement, &entry->inputs, &entry->input, error);
}

static bc_status take_output(sqlite3_stmt *statement, bc_record_entry *entry, bc_error *error)
{
    return take_file(statement, &entry->outputs, &entry->output, error);
}

static bc_status each_row(bc_record *record, const char *text, sqlite3_int64 id,
                          bc_status (*take)(sqlite3_stmt *statement, bc_record_entry *entry, bc_error *error),
                          bc_record_entry *entry, bc_error *error)
{
    sqlite3_stmt *statement = NULL;
    bool more = true;
    bc_status status = bc_record_prepare(record, &statement, error, text, "i", (long long)id);
    while (status == BC_OK && more) {
        status = bc_record_step(record, statement, &more, error);
        if (status == BC_OK && more)
            status = take(statement, entry, error);
    }
    sqlite3_finalize(statement);
    return status;
}

bc_status bc_record_entry_read(bc_record *record, const char *number, bc_record_entry *entry, bc_error *error)
{
    sqlite3_int64 id = 0;
    bc_status status;
    *entry = (bc_record_entry){0};
    status = read_head(record, number, &id, entry, error);
    if (status == BC_OK)
        status = each_row(record, "SELECT word FROM word WHERE entry = ? ORDER BY place", id, take_word, entry, error);
    if (status == BC_OK)
        status = each_row(record, "SELECT name, value FROM setting WHERE entry = ? ORDER BY name", id, take_setting,
                          entry, error);
    if (status == BC_OK)
        status = each_row(record,
                          "SELECT path, sha256, bytes FROM input LEFT JOIN file USING (sha256) WHERE entry = ? ORDER "
                          "BY place",
                          id, take_input, entry, error);
    if (status == BC_OK)
        status = each_row(
            record, "SELECT path, sha256, bytes FROM output JOIN file USING (sha256) WHERE entry = ? ORDER BY place",
            id, take_output, entry, error);
    if (status != BC_OK)
        bc_record_entry_clear(entry);
    return status;
}

static void clear_files(size_t count, bc_record_file *file)
{
    for (size_t i = 0; i < count; i++) {
        free(file[i].path);
        free(file[i].bytes);
    }
    free(file);
}

void bc_record_entry_clear(bc_record_entry *entry)
{
    clear_line(&entry->line);
    free(entry->tables);
    for (size_t i = 0; i < entry->words; i++)
        free(entry->word[i]);
    for (size_t i = 0; i < entry->settings; i++) {
        free(entry->setting[i].name);
        free(entry->setting[i].value);
    }
    free(entry->word);
    free(entry->setting);
    clear_files(entry->inputs, entry->input);
    clear_files(entry->outputs, entry->output);
    *entry = (bc_record_entry){0};
}
