/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "options.h"
#include "escaped.h"
#include "nearest.h"
#include "text.h"
#include <stdlib.h>
#include <string.h>

#define MOST_OPTIONS 64

/* What every command takes. */
static const cli_option common[] = {
    {"tables", "DIR", true,
     "search DIR for dispersion tables first (then in $BLOOMCOAT_TABLES, then the installed ones)"},
    {"shop", "DIR", false, "the shop's folder: its process, chamber, tables and defaults ($BLOOMCOAT_SHOP)"},
    {"json", NULL, false, "one JSON object on standard output instead of text"},
    {"quiet", NULL, false, "print only the result and errors"},
    {"o", "FILE", false, "write the main result to FILE, whole or not at all (- is standard output)"},
    {"help", NULL, false, "show this help"},
    {"version", NULL, false, "show the version"},
    {NULL, NULL, false, NULL},
};

static const char *dashes(const cli_option *option)
{
    return option->name[1] == '\0' ? "-" : "--";
}

static const cli_option *find_in(const cli_option *table, const char *name, size_t length)
{
    for (; table->name != NULL; table++)
        if (strlen(table->name) == length && memcmp(table->name, name, length) == 0)
            return table;
    return NULL;
}

static const cli_option *find(const cli_command *command, const char *name, size_t length)
{
    const cli_option *option = find_in(command->option, name, length);
    return option != NULL ? option : find_in(common, name, length);
}

const char *cli_meant(const char *word, size_t count, const char *const *choice)
{
    const char *nearest[1];
    const size_t length = strlen(word);
    for (size_t i = 0; i < count && length >= 2; i++)
        if (strncmp(choice[i], word, length) == 0)
            return choice[i];
    return bc_nearest(word, count, choice, 1, nearest) == 0 ? NULL : nearest[0];
}

static bc_status unknown(const cli_command *command, const char *word, bc_error *error)
{
    const char *name[MOST_OPTIONS];
    size_t count = 0;
    char shown[BC_ESCAPED_SIZE];
    char bare[BC_NAME_SIZE];
    const char *meant;
    for (const cli_option *option = command->option; option->name != NULL && count < MOST_OPTIONS; option++)
        name[count++] = option->name;
    for (const cli_option *option = common; option->name != NULL && count < MOST_OPTIONS; option++)
        if (option->name[1] != '\0')
            name[count++] = option->name;
    strncpy(bare, word + strspn(word, "-"), sizeof bare - 1);
    bare[sizeof bare - 1] = '\0';
    bare[strcspn(bare, "=")] = '\0';
    meant = cli_meant(bare, count, name);
    if (meant != NULL)
        return bc_fail(error, BC_ERROR_INPUT, "%s has no option '%s'; did you mean '--%s'?", command->name,
                       bc_escaped(word, shown), meant);
    return bc_fail(error, BC_ERROR_INPUT, "%s has no option '%s'; 'bloomcoat %s --help' lists them", command->name,
                   bc_escaped(word, shown), command->name);
}

static bc_status take_operand(cli_arguments *arguments, const char *word, bc_error *error)
{
    char shown[BC_ESCAPED_SIZE];
    const cli_command *command = arguments->command;
    if (command->operand == NULL)
        return bc_fail(error, BC_ERROR_INPUT, "found '%s'; expected only options after '%s'", bc_escaped(word, shown),
                       command->name);
    if (arguments->operand != NULL && strstr(command->operand, "...") == NULL)
        return bc_fail(error, BC_ERROR_INPUT,
                       "found '%s' after '%s'; expected one %s, and all else with the name of its option",
                       bc_escaped(word, shown), arguments->operand, command->operand);
    if (word[0] == '\0')
        return bc_fail(error, BC_ERROR_INPUT, "found an empty word; expected a file's name for %s", command->operand);
    if (arguments->operand == NULL)
        arguments->operand = word;
    arguments->all_operands[arguments->operands++] = word;
    return BC_OK;
}

static bc_status give(cli_arguments *arguments, const cli_option *option, const char *value, bc_error *error)
{
    if (!option->repeats && cli_has(arguments, option->name))
        return bc_fail(error, BC_ERROR_INPUT, "%s%s is given twice; expected it once", dashes(option), option->name);
    if (option->value != NULL && (value == NULL || value[0] == '\0'))
        return bc_fail(error, BC_ERROR_INPUT, "%s%s: found nothing; expected %s%s %s", dashes(option), option->name,
                       dashes(option), option->name, option->value);
    arguments->given[arguments->count++] = (cli_given){.option = option, .value = value};
    return BC_OK;
}

/* Whether a word is one of the command's options itself, so that it cannot be the value of the option before it. */
static bool is_option(const cli_command *command, const char *word)
{
    return word[0] == '-' && word[1] == '-' && word[2] != '\0' &&
           find(command, word + 2, strcspn(word + 2, "=")) != NULL;
}

/* One option with its value, which may be the next word; *at is left on the last word used. */
static bc_status take_option(cli_arguments *arguments, int count, char *const *words, int *at, bc_error *error)
{
    const cli_command *command = arguments->command;
    const char *word = words[*at];
    const bool is_long = word[1] == '-';
    const char *name = word + (is_long ? 2 : 1);
    const size_t length = is_long ? strcspn(name, "=") : 1;
    const char *attached = name[length] == '\0' ? NULL : name + length + (is_long ? 1 : 0);
    const cli_option *option = find(command, name, length);
    char shown[BC_ESCAPED_SIZE];
    if (option == NULL || is_long != (length > 1))
        return unknown(command, word, error);
    if (option->value == NULL && attached != NULL)
        return bc_fail(error, BC_ERROR_INPUT, "--%s takes no value; found '%s'", option->name, bc_escaped(word, shown));
    if (option->value == NULL || attached != NULL)
        return give(arguments, option, attached, error);
    if (*at + 1 >= count || is_option(command, words[*at + 1]))
        return bc_fail(error, BC_ERROR_INPUT, "%s%s: found %s; expected %s%s %s", dashes(option), option->name,
                       *at + 1 >= count ? "nothing after it" : bc_escaped(words[*at + 1], shown), dashes(option),
                       option->name, option->value);
    (*at)++;
    return give(arguments, option, words[*at], error);
}

bc_status cli_parse(const cli_command *command, int count, char *const *words, cli_arguments *arguments,
                    bc_error *error)
{
    bool only_operands = false;
    bc_status status = BC_OK;
    *arguments = (cli_arguments){.command = command};
    arguments->given = calloc((size_t)count + 1, sizeof *arguments->given);
    arguments->all_operands = calloc((size_t)count + 1, sizeof *arguments->all_operands);
    if (arguments->given == NULL || arguments->all_operands == NULL)
        return bc_fail_memory(error);
    for (int at = 0; at < count && status == BC_OK; at++) {
        const char *word = words[at];
        if (!only_operands && strcmp(word, "-h") == 0) /* a habit that does no harm */
            status = give(arguments, find(command, "help", 4), NULL, error);
        else if (only_operands || word[0] != '-' || word[1] == '\0')
            status = take_operand(arguments, word, error);
        else if (strcmp(word, "--") == 0)
            only_operands = true;
        else
            status = take_option(arguments, count, words, &at, error);
    }
    if (status == BC_OK && arguments->operand == NULL && command->operand != NULL && command->operand[0] != '[' &&
        !cli_has(arguments, "help") && !cli_has(arguments, "version"))
        status = bc_fail(error, BC_ERROR_INPUT, "%s needs %s %.*s; 'bloomcoat %s --help' shows how", command->name,
                         strchr("AEIOU", command->operand[0]) != NULL ? "an" : "a", (int)strcspn(command->operand, "."),
                         command->operand, command->name);
    return status;
}

static void options_help(const cli_option *table, bc_text *out)
{
    enum { HELP_COLUMN = 24 };
    for (; table->name != NULL; table++) {
        bc_text head = {0};
        bc_text_add(&head, "  %s%s%s%s", dashes(table), table->name, table->value == NULL ? "" : " ",
                    table->value == NULL ? "" : table->value);
        if (!head.failed)
            bc_text_add(out, "%s", head.data);
        out->failed = out->failed || head.failed;
        if (head.length + 2 > HELP_COLUMN) {
            bc_text_add(out, "\n");
            bc_text_pad(out, HELP_COLUMN);
        } else {
            bc_text_pad(out, HELP_COLUMN - head.length);
        }
        bc_text_wrap(out, HELP_COLUMN, HELP_COLUMN, table->help);
        bc_text_clear(&head);
    }
}

/* A command to be copied into a shell: what is too long goes on after a backslash, never between an option and its
 * value. */
static void add_command(bc_text *out, const char *words)
{
    enum { COLUMNS = BC_TEXT_COLUMNS - 2, FIRST = 4, NEXT = 8 }; /* commands and options stand farther left */
    size_t column = FIRST + strlen("bloomcoat");
    bc_text_add(out, "    bloomcoat");
    while (*words != '\0') {
        const char *option = strstr(words, " -");
        const size_t length = option == NULL ? strlen(words) : (size_t)(option - words);
        if (column + 1 + length > COLUMNS) {
            bc_text_add(out, " \\\n");
            bc_text_pad(out, NEXT - 1);
            column = NEXT - 1;
        }
        bc_text_add(out, " %.*s", (int)length, words);
        column += 1 + length;
        words += length + (words[length] != '\0');
    }
    bc_text_add(out, "\n");
}

static void usage(const cli_command *command, bc_text *out)
{
    bc_text words = {0};
    bc_text_add(&words, "usage: bloomcoat %s%s%s%s%s [OPTION]...", command->name, command->operand == NULL ? "" : " ",
                command->operand == NULL ? "" : command->operand, command->needs == NULL ? "" : " ",
                command->needs == NULL ? "" : command->needs);
    out->failed = out->failed || words.failed;
    if (!words.failed)
        bc_text_wrap(out, 0, strlen("usage: "), words.data);
    bc_text_clear(&words);
    bc_text_add(out, "\n");
}

void cli_command_help(const cli_command *command, bc_text *out)
{
    usage(command, out);
    bc_text_wrap(out, 0, 0, command->summary);
    if (command->details != NULL)
        bc_text_wrap(out, 0, 0, command->details);
    bc_text_add(out, "\n");
    options_help(command->option, out);
    options_help(common, out);
    bc_text_add(out, "\n" CLI_EXIT_CODES "\nExample, in the folder that holds examples/:\n");
    add_command(out, command->example);
}
