/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"
#include "escaped.h"
#include "output.h"
#include "standard_build.h"
#include "text.h"
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

/* What an action works on, and what it found. */
typedef struct work {
    const bc_shop *shop;
    double yield; /* asked for */
    size_t threads;
    bc_standards standards;
    size_t states;
    bc_standard_state *state;
} work;

static void work_clear(work *w)
{
    bc_standards_clear(&w->standards);
    free(w->state);
}

static bc_status read_options(const cli_session *session, work *w, bool needs_shop, bc_error *error)
{
    double yield_percent = 90.0;
    unsigned long threads = 0;
    bc_status status = cli_number(session->arguments, "yield-percent", 1.0, 100.0,
                                  "a share of the runs in percent, 1 to 100", &yield_percent, error);
    if (status == BC_OK)
        status = cli_count(session->arguments, "threads", 0, 1024, &threads, error);
    w->yield = yield_percent / 100.0;
    w->threads = threads;
    w->shop = session->arguments->shop;
    if (status == BC_OK && needs_shop && w->shop == NULL)
        status = bc_fail(error, BC_ERROR_INPUT, "standard needs a shop's folder; expected --shop or BLOOMCOAT_SHOP");
    return status;
}

/* Today's process; without one nothing is known of the runs. */
static bc_status read_process(cli_session *session, bc_error *error)
{
    return cli_has(session->arguments, "process") ? cli_read_process(session, error) : BC_OK;
}

static bc_status write_report(cli_session *session, const work *w, bool stacks, bc_error *error)
{
    const bc_standards_report report = {.folder = w->shop->standard == NULL ? w->shop->folder : w->shop->standard,
                                        .process_path = session->process_path,
                                        .standards = &w->standards,
                                        .states = w->states,
                                        .state = w->state,
                                        .yield = w->yield,
                                        .stacks = stacks};
    bc_text text = {0};
    bc_status status = session->json ? bc_report_standards_json(&report, &text, error)
                                     : bc_report_standards_text(&report, &text, error);
    if (status == BC_OK)
        status = cli_output_write(session->output, &text, error);
    bc_text_clear(&text);
    return status;
}

static bc_status check_one(cli_session *session, work *w, const bc_standard *standard, bc_error *error)
{
    bc_process then = {0};
    bc_status status = standard->process_path == NULL
                           ? BC_OK
                           : bc_process_read(standard->process_path, session->materials, &then, error);
    for (size_t s = 0; status == BC_OK && s < standard->stacks; s++)
        status = bc_standard_check(standard, s, session->process_path == NULL ? NULL : &session->process,
                                   standard->process_path == NULL ? NULL : &then, w->yield, w->threads,
                                   &w->state[w->states++], error);
    bc_process_clear(&then);
    return status;
}

static bc_status check_all(cli_session *session, work *w, bool *met, bc_error *error)
{
    size_t stacks = 0;
    bc_status status = BC_OK;
    for (size_t i = 0; i < w->standards.count; i++)
        stacks += w->standards.standard[i].stacks;
    w->state = calloc(stacks + 1, sizeof *w->state);
    if (w->state == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; status == BC_OK && i < w->standards.count; i++)
        status = check_one(session, w, &w->standards.standard[i], error);
    for (size_t i = 0; status == BC_OK && i < w->states; i++)
        *met = *met && w->state[i].pass;
    return status;
}

/* list, show NAME, check [NAME] */
static bc_status read_and_say(cli_session *session, work *w, bool checks, bool *met, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    const char *only = arguments->operands > 1 ? arguments->all_operands[1] : NULL;
    char shown[BC_ESCAPED_PATH_SIZE];
    bc_status status = BC_OK;
    if (w->shop->standard != NULL)
        status = bc_standards_read(w->shop->standard, only, NULL, session->materials, &w->standards, error);
    else if (only != NULL)
        status = bc_fail(error, BC_ERROR_INPUT, "%s: found no standard/ in it; expected the standard coating '%s'",
                         bc_escaped_path(w->shop->folder, shown), only);
    if (status == BC_OK && checks)
        status = read_process(session, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK && checks)
        status = check_all(session, w, met, error);
    return status == BC_OK ? write_report(session, w, !checks && only != NULL, error) : status;
}

static bc_status write_in(const char *folder, const char *name, bc_text *text, bc_error *error)
{
    char *path;
    bc_status status = cli_path_in(folder, name, &path, error);
    if (status == BC_OK)
        status = cli_output_write(path, text, error);
    free(path);
    bc_text_clear(text);
    return status;
}

static bc_status write_stack(const char *folder, const bc_stack *stack, bool alone, bc_error *error)
{
    char name[BC_NAME_SIZE + sizeof "stacks/.csv"];
    bc_text text = {0};
    bc_status status = bc_report_stack_csv(stack, "A standard coating, as it was added.", &text, error);
    if (alone)
        snprintf(name, sizeof name, "stack.csv");
    else
        snprintf(name, sizeof name, "stacks/%s.csv", stack->substrate.name);
    if (status == BC_OK)
        status = write_in(folder, name, &text, error);
    bc_text_clear(&text);
    return status;
}

/* The files of a coating into a folder that is there. */
static bc_status write_files(cli_session *session, const bc_standard *standard, const char *folder, bc_error *error)
{
    bc_text text = {0};
    char *stacks = NULL;
    bc_status status = bc_report_callouts_csv(&standard->callouts, 0, &text, error);
    if (status == BC_OK)
        status = write_in(folder, "callouts.csv", &text, error);
    if (status == BC_OK && session->process_path != NULL) {
        status =
            bc_report_process_csv(&session->process, "The process of the day this coating was added.", &text, error);
        if (status == BC_OK)
            status = write_in(folder, "process.csv", &text, error);
    }
    if (status == BC_OK && standard->stacks > 1) {
        status = cli_path_in(folder, "stacks", &stacks, error);
        if (status == BC_OK)
            status = cli_make_folder(stacks, error);
        free(stacks);
    }
    for (size_t s = 0; status == BC_OK && s < standard->stacks; s++)
        status = write_stack(folder, &standard->stack[s], standard->stacks == 1, error);
    bc_text_clear(&text);
    return status;
}

/* What an end half way, or a coating that was replaced, left in the hidden folder. */
static bc_status clear_hidden(const char *folder, bc_error *error)
{
    static const char *const files[] = {"callouts.csv", "process.csv", "stack.csv"};
    char *stacks = NULL, *path = NULL;
    struct dirent *entry;
    DIR *open_stacks;
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i < sizeof files / sizeof *files; i++) {
        status = cli_path_in(folder, files[i], &path, error);
        if (status == BC_OK)
            unlink(path);
        free(path);
    }
    if (status == BC_OK)
        status = cli_path_in(folder, "stacks", &stacks, error);
    open_stacks = status == BC_OK ? opendir(stacks) : NULL;
    while (open_stacks != NULL && (entry = readdir(open_stacks)) != NULL)
        unlinkat(dirfd(open_stacks), entry->d_name, 0);
    if (open_stacks != NULL) {
        closedir(open_stacks);
        rmdir(stacks);
    }
    free(stacks);
    return status;
}

/* A coating that is replaced takes the place of the fresh one, in one step: it is kept, hidden, until the next one of
 * its name. */
static bc_status put_in_place(const char *fresh, const char *place, bool replace, bc_error *error)
{
    if (renameat2(AT_FDCWD, fresh, AT_FDCWD, place, replace ? RENAME_EXCHANGE : 0) == 0)
        return BC_OK;
    return bc_fail(error, BC_ERROR_IO, "%s: cannot be put in its place: %s", place, strerror(errno));
}

/* Written beside its place and then renamed: a coating is there whole or not at all. */
static bc_status keep(cli_session *session, const work *w, const bc_standard *standard, bc_error *error)
{
    char *home = NULL, *fresh = NULL, *place = NULL, hidden[BC_NAME_SIZE + 2];
    bc_status status = cli_path_in(w->shop->folder, "standard", &home, error);
    snprintf(hidden, sizeof hidden, ".%s", standard->name);
    if (status == BC_OK)
        status = cli_make_folder(home, error);
    if (status == BC_OK)
        status = cli_path_in(home, hidden, &fresh, error);
    if (status == BC_OK)
        status = cli_path_in(home, standard->name, &place, error);
    if (status == BC_OK)
        status = cli_make_folder(fresh, error);
    if (status == BC_OK)
        status = clear_hidden(fresh, error);
    if (status == BC_OK)
        status = write_files(session, standard, fresh, error);
    if (status == BC_OK)
        status = put_in_place(fresh, place, cli_has(session->arguments, "replace"), error);
    free(home);
    free(fresh);
    free(place);
    return status;
}

/* `standard` holds what the command line names; nothing is written yet. */
static bc_status read_fresh(cli_session *session, bc_standard *standard, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    const size_t stacks = arguments->operands - 2;
    bc_status status = cli_read_callouts(session, error);
    snprintf(standard->name, sizeof standard->name, "%s", arguments->all_operands[1]);
    standard->stack = calloc(stacks, sizeof *standard->stack);
    if (status == BC_OK && standard->stack == NULL)
        status = bc_fail_memory(error);
    for (size_t s = 0; status == BC_OK && s < stacks; s++) {
        status = cli_read_other_stack(session, arguments->all_operands[s + 2], &standard->stack[s], error);
        standard->stacks += status == BC_OK;
        for (size_t i = 0; status == BC_OK && i < s; i++)
            if (strcmp(standard->stack[i].substrate.name, standard->stack[s].substrate.name) == 0)
                status =
                    bc_fail(error, BC_ERROR_INPUT, "%s: found a second stack for %s; expected one for each substrate",
                            arguments->all_operands[s + 2], standard->stack[s].substrate.name);
    }
    standard->callouts = session->callouts;
    return status;
}

static bc_status refuse_name(cli_session *session, const work *w, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    const bool replace = cli_has(arguments, "replace");
    char shown[BC_ESCAPED_SIZE];
    bc_standards there = {0};
    bool found = false;
    bc_status status = BC_OK;
    if (arguments->operands < 3)
        return bc_fail(error, BC_ERROR_INPUT, "standard add needs a name and a stack file, or one for each substrate");
    if (!bc_standard_is_name(arguments->all_operands[1]))
        return bc_fail(error, BC_ERROR_INPUT,
                       "found the name '%s'; expected letters, digits, '-', '_', '+' and '.', at most 63, a letter or "
                       "digit first",
                       bc_escaped(arguments->all_operands[1], shown));
    if (w->shop->standard != NULL)
        status = bc_standards_read(w->shop->standard, NULL, NULL, session->materials, &there, error);
    for (size_t i = 0; status == BC_OK && i < there.count; i++) {
        const char *name = there.standard[i].name;
        found = found || strcmp(name, arguments->all_operands[1]) == 0;
        if (strcasecmp(name, arguments->all_operands[1]) == 0 && !(replace && found))
            status = bc_fail(error, BC_ERROR_INPUT,
                             "there is a standard coating of that name already, %s; expected another name, or "
                             "--replace and this one",
                             name);
    }
    if (status == BC_OK && replace && !found)
        status = bc_fail(error, BC_ERROR_INPUT, "--replace: found no standard coating called '%s'; expected one",
                         bc_escaped(arguments->all_operands[1], shown));
    bc_standards_clear(&there);
    return status;
}

/* Only what meets its callouts today becomes a standard coating. */
static bc_status add(cli_session *session, work *w, bool *met, bc_error *error)
{
    bc_standard *standard = calloc(1, sizeof *standard);
    if (standard == NULL)
        return bc_fail_memory(error);
    w->standards = (bc_standards){.count = 1, .standard = standard};
    bc_status status = refuse_name(session, w, error);
    if (status == BC_OK)
        status = read_fresh(session, standard, error);
    if (status == BC_OK)
        status = read_process(session, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK)
        status = check_all(session, w, met, error);
    if (status == BC_OK && *met)
        status = keep(session, w, standard, error);
    if (status == BC_OK)
        status = write_report(session, w, false, error);
    if (status == BC_OK && !*met)
        cli_note(session, "not added: %s does not meet what it is to be sold by", standard->name);
    else if (status == BC_OK)
        cli_note(session,
                 cli_has(session->arguments, "replace") ? "%s was replaced in %s/standard"
                                                        : "%s was added to %s/standard",
                 standard->name, w->shop->folder);
    for (size_t s = 0; s < standard->stacks; s++)
        bc_stack_clear(&standard->stack[s]);
    free(standard->stack);
    free(standard);
    w->standards = (bc_standards){0}; /* the callouts are the session's */
    return status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    static const char *const actions[] = {"list", "show", "check", "add", "build"};
    enum { LIST, SHOW, CHECK, ADD, BUILD, ACTIONS };
    const cli_arguments *arguments = session->arguments;
    char shown[BC_ESCAPED_SIZE];
    work w = {0};
    size_t action = 0;
    bc_status status = BC_OK;
    *met = true;
    while (action < ACTIONS && strcmp(arguments->operand, actions[action]) != 0)
        action++;
    if (action == ACTIONS)
        return bc_fail(error, BC_ERROR_INPUT,
                       "found '%s'; expected 'list', 'show', 'check', 'add' or 'build' after 'standard'",
                       bc_escaped(arguments->operand, shown));
    if (action == SHOW && arguments->operands < 2)
        return bc_fail(error, BC_ERROR_INPUT, "standard show needs the name of a standard coating");
    if (action != ADD && arguments->operands > (action == LIST || action == BUILD ? 1 : 2))
        return bc_fail(error, BC_ERROR_INPUT, "found '%s' after '%s'; expected nothing more",
                       bc_escaped(arguments->all_operands[action == LIST || action == BUILD ? 1 : 2], shown),
                       arguments->operand);
    status = read_options(session, &w, action != BUILD, error);
    if (status == BC_OK && action == BUILD)
        status = cli_standard_build(session, w.yield, w.threads, met, error);
    else if (status == BC_OK)
        status = action == ADD ? add(session, &w, met, error) : read_and_say(session, &w, action == CHECK, met, error);
    work_clear(&w);
    return status;
}

static const cli_option options[] = {
    CLI_OPTION_CALLOUTS,
    CLI_OPTION_PROCESS,
    {"yield-percent", "Y", false, "the share of runs that must meet the callouts (default 90)"},
    {"threads", "N", false, "0 for as many as the machine has; the result does not depend on it (default 0)"},
    {"replace", NULL, false, "of add: replaces the coating of that name, which is kept hidden until the next"},
    {"substrates", "all|A,B,..", true, "of build: every substrate whose table covers the callouts, or these"},
    {"materials", "A,B,..", true, "of build: layer materials (default: those of the process)"},
    {"max-layers", "N", false, "of build: largest number of layers, 1 to 200 (default 8)"},
    {"seed", "N", false, "of build: of the random starts; the same seed gives the same bytes (default 1)"},
    {"effort", "X", false, "how long build searches: 4 is about four times as long as 1 (default 0.2)"},
    {"shard", "I/N", false, "of build: part I of N parts; the same command without it then makes the table of all"},
    CLI_OPTION_END,
};

const cli_command cli_standard = {
    .name = "standard",
    .operand = "ACTION...",
    .needs = "--shop DIR",
    .summary = "The shop's standard coatings: 'list', 'show NAME', 'check [NAME]' on today's process, 'add NAME "
               "STACK...', 'build' for many substrates.",
    .details =
        "'add' takes a stack file, or one for each substrate, with the callouts the coating is sold by, and keeps "
        "it where it meets them. 'build' drafts a stack for each of many substrates into the folder of -o, which goes "
        "on "
        "where it was when begun again. 'quote --shop DIR' checks every one against a request before it searches.",
    .example = "standard check --shop examples/shop",
    .option = options,
    .run = run,
};
