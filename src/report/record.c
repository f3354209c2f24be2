/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The shop's record.
 */
#include "escaped.h"
#include "internal/json.h"
#include "internal/table.h"
#include <string.h>

#define SUM_SHOWN 12 /* digits of a checksum, for a person to compare */

/* ---- lists ---- */

bc_status bc_report_record_list_text(const bc_record_list *list, bc_text *out, bc_error *error)
{
    static const char *const heading[] = {"number", "date", "command", "verdict", "subject"};
    bc_table table = {.columns = 5, .cut_last = true};
    char shown[BC_ESCAPED_SIZE];
    if (list->count == 0) {
        bc_text_add(out, "The record has no such entry.\n");
        return bc_text_end(out, error);
    }
    bc_table_row(&table);
    for (size_t column = 0; column < table.columns; column++)
        bc_table_cell(&table, column, "%s", heading[column]);
    for (size_t i = 0; i < list->count; i++) {
        const bc_record_line *line = &list->line[i];
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%s", line->number);
        bc_table_cell(&table, 1, "%s", line->date);
        bc_table_cell(&table, 2, "%s", line->command);
        bc_table_cell(&table, 3, "%s", line->verdict);
        bc_table_cell(&table, 4, "%s", bc_escaped(line->subject, shown));
    }
    bc_table_write(&table, out);
    return bc_text_end(out, error);
}

/* A cell of a CSV file, in quotes where it needs them (RFC 4180). */
static void add_cell(bc_text *out, const char *cell)
{
    if (strpbrk(cell, ",\"\r\n") == NULL) {
        bc_text_add(out, "%s", cell);
        return;
    }
    bc_text_add(out, "\"");
    for (const char *letter = cell; *letter != '\0'; letter++)
        bc_text_add(out, *letter == '"' ? "\"\"" : "%c", *letter);
    bc_text_add(out, "\"");
}

bc_status bc_report_record_list_csv(const bc_record_list *list, bc_text *out, bc_error *error)
{
    bc_text_add(out, "number,date,kind,command,subject,verdict,exit_code,version\n");
    for (size_t i = 0; i < list->count; i++) {
        const bc_record_line *line = &list->line[i];
        bc_text_add(out, "%s,%s,%s,%s,", line->number, line->date, line->kind, line->command);
        add_cell(out, line->subject);
        bc_text_add(out, ",");
        add_cell(out, line->verdict);
        bc_text_add(out, ",%d,%s\n", line->exit_code, line->version);
    }
    return bc_text_end(out, error);
}

static void line_json(const bc_record_line *line, cJSON *object, bc_json *json)
{
    bc_json_string(json, object, "number", line->number);
    bc_json_string(json, object, "date", line->date);
    bc_json_string(json, object, "kind", line->kind);
    bc_json_string(json, object, "command", line->command);
    bc_json_string(json, object, "subject", line->subject);
    bc_json_string(json, object, "verdict", line->verdict);
    bc_json_number(json, object, "exit_code", line->exit_code, 15);
    bc_json_string(json, object, "version", line->version);
}

bc_status bc_report_record_list_json(const bc_record_list *list, bc_text *out, bc_error *error)
{
    bc_json json;
    cJSON *entries;
    bc_json_open(&json);
    entries = bc_json_array(&json, json.root, "entries");
    for (size_t i = 0; i < list->count; i++)
        line_json(&list->line[i], bc_json_object(&json, entries, NULL), &json);
    return bc_json_close(&json, out, error);
}

/* ---- one entry ---- */

/* A word as a shell takes it. */
static void add_shell_word(bc_text *out, const char *word)
{
    if (*word != '\0' &&
        strspn(word, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-+=./,:@%") == strlen(word)) {
        bc_text_add_plain(out, word);
        return;
    }
    bc_text_add(out, "'");
    for (const char *rest = word; *rest != '\0';) {
        char piece[BC_ESCAPED_PIECE];
        uint32_t code;
        const size_t length = bc_escaped_one(rest, piece, &code);
        bc_text_add(out, "%s", *rest == '\'' ? "'\\''" : piece);
        rest += length;
    }
    bc_text_add(out, "'");
}

static void add_files(bc_text *out, const char *heading, size_t count, const bc_record_file *file)
{
    bc_text_add(out, "%s:\n", heading);
    for (size_t i = 0; i < count; i++) {
        if (file[i].bytes == NULL)
            continue; /* a folder */
        bc_text_add(out, "  %.*s %9zu bytes  ", SUM_SHOWN, file[i].sha256, file[i].length);
        bc_text_add_plain(out, file[i].path == NULL ? "(standard output)" : file[i].path);
        bc_text_add(out, "\n");
    }
}

/* What was printed, unless that is a picture or a page. */
static const bc_record_file *printed(const bc_record_entry *entry)
{
    for (size_t i = 0; i < entry->outputs; i++)
        if (entry->output[i].path == NULL && memchr(entry->output[i].bytes, '\0', entry->output[i].length) == NULL)
            return &entry->output[i];
    return NULL;
}

bc_status bc_report_record_entry_text(const bc_record_entry *entry, bc_text *out, bc_error *error)
{
    const bc_record_file *result = printed(entry);
    bc_text words = {0};
    bc_text_add(out, "%s of %s: %s, %s (exit code %d), by bloomcoat %s.\n", entry->line.number, entry->line.date,
                entry->line.kind, entry->line.verdict, entry->line.exit_code, entry->line.version);
    bc_text_add(&words, "bloomcoat");
    for (size_t i = 0; i < entry->words; i++) {
        bc_text_add(&words, " ");
        add_shell_word(&words, entry->word[i]);
    }
    bc_text_wrap_gathered(out, 4, &words);
    add_files(out, "Read (the checksums are the first digits of the SHA-256)", entry->inputs, entry->input);
    add_files(out, "Written", entry->outputs, entry->output);
    if (result != NULL) {
        bc_text_add(out, "\n");
        bc_text_add_bytes(out, result->bytes, result->length);
    }
    return bc_text_end(out, error);
}

static void files_json(bc_json *json, const char *name, size_t count, const bc_record_file *file)
{
    cJSON *array = bc_json_array(json, json->root, name);
    for (size_t i = 0; i < count; i++) {
        cJSON *object;
        if (file[i].bytes == NULL)
            continue;
        object = bc_json_object(json, array, NULL);
        bc_json_string(json, object, "file", file[i].path);
        bc_json_string(json, object, "sha256", file[i].sha256);
        bc_json_number(json, object, "bytes", (double)file[i].length, 15);
    }
}

bc_status bc_report_record_entry_json(const bc_record_entry *entry, bc_text *out, bc_error *error)
{
    bc_json json;
    cJSON *words;
    bc_json_open(&json);
    line_json(&entry->line, json.root, &json);
    words = bc_json_array(&json, json.root, "command_line");
    for (size_t i = 0; i < entry->words; i++)
        bc_json_string(&json, words, NULL, entry->word[i]);
    files_json(&json, "inputs", entry->inputs, entry->input);
    files_json(&json, "outputs", entry->outputs, entry->output);
    return bc_json_close(&json, out, error);
}

/* ---- checks ---- */

bc_status bc_report_record_check_text(const char *path, const bc_record_check *check, bc_text *out, bc_error *error)
{
    bc_text words = {0};
    bc_text_add_plain(&words, path);
    bc_text_add(&words, ": %zu %s, %zu stored %s of %.1f MB: %s.", check->entries,
                check->entries == 1 ? "entry" : "entries", check->files, check->files == 1 ? "file" : "files",
                check->bytes / 1e6,
                check->faults == 0 ? "the database is whole, and every stored file has the bytes it was stored with"
                                   : "it is damaged");
    bc_text_wrap_gathered(out, 0, &words);
    for (size_t i = 0; i < check->faults; i++) {
        bc_text_add_plain(&words, check->fault[i]);
        bc_text_wrap_gathered(out, 2, &words);
    }
    return bc_text_end(out, error);
}

bc_status bc_report_record_check_json(const char *path, const bc_record_check *check, bc_text *out, bc_error *error)
{
    bc_json json;
    cJSON *faults;
    bc_json_open(&json);
    bc_json_string(&json, json.root, "record_file", path);
    bc_json_number(&json, json.root, "count", (double)check->entries, 15);
    bc_json_number(&json, json.root, "files", (double)check->files, 15);
    bc_json_number(&json, json.root, "bytes", check->bytes, 15);
    faults = bc_json_array(&json, json.root, "faults");
    for (size_t i = 0; i < check->faults; i++)
        bc_json_string(&json, faults, NULL, check->fault[i]);
    return bc_json_close(&json, out, error);
}

/* ---- computed again ---- */

static const bc_record_file *output_of(const bc_record_again *again, const char *path)
{
    for (size_t i = 0; i < again->outputs; i++) {
        const char *other = again->output[i].path;
        if ((path == NULL) == (other == NULL) && (path == NULL || strcmp(path, other) == 0))
            return &again->output[i];
    }
    return NULL;
}

/* Why it may differ. */
static void add_reasons(bc_text *words, const bc_record_again *again)
{
    if (strcmp(again->version, again->entry->line.version) != 0)
        bc_text_add(words, " It was made by bloomcoat %s, and computed again by %s.", again->entry->line.version,
                    again->version);
    else if (again->by_time)
        bc_text_add(words, " Its search was ended by --seconds, so that it depends on the machine.");
    else
        bc_text_add(words, " The version is the same: another kind of processor rounds differently, or the search was "
                           "interrupted.");
}

bc_status bc_report_record_again_text(const bc_record_again *again, bc_text *out, bc_error *error)
{
    const bc_record_line *line = &again->entry->line;
    bc_text words = {0};
    bc_text_add(&words, "%s of %s, computed again from its stored files: ", line->number, line->date);
    if (again->all_same && strcmp(again->version, line->version) == 0)
        bc_text_add(&words, "byte for byte the same.");
    else if (again->all_same)
        bc_text_add(&words, "byte for byte the same, though it was made by bloomcoat %s and computed again by %s.",
                    line->version, again->version);
    else {
        bc_text_add(&words, "NOT the same.");
        add_reasons(&words, again);
    }
    bc_text_wrap_gathered(out, 0, &words);
    if (again->exit_code != line->exit_code)
        bc_text_add(out, "  exit code %d, and now %d\n", line->exit_code, again->exit_code);
    for (size_t i = 0; i < again->entry->outputs; i++) {
        const char *path = again->entry->output[i].path;
        bc_text_add(out, "  %s  ",
                    again->same[i]                   ? "the same "
                    : output_of(again, path) == NULL ? "missing  "
                                                     : "DIFFERENT");
        bc_text_add_plain(out, path == NULL ? "(standard output)" : path);
        bc_text_add(out, "\n");
    }
    return bc_text_end(out, error);
}

bc_status bc_report_record_again_json(const bc_record_again *again, bc_text *out, bc_error *error)
{
    bc_json json;
    cJSON *array;
    bc_json_open(&json);
    bc_json_string(&json, json.root, "number", again->entry->line.number);
    bc_json_string(&json, json.root, "recorded_version", again->entry->line.version);
    bc_json_string(&json, json.root, "version", again->version);
    bc_json_bool(&json, json.root, "same", again->all_same);
    bc_json_number(&json, json.root, "recorded_exit_code", again->entry->line.exit_code, 15);
    bc_json_number(&json, json.root, "exit_code", again->exit_code, 15);
    array = bc_json_array(&json, json.root, "compared");
    for (size_t i = 0; i < again->entry->outputs; i++) {
        const bc_record_file *stored = &again->entry->output[i], *now = output_of(again, stored->path);
        cJSON *object = bc_json_object(&json, array, NULL);
        bc_json_string(&json, object, "file", stored->path);
        bc_json_bool(&json, object, "same", again->same[i]);
        bc_json_string(&json, object, "recorded_sha256", stored->sha256);
        bc_json_string(&json, object, "sha256", now == NULL ? NULL : now->sha256);
    }
    return bc_json_close(&json, out, error);
}
