/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "command.h"
#include "text.h"
#include <glib.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef enum value_kind {
    SWITCH,
    WORD, /* a number, a name or a choice: no character that a path needs to lead out of the job's folder */
    TEXT, /* what is only printed or parsed, never opened */
    FILE_READ,
    FILE_WRITTEN,
} value_kind;

typedef struct known_option {
    const char *name;
    value_kind kind;
} known_option;

/* What means the same wherever a command takes it. The command itself refuses what it does not take. */
static const known_option known[] = {
    {"json", SWITCH},
    {"quiet", SWITCH},
    {"record", SWITCH},
    {"as-found", SWITCH},
    {"search", SWITCH},
    {"both-sides", SWITCH},
    {"one-run", SWITCH},
    {"from-fit", SWITCH},
    {"fit-index", SWITCH},
    {"overrule", SWITCH},
    {"callout", TEXT},
    {"title", TEXT},
    {"part-number", TEXT},
    {"quote-number", TEXT},
    {"order-number", TEXT},
    {"certificate-number", TEXT},
    {"instrument", TEXT},
    {"conditions", TEXT},
    {"page-foot", TEXT},
    {"column", TEXT},
    {"t-column", TEXT},
    {"uncertainty-column", TEXT},
    {"from", WORD},
    {"to", WORD},
    {"step", WORD},
    {"aoi", WORD},
    {"polarization", WORD},
    {"back", WORD},
    {"substrate", WORD},
    {"substrate-mm", WORD},
    {"materials", WORD},
    {"incident", WORD},
    {"max-layers", WORD},
    {"minimum-nm", WORD},
    {"max-total-nm", WORD},
    {"aim", WORD},
    {"seed", WORD},
    {"effort", WORD},
    {"prove", WORD},
    {"runs", WORD},
    {"seconds", WORD},
    {"quantity", WORD},
    {"part-diameter-mm", WORD},
    {"failed-part", WORD},
    {"prefer", WORD},
    {"yield-percent", WORD},
    {"confidence-percent", WORD},
    {"max-process-c", WORD},
    {"validity-days", WORD},
    {"date", WORD},
    {"paper", WORD},
    {"radius-mm", WORD},
    {"shape", WORD},
    {"clear-aperture-mm", WORD},
    {"uncertainty-percent", WORD},
    {"wavelength-uncertainty-nm", WORD},
    {"scale-uncertainty-percent", WORD},
    {"coverage", WORD},
    {"unit", WORD},
    {"wavelength-unit", WORD},
    {"decimal", WORD},
    {"separator", WORD},
    {"scan", WORD},
    {"judge", WORD},
    {"lot-size", WORD},
    {"plan", WORD},
    {"at-nm", WORD},
    {"chamber", WORD},
    {"monitor-nm", WORD},
    {"monitor-glass", WORD},
    {"illuminant", WORD},
    {"observer", WORD},
    {"plot-width-mm", WORD},
    {"plot-height-mm", WORD},
    {"stack", FILE_READ},
    {"start", FILE_READ},
    {"callouts", FILE_READ},
    {"process", FILE_READ},
    {"plot", FILE_WRITTEN},
    {"report", FILE_WRITTEN},
    {"internal-report", FILE_WRITTEN},
    {"next-stack", FILE_WRITTEN},
    {"next-process", FILE_WRITTEN},
    {"price-csv", FILE_WRITTEN},
    {"save", FILE_WRITTEN},
    {"o", FILE_WRITTEN},
};

static const struct known_command {
    const char *name;
    value_kind operand;
    bool slow;
    const char *first; /* what the first operand may be, with bars between; NULL: what operand says */
} commands[] = {
    {"callouts", TEXT, false, NULL},
    {"check", FILE_READ, false, NULL},
    {"spectrum", FILE_READ, false, NULL},
    {"sensitivity", FILE_READ, false, NULL},
    {"colour", FILE_READ, false, NULL},
    {"deposit", FILE_READ, false, NULL},
    {"refine", FILE_READ, true, NULL},
    {"draft", FILE_READ, true, NULL},
    {"yield", FILE_READ, true, NULL},
    {"quote", FILE_READ, true, NULL},
    {"inspect", FILE_READ, true, NULL},
    {"materials", WORD, false, NULL},
    {"record", TEXT, false, "|list|show|search|"},
    {"standard", WORD, false, "|list|show|"},
    {"shop", WORD, false, "|check|"},
    {"process", WORD, true, "|learn|chart|"},
};

static const struct known_command *find_command(const char *name)
{
    for (size_t i = 0; name != NULL && i < sizeof commands / sizeof commands[0]; i++)
        if (strcmp(commands[i].name, name) == 0)
            return &commands[i];
    return NULL;
}

static const known_option *find_option(const char *name)
{
    for (size_t i = 0; name != NULL && i < sizeof known / sizeof known[0]; i++)
        if (strcmp(known[i].name, name) == 0)
            return &known[i];
    return NULL;
}

static bc_status refuse(bc_error *error, const char *what)
{
    return bc_fail(error, BC_ERROR_INPUT, "the page asked for something that the desk does not do: %s", what);
}

static bool is_text(const char *value)
{
    const size_t length = strlen(value);
    for (size_t i = 0; i < length; i++)
        if ((unsigned char)value[i] < ' ' || value[i] == 127)
            return false;
    return length > 0 && length < 2048;
}

static bool is_word(const char *value)
{
    return is_text(value) && strpbrk(value, "/\\") == NULL && value[0] != '.' && strlen(value) < 256;
}

static bool is_among(size_t count, const char *const *name, const char *value)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(name[i], value) == 0)
            return true;
    return false;
}

static bool is_allowed(const desk_command *command, value_kind kind, const char *value)
{
    switch (kind) {
    case SWITCH:
        return value == NULL;
    case WORD:
        return value != NULL && is_word(value);
    case TEXT:
        return value != NULL && is_text(value);
    case FILE_READ:
        return value != NULL && is_among(command->files, command->file, value);
    case FILE_WRITTEN:
        return value != NULL && is_among(command->results, command->result, value);
    }
    return false;
}

static bc_status add_word(desk_command *command, bc_error *error, const char *format, ...)
{
    va_list arguments;
    int length;
    if (command->words == DESK_MOST_WORDS)
        return refuse(error, "so many words");
    va_start(arguments, format);
    length = vasprintf(&command->word[command->words], format, arguments);
    va_end(arguments);
    if (length < 0) {
        command->word[command->words] = NULL;
        return bc_fail_memory(error);
    }
    command->words++;
    return BC_OK;
}

const char *desk_file_contents(const cJSON *item, size_t *length)
{
    gsize decoded = 0;
    if (item->valuestring[0] != '\0')
        g_base64_decode_inplace(item->valuestring, &decoded);
    *length = decoded;
    return item->valuestring;
}

static bc_status take_files(const cJSON *request, desk_command *command, bc_error *error)
{
    const cJSON *files = cJSON_GetObjectItemCaseSensitive(request, "files");
    const cJSON *results = cJSON_GetObjectItemCaseSensitive(request, "results"), *item;
    cJSON_ArrayForEach(item, files)
    {
        if (item->string == NULL || !cJSON_IsString(item) || command->files == DESK_MOST_FILES ||
            !desk_name_is_safe(item->string) || is_among(command->files, command->file, item->string))
            return refuse(error, "such a file");
        command->contents[command->files] = desk_file_contents(item, &command->length[command->files]);
        command->file[command->files++] = item->string;
    }
    cJSON_ArrayForEach(item, results)
    {
        if (!cJSON_IsString(item) || command->results == DESK_MOST_FILES || !desk_name_is_safe(item->valuestring) ||
            is_among(command->files, command->file, item->valuestring) ||
            is_among(command->results, command->result, item->valuestring))
            return refuse(error, "such a result");
        command->result[command->results++] = item->valuestring;
    }
    return BC_OK;
}

static bc_status take_options(const cJSON *request, desk_command *command, bc_error *error)
{
    const cJSON *options = cJSON_GetObjectItemCaseSensitive(request, "options"), *item;
    bc_status status = BC_OK;
    cJSON_ArrayForEach(item, options)
    {
        const char *value = cJSON_GetStringValue(cJSON_GetArrayItem(item, 1));
        const known_option *option = find_option(cJSON_GetStringValue(cJSON_GetArrayItem(item, 0)));
        if (status != BC_OK || option == NULL || !is_allowed(command, option->kind, value))
            return status != BC_OK ? status : refuse(error, option == NULL ? "an option" : option->name);
        if (value == NULL)
            status = add_word(command, error, "--%s", option->name);
        else if (option->name[1] == '\0')
            status = add_word(command, error, "-%s%s", option->name, value);
        else
            status = add_word(command, error, "--%s=%s", option->name, value);
    }
    return status;
}

static bc_status take_operands(const cJSON *request, const struct known_command *about, desk_command *command,
                               bc_error *error)
{
    const cJSON *operands = cJSON_GetObjectItemCaseSensitive(request, "operands"), *item;
    bool first = true;
    bc_status status = add_word(command, error, "--");
    command->operands = command->words;
    cJSON_ArrayForEach(item, operands)
    {
        const char *value = cJSON_GetStringValue(item);
        char among[DESK_NAME_SIZE + 2];
        if (status != BC_OK)
            return status;
        snprintf(among, sizeof among, "|%.*s|", DESK_NAME_SIZE - 1, value == NULL ? "" : value);
        if (!is_allowed(command, about->operand, value) ||
            (first && about->first != NULL && strstr(about->first, among) == NULL))
            return refuse(error, "such an operand");
        status = add_word(command, error, "%s", value);
        first = false;
    }
    if (status == BC_OK && first && about->first != NULL)
        return refuse(error, "no operand");
    return status;
}

bc_status desk_command_make(const cJSON *request, const desk_options *options, desk_command *command, bc_error *error)
{
    const char *name = cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(request, "command"));
    const struct known_command *about = find_command(name);
    bc_status status;
    *command = (desk_command){0};
    if (about == NULL)
        return refuse(error, "a command");
    command->name = about->name;
    command->slow = about->slow;
    status = take_files(request, command, error);
    if (status == BC_OK)
        status = add_word(command, error, "bloomcoat");
    if (status == BC_OK)
        status = add_word(command, error, "%s", about->name);
    for (size_t i = 0; status == BC_OK && i < options->tables; i++)
        status = add_word(command, error, "--tables=%s", options->table[i]);
    if (status == BC_OK && options->shop != NULL)
        status = add_word(command, error, "--shop=%s", options->shop);
    if (status == BC_OK)
        status = take_options(request, command, error);
    if (status == BC_OK)
        status = take_operands(request, about, command, error);
    if (status != BC_OK)
        desk_command_clear(command);
    return status;
}

void desk_command_clear(desk_command *command)
{
    for (size_t i = 0; i < command->words; i++)
        free(command->word[i]);
    command->words = 0;
}

/* In single quotes, unless nothing in it means something to a shell. */
static void add_quoted(bc_text *out, const char *word)
{
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_+.,:/=@%";
    if (word[0] != '\0' && strspn(word, plain) == strlen(word)) {
        bc_text_add_bytes(out, word, strlen(word));
        return;
    }
    bc_text_add_bytes(out, "'", 1);
    for (const char *at = word; *at != '\0'; at++)
        if (*at == '\'')
            bc_text_add_bytes(out, "'\\''", 4);
        else
            bc_text_add_bytes(out, at, 1);
    bc_text_add_bytes(out, "'", 1);
}

static void add_words(const desk_command *command, size_t from, size_t to, bc_text *out)
{
    for (size_t i = from; i < to; i++) {
        const char *word = command->word[i], *value = strchr(word, '=');
        if (strcmp(word, "--json") == 0 || strcmp(word, "--as-found") == 0)
            continue;
        if (i > 0)
            bc_text_add_bytes(out, " ", 1);
        if (i < command->operands && strncmp(word, "--", 2) == 0 && value != NULL) {
            bc_text_add_bytes(out, word, (size_t)(value - word));
            bc_text_add_bytes(out, " ", 1);
            word = value + 1;
        }
        add_quoted(out, word);
    }
}

bc_status desk_command_line(const desk_command *command, bc_text *out, bc_error *error)
{
    const size_t operands = command->operands; /* the first of them; "--" stands before it */
    const bool dashed = operands < command->words && command->word[operands][0] == '-';
    add_words(command, 0, 2, out);
    if (!dashed)
        add_words(command, operands, command->words, out);
    add_words(command, 2, operands - 1, out);
    if (dashed)
        add_words(command, operands - 1, command->words, out);
    return bc_text_end(out, error);
}
