/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"
#include "escaped.h"
#include "output.h"
#include "recording.h"
#include <bloomcoat/version.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { LIST, SHOW, SEARCH, EXPORT, CHECK, REOPEN, ACTIONS };
static const char *const actions[ACTIONS] = {"list", "show", "search", "export", "check", "reopen"};

static bool takes_word(size_t action)
{
    return action == SHOW || action == SEARCH || action == REOPEN;
}

static bc_status write_text(const cli_session *session, bc_status status, bc_text *text, bc_error *error)
{
    if (status == BC_OK)
        status = cli_output_write(session->output, text, error);
    bc_text_clear(text);
    return status;
}

/* A shop that has recorded nothing yet has an empty list. */
static bc_status list(const cli_session *session, bc_record *record, size_t action, const char *words, bc_error *error)
{
    bc_record_list found = {0};
    bc_text text = {0};
    bc_status status = record == NULL ? BC_OK : bc_record_list_read(record, words, &found, error);
    if (status != BC_OK)
        return status;
    status = session->json      ? bc_report_record_list_json(&found, &text, error)
             : action == EXPORT ? bc_report_record_list_csv(&found, &text, error)
                                : bc_report_record_list_text(&found, &text, error);
    bc_record_list_clear(&found);
    return write_text(session, status, &text, error);
}

/* Files under their last names, numbered: several folders may have had the same. */
static bc_status write_files(const char *folder, size_t count, const bc_record_file *file, const char *kind,
                             bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t i = 0, number = 0; status == BC_OK && i < count; i++) {
        const char *path = file[i].path == NULL ? "result.txt" : file[i].path;
        const char *slash = strrchr(path, '/');
        const bc_text text = {.data = file[i].bytes, .length = file[i].length};
        char *name = NULL, *place = NULL;
        if (file[i].bytes == NULL)
            continue;
        if (asprintf(&name, "%s-%03zu-%s", kind, ++number, slash == NULL ? path : slash + 1) < 0) {
            name = NULL;
            status = bc_fail_memory(error);
        }
        if (status == BC_OK)
            status = cli_path_in(folder, name, &place, error);
        if (status == BC_OK)
            status = cli_output_write(place, &text, error);
        free(name);
        free(place);
    }
    return status;
}

static bc_status show(const cli_session *session, bc_record *record, const char *number, bc_error *error)
{
    const char *folder = cli_value(session->arguments, "files");
    bc_record_entry entry;
    bc_text text = {0};
    bc_status status = bc_record_entry_read(record, number, &entry, error);
    if (status != BC_OK)
        return status;
    if (folder != NULL) {
        status = cli_make_folder(folder, error);
        if (status == BC_OK)
            status = write_files(folder, entry.inputs, entry.input, "read", error);
        if (status == BC_OK)
            status = write_files(folder, entry.outputs, entry.output, "written", error);
    }
    if (status == BC_OK)
        status = session->json ? bc_report_record_entry_json(&entry, &text, error)
                               : bc_report_record_entry_text(&entry, &text, error);
    bc_record_entry_clear(&entry);
    return write_text(session, status, &text, error);
}

static bc_status check(const cli_session *session, bc_record *record, const char *path, bool *met, bc_error *error)
{
    bc_record_check found;
    bc_text text = {0};
    bc_status status = bc_record_check_all(record, &found, error);
    if (status != BC_OK)
        return status;
    *met = found.faults == 0;
    status = session->json ? bc_report_record_check_json(path, &found, &text, error)
                           : bc_report_record_check_text(path, &found, &text, error);
    bc_record_check_clear(&found);
    return write_text(session, status, &text, error);
}

static bool has_word(const bc_record_entry *entry, const char *word)
{
    for (size_t i = 0; i < entry->words; i++)
        if (strncmp(entry->word[i], word, strlen(word)) == 0)
            return true;
    return false;
}

/* Each output of then against that of now. */
static void compare(const bc_record_entry *entry, const cli_rerun *now, bc_record_again *again)
{
    again->all_same = entry->outputs == now->outputs && now->exit_code == entry->line.exit_code;
    for (size_t i = 0; i < entry->outputs; i++) {
        const bc_record_file *one = &entry->output[i];
        for (size_t j = 0; j < now->outputs; j++) {
            const bc_record_file *other = &now->output[j];
            again->same[i] =
                again->same[i] || ((one->path == NULL) == (other->path == NULL) &&
                                   (one->path == NULL || strcmp(one->path, other->path) == 0) &&
                                   one->length == other->length && memcmp(one->bytes, other->bytes, one->length) == 0);
        }
        again->all_same = again->all_same && again->same[i];
    }
}

static bc_status run_again(const bc_record_entry *entry, cli_rerun *now, bc_error *error)
{
    const cli_command *command = NULL;
    bc_error inner = {0};
    bc_status status = cli_find_command(entry->line.command == NULL ? "" : entry->line.command, &command, error);
    if (status == BC_OK)
        status = cli_rerun_entry(entry, command, cli_run, now, &inner);
    if (inner.status == BC_OK || status == BC_OK)
        return status;
    return status == BC_ERROR_INPUT
               ? bc_fail(error, status, "%s could not be computed again: %s", entry->line.number, inner.message)
               : bc_fail(error, status, "%s", inner.message);
}

static bc_status reopen(const cli_session *session, bc_record *record, const char *number, bool *met, bc_error *error)
{
    bc_record_entry entry;
    cli_rerun now = {0};
    bc_record_again again = {.version = BC_VERSION};
    bc_text text = {0};
    bc_status status = bc_record_entry_read(record, number, &entry, error);
    if (status != BC_OK)
        return status;
    again.entry = &entry;
    again.by_time = has_word(&entry, "--seconds");
    again.same = calloc(entry.outputs + 1, sizeof *again.same);
    status = again.same == NULL ? bc_fail_memory(error) : run_again(&entry, &now, error);
    if (status == BC_OK) {
        again.exit_code = now.exit_code;
        again.outputs = now.outputs;
        again.output = now.output;
        compare(&entry, &now, &again);
        *met = again.all_same;
        status = session->json ? bc_report_record_again_json(&again, &text, error)
                               : bc_report_record_again_text(&again, &text, error);
    }
    free(again.same);
    cli_rerun_clear(&now);
    bc_record_entry_clear(&entry);
    return write_text(session, status, &text, error);
}

static bc_status find_action(const cli_arguments *arguments, size_t *action, bc_error *error)
{
    char shown[BC_ESCAPED_SIZE];
    for (*action = 0; *action < ACTIONS; (*action)++)
        if (strcmp(arguments->operand, actions[*action]) == 0)
            break;
    if (*action == ACTIONS)
        return bc_fail(error, BC_ERROR_INPUT,
                       "found '%s'; expected 'list', 'show', 'search', 'export', 'check' or 'reopen' after 'record'",
                       bc_escaped(arguments->operand, shown));
    if (arguments->operands != (takes_word(*action) ? 2 : 1))
        return bc_fail(error, BC_ERROR_INPUT, "found %zu words after 'record'; expected %s", arguments->operands,
                       *action == SEARCH     ? "'search' and what to look for"
                       : takes_word(*action) ? "the action and a number, as in 'record show Q-0001'"
                                             : "the action alone");
    if (cli_has(arguments, "files") && *action != SHOW)
        return bc_fail(error, BC_ERROR_INPUT, "--files: found with '%s'; expected with 'show'", arguments->operand);
    if (arguments->shop == NULL)
        return bc_fail(error, BC_ERROR_INPUT, "record needs the shop whose record it is: --shop DIR or BLOOMCOAT_SHOP");
    return BC_OK;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    const char *word = arguments->operands > 1 ? arguments->all_operands[1] : NULL;
    bc_record *record = NULL;
    char *path = NULL;
    size_t action = LIST;
    bc_status status = find_action(arguments, &action, error);
    *met = true;
    if (status == BC_OK)
        status = cli_record_path(arguments->shop->folder, &path, error);
    if (status == BC_OK)
        status = cli_note_input(session, path, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK && (action == SHOW || action == CHECK || action == REOPEN || access(path, F_OK) == 0))
        status = bc_record_open(path, false, &record, error);
    if (status == BC_OK && action == SHOW)
        status = show(session, record, word, error);
    else if (status == BC_OK && action == CHECK)
        status = check(session, record, path, met, error);
    else if (status == BC_OK && action == REOPEN)
        status = reopen(session, record, word, met, error);
    else if (status == BC_OK)
        status = list(session, record, action, word, error);
    bc_record_close(record);
    free(path);
    return status;
}

static const cli_option options[] = {
    {"files", "DIR", false, "of show: write every file that was read and written into DIR as well"},
    CLI_OPTION_END,
};

const cli_command cli_record = {
    .name = "record",
    .operand = "ACTION...",
    .needs = "--shop DIR",
    .summary = "The shop's record: 'list', 'show NUMBER', 'search WORDS', 'export' (CSV), 'check', 'reopen NUMBER'.",
    .details =
        "draft, refine, quote, inspect and index write into it with --record, or always where shop.csv says "
        "record,yes. 'reopen' computes an entry again from the files stored with it, and compares byte for byte; "
        "'check' compares every stored file with its checksum. Exit 1: it differs, or is damaged.",
    .example = "record list --shop examples/shop",
    .option = options,
    .run = run,
};
