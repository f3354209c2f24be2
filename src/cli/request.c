/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "request.h"
#include <bloomcoat/callout_words.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NAME_SIZE 64

/* "part_diameter_mm" as an option: "part-diameter-mm". */
static const char *option_name(const char *key, char to[NAME_SIZE])
{
    snprintf(to, NAME_SIZE, "%s", key);
    for (char *letter = to; *letter != '\0'; letter++)
        *letter = (char)(*letter == '_' ? '-' : *letter);
    return to;
}

static const cli_option *option_of(const cli_command *command, const char *key)
{
    char name[NAME_SIZE];
    option_name(key, name);
    for (const cli_option *option = command->option; option->name != NULL; option++)
        if (strcmp(option->name, name) == 0)
            return option;
    return NULL;
}

/* What the callouts are is read from the request itself. */
static bool is_option(const bc_request_entry *entry)
{
    return strcmp(entry->key, "surface") != 0 && strncmp(entry->key, "callout", 7) != 0;
}

static bool has_from(const cli_arguments *arguments, const cli_option *option, cli_origin origin)
{
    for (size_t i = 0; i < arguments->count; i++)
        if (arguments->given[i].option == option && arguments->given[i].origin == origin)
            return true;
    return false;
}

/* A key of the surface wins over the same one of the whole request. */
static bool is_overridden(const bc_request *request, const bc_request_entry *entry, size_t surface)
{
    for (size_t i = 0; entry->surface == 0 && surface > 0 && i < request->entries; i++)
        if (request->entry[i].surface == surface && request->entry[i].key == entry->key)
            return true;
    return false;
}

static bc_status take_entry(const bc_request *request, const bc_request_entry *entry, cli_arguments *out,
                            bc_error *error)
{
    const cli_option *option = option_of(out->command, entry->key);
    const bool is_switch = option != NULL && option->value == NULL;
    if (option == NULL || has_from(out, option, CLI_FROM_COMMAND_LINE) ||
        (is_switch && strcmp(entry->value, "no") == 0))
        return BC_OK;
    if (is_switch && strcmp(entry->value, "yes") != 0)
        return bc_fail(error, BC_ERROR_INPUT, "%s:%ld: %s: found '%s'; expected yes or no", request->path, entry->line,
                       entry->key, entry->value);
    out->given[out->count++] = (cli_given){option, is_switch ? NULL : entry->value, CLI_FROM_REQUEST, entry->line};
    return BC_OK;
}

bc_status cli_request_arguments(const cli_arguments *base, const bc_request *request, size_t surface,
                                cli_arguments *out, bc_error *error)
{
    bc_status status = BC_OK;
    *out = *base;
    out->count = 0;
    out->given = calloc(base->count + request->entries + 1, sizeof *out->given);
    if (out->given == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < base->count; i++)
        if (base->given[i].origin == CLI_FROM_COMMAND_LINE)
            out->given[out->count++] = base->given[i];
    for (size_t i = 0; status == BC_OK && i < request->entries; i++) {
        const bc_request_entry *entry = &request->entry[i];
        if (is_option(entry) && (entry->surface == 0 || entry->surface == surface) &&
            !is_overridden(request, entry, surface))
            status = take_entry(request, entry, out, error);
    }
    for (size_t i = 0; i < base->count; i++)
        if (base->given[i].origin == CLI_FROM_SHOP && !has_from(out, base->given[i].option, CLI_FROM_REQUEST))
            out->given[out->count++] = base->given[i];
    return status;
}

const char *cli_request_surface(const bc_request *request, size_t surface)
{
    for (size_t i = 0; surface > 0 && i < request->entries; i++)
        if (request->entry[i].surface == surface && strcmp(request->entry[i].key, "surface") == 0)
            return request->entry[i].value;
    return NULL;
}

static bc_status fail_entry(const cli_session *session, const bc_request_entry *entry, const char *expected,
                            bc_error *error)
{
    return bc_fail(error, BC_ERROR_INPUT, "%s:%ld: %s: found '%.100s'; expected %s", session->request->path,
                   entry->line, entry->key, entry->value, expected);
}

/* What is said of the callouts from `first` on: a name, or the one glass they are for. */
static bc_status describe(cli_session *session, const bc_request_entry *entry, size_t first, bc_error *error)
{
    bc_callouts *callouts = &session->callouts;
    const bool is_name = strcmp(entry->key, "callout_name") == 0;
    bc_medium glass;
    char where[600];
    bc_status status = BC_OK;
    if (callouts->count == first || (is_name && callouts->count > first + 1))
        return fail_entry(session, entry, "it after a callout with one limit", error);
    if (strlen(entry->value) >= (is_name ? BC_CALLOUT_NAME_SIZE : BC_NAME_SIZE))
        return fail_entry(session, entry, "a shorter name", error);
    snprintf(where, sizeof where, "%s:%ld", session->request->path, entry->line);
    if (!is_name)
        status = bc_medium_find(session->materials, entry->value, where, &glass, error);
    for (size_t i = first; status == BC_OK && i < callouts->count; i++)
        snprintf(is_name ? callouts->callout[i].name : callouts->callout[i].substrate,
                 is_name ? BC_CALLOUT_NAME_SIZE : BC_NAME_SIZE, "%s", entry->value);
    return status;
}

bc_status cli_read_request_callouts(cli_session *session, bc_error *error)
{
    const bc_request *request = session->request;
    const char *name = cli_request_surface(request, session->surface);
    unsigned assumptions = 0;
    size_t first = 0;
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i < request->entries; i++) {
        const bc_request_entry *entry = &request->entry[i];
        if (strncmp(entry->key, "callout", 7) != 0 || (entry->surface != 0 && entry->surface != session->surface))
            continue;
        if (strcmp(entry->key, "callout") != 0) {
            status = describe(session, entry, first, error);
            continue;
        }
        first = session->callouts.count;
        status = bc_callouts_parse(entry->value, &session->callouts, &assumptions, error);
        if (status == BC_ERROR_INPUT) {
            const bc_error inner = *error;
            bc_fail(error, status, "%s:%ld: %s", request->path, entry->line, inner.message);
        }
    }
    if (status == BC_OK && session->callouts.count == 0)
        status = bc_fail(error, BC_ERROR_INPUT, "%s: found no callout%s%s; expected callout,TEXT", request->path,
                         name == NULL ? "" : " of surface ", name == NULL ? "" : name);
    session->callouts_path = request->path;
    memcpy(session->callouts.sha256, request->sha256, sizeof request->sha256);
    return status == BC_OK ? cli_show_understood(session, assumptions, error) : status;
}

bc_status cli_blame_request(const cli_session *session, bc_status status, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    if (status != BC_ERROR_INPUT || session->request == NULL || strncmp(error->message, "--", 2) != 0)
        return status;
    for (size_t i = 0; i < arguments->count; i++) {
        const cli_given *given = &arguments->given[i];
        const size_t length = strlen(given->option->name);
        const bc_error inner = *error;
        if (given->origin != CLI_FROM_REQUEST || strncmp(inner.message + 2, given->option->name, length) != 0 ||
            inner.message[2 + length] != ':')
            continue;
        return bc_fail(error, status, "%s:%ld: %s", session->request->path, given->line, inner.message + 2);
    }
    return status;
}

/* Every value of a key that is not the shop's. */
static bc_status save_key(const cli_session *session, const char *key, size_t surface, bc_request *request,
                          bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    const cli_option *option = option_of(arguments->command, key);
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i < arguments->count; i++) {
        const cli_given *given = &arguments->given[i];
        if (given->option == option && given->origin != CLI_FROM_SHOP)
            status = bc_request_add(request, key, given->value == NULL ? "yes" : given->value, surface, 0, error);
    }
    return status;
}

static bc_status save_callout(const bc_callout *callout, size_t surface, bc_request *request, bc_error *error)
{
    bc_text words = {0};
    bc_status status;
    if (callout->weight != NULL && !bc_callout_has_own_band(callout) &&
        bc_weight_shipped(bc_weight_name(callout->weight)) == NULL)
        return bc_fail(error, BC_ERROR_INPUT,
                       "--save: callout '%s' is weighted by a table of your own, '%s', which a request does not hold; "
                       "expected a weight that comes with the program",
                       callout->name, bc_weight_name(callout->weight));
    if (callout->cone_weight != NULL)
        return bc_fail(
            error, BC_ERROR_INPUT,
            "--save: the cone of callout '%s' is weighted by a table of your own, '%s', which a request does "
            "not hold; expected a uniform cone",
            callout->name, bc_weight_name(callout->cone_weight));
    status = bc_report_callout_words(callout, &words, error);
    if (status == BC_OK)
        status = bc_request_add(request, "callout", words.data, surface, 0, error);
    if (status == BC_OK && callout->name[0] != '\0')
        status = bc_request_add(request, "callout_name", callout->name, surface, 0, error);
    if (status == BC_OK && callout->substrate[0] != '\0')
        status = bc_request_add(request, "callout_substrate", callout->substrate, surface, 0, error);
    bc_text_clear(&words);
    return status;
}

bc_status cli_save_surface(const cli_session *session, const char *name, size_t surface, bool first,
                           bc_request *request, bc_error *error)
{
    const char *const *keys = bc_request_keys();
    bool whole = true; /* of the whole request, up to the first callout */
    bc_status status = BC_OK;
    for (size_t k = 1; status == BC_OK && keys[k] != NULL; k++) {
        if (strcmp(keys[k], "callout") == 0) {
            whole = false;
            if (name != NULL)
                status = bc_request_add(request, keys[0], name, surface, 0, error);
        }
        if (strncmp(keys[k], "callout", 7) != 0 && (!whole || first))
            status = save_key(session, keys[k], surface, request, error);
    }
    for (size_t i = 0; status == BC_OK && i < session->callouts.count; i++)
        status = save_callout(&session->callouts.callout[i], surface, request, error);
    return status;
}
