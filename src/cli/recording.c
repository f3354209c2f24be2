/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording.h"
#include "escaped.h"
#include "paths.h"
#include "place.h"
#include "recorded_files.h"
#include "shop.h"
#include "text.h"
#include <bloomcoat/version.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

/* Variables that change what a command reads or writes. */
static const char *const settings[] = {"BLOOMCOAT_SHOP", "BLOOMCOAT_TABLES", "SOURCE_DATE_EPOCH"};
#define SETTINGS (sizeof settings / sizeof *settings)

static struct {
    bool watching, wanted, color, again;
    size_t words;
    char *const *word;
    char *path;        /* of the record */
    bc_record *record; /* an entry is being written */
    char number[BC_RECORD_NUMBER_SIZE];
    char verdict[64];
    cli_files read, written;
    char tables[PATH_MAX];        /* empty: none */
    const bc_record_entry *entry; /* that runs again */
    char *folder;                 /* with its files */
} now;

static void saw(void *context, const char *path, const char *bytes, size_t length)
{
    (void)context;
    cli_files_add(&now.read, path, bytes, length);
}

static const bc_places watched = {.seen = saw};

static bool has_option(const cli_command *command, const char *name)
{
    for (const cli_option *option = command->option; option->name != NULL; option++)
        if (strcmp(option->name, name) == 0)
            return true;
    return false;
}

void cli_recording_watch(const cli_command *command, size_t count, char *const *words)
{
    if (now.again || !has_option(command, "record"))
        return;
    now.watching = true;
    now.words = count;
    now.word = words;
    bc_places_set(&watched);
}

static void stop_watching(void)
{
    bc_places_set(NULL);
    now.watching = false;
}

bc_status cli_record_path(const char *folder, char **path, bc_error *error)
{
    return cli_path_in(folder, "record.db", path, error);
}

/* A record that cannot be read or written is found out before the work. */
static bc_status try_record(const char *folder, bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE];
    bc_record *record = NULL;
    bc_status status = BC_OK;
    if (access(now.path, F_OK) == 0)
        status = bc_record_open(now.path, false, &record, error);
    else if (access(folder, W_OK | X_OK) != 0)
        status = bc_fail(error, BC_ERROR_INPUT, "%s: found a folder that may not be written; expected the shop's own",
                         bc_escaped_path(folder, shown));
    bc_record_close(record);
    return status;
}

bc_status cli_recording_check(const cli_arguments *arguments, bc_error *error)
{
    const bc_shop *shop = arguments->shop;
    bc_status status;
    if (now.again || !now.watching)
        return BC_OK;
    now.wanted = cli_has(arguments, "record");
    if (!now.wanted) {
        stop_watching();
        cli_files_clear(&now.read);
        return BC_OK;
    }
    if (shop == NULL)
        return bc_fail(error, BC_ERROR_INPUT,
                       "--record: found no shop, in whose folder the record lies; expected --shop DIR or "
                       "BLOOMCOAT_SHOP");
    status = cli_record_path(shop->folder, &now.path, error);
    return status == BC_OK ? try_record(shop->folder, error) : status;
}

static void find_date(const cli_session *session, char date[BC_RECORD_DATE_SIZE])
{
    const time_t seconds = time(NULL);
    struct tm day;
    if (session->date[0] != '\0')
        snprintf(date, BC_RECORD_DATE_SIZE, "%.*s", BC_RECORD_DATE_SIZE - 1, session->date);
    else if (localtime_r(&seconds, &day) == NULL || strftime(date, BC_RECORD_DATE_SIZE, "%Y-%m-%d", &day) == 0)
        snprintf(date, BC_RECORD_DATE_SIZE, "unknown");
}

static const char *subject_of(const cli_arguments *arguments)
{
    static const char *const option[] = {"part-number", "title", "callouts", "callout"};
    const char *value = NULL;
    for (size_t i = 0; value == NULL && i < 2; i++)
        value = has_option(arguments->command, option[i]) ? cli_value(arguments, option[i]) : NULL;
    if (value == NULL)
        value = arguments->operand;
    for (size_t i = 2; value == NULL && i < 4; i++)
        value = has_option(arguments->command, option[i]) ? cli_value(arguments, option[i]) : NULL;
    return value == NULL ? "" : value;
}

bc_status cli_recording_begin(const cli_session *session, bc_record_kind kind, const char *verdict, bc_error *error)
{
    char date[BC_RECORD_DATE_SIZE];
    const bc_record_command command = {.kind = kind,
                                       .date = date,
                                       .version = BC_VERSION,
                                       .subject = subject_of(session->arguments),
                                       .tables = now.tables[0] == '\0' ? NULL : now.tables,
                                       .color = now.color,
                                       .words = now.words,
                                       .word = (const char *const *)now.word};
    const bc_shop *shop = session->arguments->shop;
    unsigned long first = 0;
    bc_status status = BC_OK;
    if (now.again || !now.wanted)
        return BC_OK;
    find_date(session, date);
    snprintf(now.verdict, sizeof now.verdict, "%s", verdict);
    if (kind == BC_RECORD_QUOTE && shop->has[BC_SHOP_FIRST_QUOTE_NUMBER]) /* shared with what is not recorded */
        status = bc_shop_take_quote_number(shop, &first, error);
    if (status == BC_OK)
        status = bc_record_open(now.path, true, &now.record, error);
    if (status == BC_OK)
        status = bc_record_begin(now.record, &command, first, now.number, error);
    return status;
}

bc_record *cli_recording_record(void)
{
    return now.record;
}

const char *cli_recording_number(void)
{
    return now.number[0] == '\0' ? NULL : now.number;
}

void cli_recording_output(const char *path, const bc_text *text)
{
    if (now.record != NULL || now.again)
        cli_files_add(&now.written, cli_is_standard_output(path) ? "" : path, text->data == NULL ? "" : text->data,
                      text->length);
}

/* All files and variables, and the commit. */
static bc_status keep(bool met, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i < SETTINGS; i++)
        if (getenv(settings[i]) != NULL)
            status = bc_record_add_setting(now.record, settings[i], getenv(settings[i]), error);
    for (size_t i = 0; status == BC_OK && i < now.read.count; i++)
        status = bc_record_add_input(now.record, now.read.file[i].path, now.read.file[i].bytes, now.read.file[i].length,
                                     error);
    for (size_t i = 0; status == BC_OK && i < now.written.count; i++) {
        const bc_record_file *file = &now.written.file[i];
        status = bc_record_add_output(now.record, file->path[0] == '\0' ? NULL : file->path, file->bytes, file->length,
                                      error);
    }
    return status == BC_OK ? bc_record_commit(now.record, met ? CLI_EXIT_MET : CLI_EXIT_NOT_MET, now.verdict, error)
                           : status;
}

/* The results are there already: the message must not read as if they were not. */
static bc_status fail_kept(bc_status status, bc_error *error)
{
    const bc_error inner = *error;
    return bc_fail(error, status == BC_ERROR_INPUT ? BC_ERROR_IO : status,
                   "the results were written, but not recorded: %s", inner.message);
}

bc_status cli_recording_end(bc_status status, bool met, bool quiet, bc_error *error)
{
    if (now.again)
        return status;
    if (now.watching)
        stop_watching();
    if (status == BC_OK && now.record != NULL) {
        status = cli_files_complete(&now.read, error);
        if (status == BC_OK && now.written.failed)
            status = bc_fail_memory(error);
        if (status == BC_OK)
            status = keep(met, error);
        if (status != BC_OK)
            status = fail_kept(status, error);
        else if (!quiet)
            fprintf(stderr, "bloomcoat: recorded as %s in %s\n", now.number, now.path);
    }
    bc_record_close(now.record);
    cli_files_clear(&now.read);
    cli_files_clear(&now.written);
    free(now.path);
    now.path = NULL;
    now.record = NULL;
    now.number[0] = '\0';
    return status;
}

void cli_recording_tables(const char *folder)
{
    snprintf(now.tables, sizeof now.tables, "%s", folder == NULL ? "" : folder);
}

bool cli_recording_color(bool color)
{
    if (now.again)
        return now.color;
    now.color = color;
    return color;
}

/* ---- again ---- */

static const char *stored_place(void *context, const char *path)
{
    (void)context;
    for (size_t i = 0; i < now.read.count; i++)
        if (strcmp(now.read.file[i].path, path) == 0)
            return now.read.file[i].bytes;
    return "";
}

static const bc_places stored = {.where = stored_place};

/* The variables as they were; what they are now goes into `kept`, for the way back. */
static bc_status set_variables(const bc_record_entry *entry, char *kept[SETTINGS], bc_error *error)
{
    for (size_t i = 0; i < SETTINGS; i++) {
        const char *value = getenv(settings[i]);
        kept[i] = value == NULL ? NULL : strdup(value);
        if (value != NULL && kept[i] == NULL)
            return bc_fail_memory(error);
        unsetenv(settings[i]);
        for (size_t s = 0; s < entry->settings; s++)
            if (strcmp(entry->setting[s].name, settings[i]) == 0 && setenv(settings[i], entry->setting[s].value, 1))
                return bc_fail_memory(error);
    }
    return BC_OK;
}

static void reset_variables(char *kept[SETTINGS])
{
    for (size_t i = 0; i < SETTINGS; i++) {
        if (kept[i] == NULL)
            unsetenv(settings[i]);
        else
            setenv(settings[i], kept[i], 1);
        free(kept[i]);
    }
}

static bc_status run_again(const bc_record_entry *entry, const cli_command *command,
                           int (*run)(cli_arguments *arguments, bc_error *error), cli_rerun *again, bc_error *error)
{
    char *kept[SETTINGS] = {NULL};
    cli_arguments arguments = {0};
    bc_status status = set_variables(entry, kept, error);
    bc_places_set(&stored);
    if (status == BC_OK)
        status = cli_parse(command, (int)entry->words - 1, entry->word + 1, &arguments, error);
    if (status == BC_OK) {
        again->exit_code = run(&arguments, error);
        status = again->exit_code <= CLI_EXIT_NOT_MET ? BC_OK
                 : now.written.failed                 ? bc_fail_memory(error)
                                                      : error->status;
    }
    bc_places_set(NULL);
    reset_variables(kept);
    free(arguments.given);
    free(arguments.all_operands);
    return status;
}

bc_status cli_rerun_entry(const bc_record_entry *entry, const cli_command *command,
                          int (*run)(cli_arguments *arguments, bc_error *error), cli_rerun *again, bc_error *error)
{
    bc_status status;
    *again = (cli_rerun){0};
    now.again = true;
    now.entry = entry;
    now.color = entry->color;
    snprintf(now.number, sizeof now.number, "%s", entry->line.number);
    status = cli_files_lay_out(entry->inputs, entry->input, &now.folder, &now.read, error);
    if (status == BC_OK)
        status = run_again(entry, command, run, again, error);
    again->outputs = now.written.count;
    again->output = now.written.file;
    now.written = (cli_files){0};
    cli_files_remove(now.folder, &now.read);
    free(now.folder);
    now.folder = NULL;
    now.again = false;
    now.number[0] = '\0';
    for (size_t i = 0; i < again->outputs; i++) {
        bc_record_file *file = &again->output[i];
        if (file->path[0] == '\0') {
            free(file->path);
            file->path = NULL;
        }
        bc_sha256(file->bytes, file->length, file->sha256);
    }
    return status;
}

void cli_rerun_clear(cli_rerun *again)
{
    cli_files files = {.count = again->outputs, .file = again->output};
    cli_files_clear(&files);
    *again = (cli_rerun){0};
}

bool cli_recording_wanted(void)
{
    return now.wanted || now.again;
}

bool cli_rerunning(void)
{
    return now.again;
}

const char *cli_rerun_tables(void)
{
    return now.entry->tables;
}
