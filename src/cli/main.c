/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"
#include "escaped.h"
#include "output.h"
#include "progress.h"
#include "recording.h"
#include "shop.h"
#include "system_calls.h"
#include "text.h"
#include <bloomcoat/version.h>
#include <fcntl.h>
#include <glib.h>
#include <malloc.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define KEPT_BYTES (256 << 20)
#define LIST_SIZE  400 /* for the names of all commands */

static const cli_command *const commands[] = {
    &cli_spectrum, &cli_check,   &cli_draft,     &cli_refine,   &cli_quote,   &cli_yield,       &cli_deposit,
    &cli_lens,     &cli_inspect, &cli_materials, &cli_callouts, &cli_shop,    &cli_sensitivity, &cli_index,
    &cli_standard, &cli_shift,   &cli_colour,    &cli_record,   &cli_process, &cli_desk};
#define COMMANDS (sizeof commands / sizeof commands[0])

static int fail(bc_status status, const bc_error *error)
{
    fprintf(stderr, "bloomcoat: %s\n", error->message);
    return status == BC_ERROR_INPUT ? CLI_EXIT_INPUT : CLI_EXIT_MACHINE;
}

/* GLib, which Pango draws letters with, ends the process when it finds no memory: with our message and exit code.
 * Nothing is half-written then, for a picture is drawn into memory. What GLib only warns of is no business of a
 * reader's. */
static void on_glib_message(const char *domain, GLogLevelFlags level, const char *message, void *context)
{
    static const char text[] = "bloomcoat: out of memory\n";
    (void)domain, (void)message, (void)context;
    if ((level & (G_LOG_FLAG_FATAL | G_LOG_LEVEL_ERROR)) == 0)
        return;
    (void)!write(STDERR_FILENO, text, sizeof text - 1);
    _exit(CLI_EXIT_MACHINE);
}

/* A result whose reader went away, or a file that grew too large, is an error of the write and no reason to be killed.
 * A descriptor that came closed is filled with one that fails, so that no file of ours takes its place. */
static void prepare(void)
{
    /* Workspaces of a few MB come and go by the thousand: giving each back to the system would cost a third of the
     * time. */
    mallopt(M_MMAP_THRESHOLD, KEPT_BYTES);
    mallopt(M_TRIM_THRESHOLD, KEPT_BYTES);
    cli_interrupts_prepare();
    g_log_set_default_handler(on_glib_message, NULL);
    signal(SIGPIPE, SIG_IGN);
    signal(SIGXFSZ, SIG_IGN);
    for (int descriptor = STDIN_FILENO; descriptor <= STDERR_FILENO; descriptor++)
        if (fcntl(descriptor, F_GETFD) == -1)
            (void)!open("/dev/null", descriptor == STDERR_FILENO ? O_WRONLY : O_RDONLY);
}

static void add_help(bc_text *out)
{
    bc_text_add(out, "usage: bloomcoat COMMAND [OPTION]...\n\n"
                     "Designs and checks antireflection coatings. Wavelengths and layers in nm, glass\n"
                     "in mm, angles in degrees, R, T and A in percent.\n\n");
    for (size_t i = 0; i < COMMANDS; i++) {
        bc_text_add(out, "  %-11s ", commands[i]->name);
        bc_text_wrap(out, 14, 14, commands[i]->summary);
    }
    bc_text_add(out, "\n'bloomcoat COMMAND --help' lists the options of a command, 'bloomcoat --version'\n"
                     "prints the version, 'man bloomcoat' is the manual.\n"
                     "\n" CLI_EXIT_CODES "\nExample, in the folder that holds examples/:\n"
                     "    bloomcoat check examples/window-stack.csv \\\n"
                     "        --callouts examples/window-callouts.csv\n");
}

/* Write the help (`command` NULL: of the program), or the version. */
static int show(bool version, const cli_command *command)
{
    bc_text text = {0};
    bc_error error = {0};
    bc_status status;
    if (version)
        bc_text_add(&text, "bloomcoat %s\n", BC_VERSION);
    else if (command == NULL)
        add_help(&text);
    else
        cli_command_help(command, &text);
    status = bc_text_end(&text, &error);
    if (status == BC_OK)
        status = cli_output_write(NULL, &text, &error);
    bc_text_clear(&text);
    return status == BC_OK ? CLI_EXIT_MET : fail(status, &error);
}

/* "spectrum, check, ... or materials" */
static const char *list_commands(char list[LIST_SIZE])
{
    size_t length = 0;
    _Static_assert(16 * COMMANDS < LIST_SIZE, "names of 12 letters and what parts them");
    for (size_t i = 0; i < COMMANDS; i++)
        length += (size_t)snprintf(list + length, LIST_SIZE - length, "%s%s",
                                   i == 0              ? ""
                                   : i + 1 == COMMANDS ? " or "
                                                       : ", ",
                                   commands[i]->name);
    return list;
}

bc_status cli_find_command(const char *word, const cli_command **command, bc_error *error)
{
    const char *name[COMMANDS];
    const char *meant;
    char shown[BC_ESCAPED_SIZE], list[LIST_SIZE];
    for (size_t i = 0; i < COMMANDS; i++) {
        name[i] = commands[i]->name;
        *command = commands[i];
        if (strcmp(word, name[i]) == 0)
            return BC_OK;
    }
    if (word[0] == '-')
        return bc_fail(error, BC_ERROR_INPUT, "found '%s'; expected a command first (%s), or --help or --version",
                       bc_escaped(word, shown), list_commands(list));
    meant = cli_meant(word, COMMANDS, name);
    if (meant != NULL)
        return bc_fail(error, BC_ERROR_INPUT, "there is no command '%s'; did you mean '%s'?", bc_escaped(word, shown),
                       meant);
    return bc_fail(error, BC_ERROR_INPUT, "there is no command '%s'; expected %s", bc_escaped(word, shown),
                   list_commands(list));
}

/* 'bloomcoat help [COMMAND]': `words` are those after help. */
static int help(int count, char *const *words)
{
    const cli_command *command = NULL;
    bc_error error = {0};
    char shown[BC_ESCAPED_SIZE];
    bc_status status = BC_OK;
    if (count > 0)
        status = cli_find_command(words[0], &command, &error);
    if (status == BC_OK && count > 1)
        status = bc_fail(&error, BC_ERROR_INPUT, "found '%s' after 'help %s'; expected one command",
                         bc_escaped(words[1], shown), command->name);
    return status == BC_OK ? show(false, command) : fail(status, &error);
}

int cli_run(cli_arguments *arguments, bc_error *error)
{
    cli_session session = {0};
    bc_shop shop;
    bool met = false;
    bc_status status = cli_take_shop(arguments, &shop, error);
    if (status == BC_OK)
        status = cli_recording_check(arguments, error);
    if (status == BC_OK)
        status = cli_session_open(&session, arguments, error);
    if (status == BC_OK)
        status = arguments->command->run(&session, &met, error);
    status = cli_recording_end(status, met, cli_has(arguments, "quiet"), error);
    cli_session_close(&session);
    bc_shop_clear(&shop);
    if (status != BC_OK)
        return status == BC_ERROR_INPUT ? CLI_EXIT_INPUT : CLI_EXIT_MACHINE;
    return met ? CLI_EXIT_MET : CLI_EXIT_NOT_MET;
}

static int run(cli_arguments *arguments, int count, char **words)
{
    bc_error error = {0};
    int code;
    cli_recording_watch(arguments->command, (size_t)count, words);
    code = cli_run(arguments, &error);
    if (code > CLI_EXIT_NOT_MET)
        fprintf(stderr, "bloomcoat: %s\n", error.message);
    return code;
}

int main(int count, char **words)
{
    const cli_command *command;
    cli_arguments arguments;
    bc_error error = {0};
    bc_status status;
    char list[LIST_SIZE];
    int code;
    prepare();
    if (getenv(DESK_JOB_VARIABLE) != NULL)
        desk_filter_system_calls(DESK_COMPUTES);
    if (count < 2) {
        bc_fail(&error, BC_ERROR_INPUT, "found nothing; expected %s; 'bloomcoat --help' says more",
                list_commands(list));
        return fail(BC_ERROR_INPUT, &error);
    }
    if (strcmp(words[1], "--help") == 0 || strcmp(words[1], "-h") == 0 || strcmp(words[1], "--version") == 0)
        return show(strcmp(words[1], "--version") == 0, NULL);
    if (strcmp(words[1], "help") == 0)
        return help(count - 2, words + 2);
    status = cli_find_command(words[1], &command, &error);
    if (status != BC_OK)
        return fail(status, &error);
    status = cli_parse(command, count - 2, words + 2, &arguments, &error);
    if (status != BC_OK)
        code = fail(status, &error);
    else if (cli_has(&arguments, "help") || cli_has(&arguments, "version"))
        code = show(!cli_has(&arguments, "help"), command);
    else
        code = run(&arguments, count - 1, words + 1);
    free(arguments.given);
    free(arguments.all_operands);
    return code;
}
