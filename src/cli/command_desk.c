/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"
#include "desk.h"
#include "escaped.h"
#include "gate.h"
#include "json.h"
#include "output.h"
#include "text.h"
#include <errno.h>
#include <limits.h>
#include <math.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MOST_TABLES 32

extern char **environ;

/* Absolute: the processes that the desk starts work elsewhere. */
typedef struct places {
    char *shop;
    size_t tables;
    char *table[MOST_TABLES];
} places;

static bc_status find_place(const char *option, const char *path, char **out, bc_error *error)
{
    char shown[BC_ESCAPED_SIZE];
    *out = realpath(path, NULL);
    return *out != NULL
               ? BC_OK
               : bc_fail(error, BC_ERROR_INPUT, "%s: %s: %s", option, bc_escaped(path, shown), strerror(errno));
}

static bc_status find_places(const cli_session *session, places *all, bc_error *error)
{
    const char *folder;
    bc_status status = BC_OK;
    if (session->arguments->shop != NULL)
        status = find_place("--shop", session->arguments->shop->folder, &all->shop, error);
    while (status == BC_OK && (folder = cli_value_at(session->arguments, "tables", all->tables)) != NULL) {
        if (all->tables == MOST_TABLES)
            return bc_fail(error, BC_ERROR_INPUT, "--tables: found more than %d folders", MOST_TABLES);
        status = find_place("--tables", folder, &all->table[all->tables], error);
        all->tables += status == BC_OK;
    }
    return status;
}

static void places_clear(places *all)
{
    free(all->shop);
    for (size_t i = 0; i < all->tables; i++)
        free(all->table[i]);
}

static bc_status open_materials(void *context, bc_materials **materials, bc_error *error)
{
    cli_session session;
    const bc_status status = cli_session_open(&session, context, error);
    *materials = status == BC_OK ? session.materials : NULL;
    if (status == BC_OK)
        session.materials = NULL;
    cli_session_close(&session);
    return status;
}

/* The browser that this person uses; without one the address is there to be copied. */
static void open_browser(const cli_session *session, const char *file)
{
    char program[] = "xdg-open", *words[] = {program, NULL, NULL};
    posix_spawnattr_t attributes;
    sigset_t none;
    pid_t process;
    int failed;
    words[1] = strdup(file);
    sigemptyset(&none); /* the desk has blocked some */
    posix_spawnattr_init(&attributes);
    posix_spawnattr_setsigmask(&attributes, &none);
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK);
    failed = words[1] == NULL || posix_spawnp(&process, program, NULL, &attributes, words, environ) != 0;
    posix_spawnattr_destroy(&attributes);
    if (failed)
        cli_note(session, "note: no browser was found (xdg-open); open the address yourself");
    free(words[1]);
}

static bc_status write_address(const cli_session *session, const desk *opened, bc_error *error)
{
    bc_text text = {0};
    bc_status status;
    if (session->json) {
        bc_json json;
        bc_json_open(&json);
        bc_json_string(&json, json.root, "address", desk_address(opened));
        bc_json_number(&json, json.root, "port", desk_port(opened), 6);
        status = bc_json_close(&json, &text, error);
    } else {
        bc_text_add(&text, "%s\n", desk_address(opened));
        status = bc_text_end(&text, error);
    }
    if (status == BC_OK)
        status = cli_output_write(session->output, &text, error);
    bc_text_clear(&text);
    return status;
}

/* What the kernel does not hold the desk to is said; it serves all the same. */
static void hold(const cli_session *session, const desk *opened)
{
    const desk_held held = desk_hold(opened);
    if (!held.folders && !held.system_calls)
        cli_note(session, "note: the desk runs unconfined (neither Landlock nor seccomp can be used here): a fault in "
                          "reading an opened file could let that file do whatever you can do; open only files from "
                          "people you trust");
    else if (!held.folders)
        cli_note(session, "note: the desk is not held to the shop's folder (Landlock cannot be used here): a fault in "
                          "reading an opened file could let that file write wherever you can; open only files from "
                          "people you trust");
    else if (!held.system_calls)
        cli_note(session, "note: the desk's system calls are not filtered (seccomp cannot be used here): a fault in "
                          "reading an opened file could let that file make connections and start programs; open only "
                          "files from people you trust");
}

static bc_status serve(cli_session *session, const desk_options *options, bc_error *error)
{
    desk *opened = NULL;
    bc_status status = desk_open(options, &opened, error);
    if (status == BC_OK)
        status = write_address(session, opened, error);
    if (status == BC_OK) {
        cli_note(session, "The address is for you alone: whoever has it can use the page. Ctrl-C ends the desk.");
        if (options->shop == NULL)
            cli_note(session, "note: without --shop there are no process, chamber, standard coatings or record");
        if (!cli_has(session->arguments, "no-browser"))
            open_browser(session, desk_address_file(opened));
        hold(session, opened);
        status = desk_serve(opened, error);
    }
    desk_close(opened);
    return status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    unsigned long port = 0;
    places all = {0};
    desk_options options = {.seconds = INFINITY, .open_materials = open_materials};
    bc_status status = cli_count(session->arguments, "port", 0, 65535, &port, error);
    if (status == BC_OK)
        status = cli_number(session->arguments, "seconds", 0.0, 1e9, "a time in seconds", &options.seconds, error);
    options.proxy = cli_value(session->arguments, "behind-proxy");
    if (status == BC_OK && options.proxy != NULL && !desk_origin_is_plain(options.proxy))
        status = cli_fail_value(error, "behind-proxy", options.proxy, "",
                                "the address of the proxy, such as https://desk.example, in small letters");
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK)
        status = find_places(session, &all, error);
    if (status == BC_OK) {
        options.port = (unsigned)port;
        options.shop = all.shop;
        options.tables = all.tables;
        options.table = (const char *const *)all.table;
        options.context = (void *)(size_t)session->arguments;
        status = serve(session, &options, error);
    }
    places_clear(&all);
    *met = true;
    return status;
}

static const cli_option options[] = {
    {"port", "N", false, "listen at this port (default: one that is free)"},
    {"no-browser", NULL, false, "print the address, and open no browser"},
    {"behind-proxy", "ADDRESS", false,
     "for several people: the address of a proxy on this machine that has its own login, such as https://desk.example"},
    {"seconds", "S", false, "exit after S seconds (default: with Ctrl-C)"},
    CLI_OPTION_END,
};

const cli_command cli_desk = {
    .name = "desk",
    .operand = NULL,
    .summary =
        "Opens a page in the browser: ask for a coating, design one, judge a measured scan, look into the shop's "
        "folder.",
    .details = "The page is served on this machine to whoever has the address that is printed. All it shows is "
               "computed by this program, and each result comes with the command line that gives the same.",
    .example = "desk --shop examples/shop",
    .option = options,
    .run = run,
};
