/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "page.h"
#include "escaped.h"
#include "output.h"
#include <ctype.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define MOST_INPUTS 6              /* that any command reads */
#define LAST_SECOND 253402300799LL /* of the year 9999 */

/* The options that write a page. */
enum { FOR_CUSTOMER, FOR_HOUSE, PAGE_KINDS };
static const char *const page_option[PAGE_KINDS] = {[FOR_CUSTOMER] = "report", [FOR_HOUSE] = "internal-report"};

static bool command_has(const cli_arguments *arguments, const char *name)
{
    for (const cli_option *option = arguments->command->option; option->name != NULL; option++)
        if (strcmp(option->name, name) == 0)
            return true;
    return false;
}

static bool has_page(const cli_arguments *arguments)
{
    return cli_has(arguments, "report") || cli_has(arguments, "internal-report");
}

/* A title without a picture or a report would show nowhere. */
static bc_status refuse_titles_alone(const cli_arguments *arguments, bc_error *error)
{
    static const char *const name[] = {"title", "part-number"};
    const bool plot = command_has(arguments, "plot"), page = command_has(arguments, "report");
    if (cli_has(arguments, "plot") || has_page(arguments))
        return BC_OK;
    for (size_t i = 0; i < sizeof name / sizeof *name; i++)
        if (cli_has_said(arguments, name[i]))
            return bc_fail(error, BC_ERROR_INPUT, "--%s has no meaning without a %s%s%s; expected --%s FILE beside it",
                           name[i], plot ? "picture" : "", plot && page ? " or a " : "", page ? "report" : "",
                           page ? "report" : "plot");
    return BC_OK;
}

/* What only a report uses, given without one, is a slip that would go unnoticed. */
static bc_status refuse_alone(const cli_arguments *arguments, bc_error *error)
{
    static const char *const name[] = {
        "paper",        "date",     "quote-number", "request-number", "certificate-number",
        "order-number", "lot-size", "instrument",   "conditions"};
    const bool has_plan = command_has(arguments, "plan") && cli_has(arguments, "plan");
    for (size_t i = 0; i < sizeof name / sizeof *name; i++)
        if (cli_has_said(arguments, name[i]) && !(strcmp(name[i], "lot-size") == 0 && has_plan))
            return bc_fail(error, BC_ERROR_INPUT,
                           "--%s has no meaning without a report; expected --report FILE beside it", name[i]);
    return BC_OK;
}

/* YYYY-MM-DD, a day that there is. */
static bool is_date(const char *text)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int year, month, day;
    bool leap;
    if (strlen(text) != 10 || strspn(text, "0123456789") != 4 || text[4] != '-' ||
        strspn(text + 5, "0123456789") != 2 || text[7] != '-' || strspn(text + 8, "0123456789") != 2)
        return false;
    /* NOLINTBEGIN(cert-err34-c): they are digits, see above */
    year = atoi(text);
    month = atoi(text + 5);
    day = atoi(text + 8);
    /* NOLINTEND(cert-err34-c) */
    leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return year > 0 && month >= 1 && month <= 12 && day >= 1 && day <= days[month - 1] + (month == 2 && leap ? 1 : 0);
}

/* The day that reproducible builds agree on: https://reproducible-builds.org/specs/source-date-epoch/ */
static bc_status read_epoch(const char *text, char date[CLI_DATE_SIZE], bc_error *error)
{
    char shown[BC_ESCAPED_SIZE], *end;
    struct tm day;
    long long seconds;
    time_t moment;
    errno = 0;
    seconds = strtoll(text, &end, 10);
    moment = (time_t)seconds;
    if (!isdigit((unsigned char)text[0]) || *end != '\0' || errno != 0 || seconds > LAST_SECOND ||
        gmtime_r(&moment, &day) == NULL)
        return bc_fail(error, BC_ERROR_INPUT,
                       "SOURCE_DATE_EPOCH: found '%s'; expected the seconds since 1970-01-01 as a whole number",
                       bc_escaped(text, shown));
    strftime(date, CLI_DATE_SIZE, "%Y-%m-%d", &day);
    return BC_OK;
}

static bc_status read_date(cli_session *session, bc_error *error)
{
    const char *given = cli_value(session->arguments, "date"), *epoch = getenv("SOURCE_DATE_EPOCH");
    if (given != NULL && !is_date(given))
        return cli_fail_value(error, "date", given, "", "a day of the calendar, YYYY-MM-DD");
    if (given != NULL)
        snprintf(session->date, sizeof session->date, "%s", given);
    else if (epoch != NULL && epoch[0] != '\0')
        return read_epoch(epoch, session->date, error);
    return BC_OK;
}

bc_status cli_read_page(cli_session *session, bc_error *error)
{
    static const char *const paper[] = {[BC_PAPER_A4] = "a4", [BC_PAPER_LETTER] = "letter"};
    bc_page_format format;
    size_t choice = BC_PAPER_A4;
    const char *path;
    bc_status status = refuse_titles_alone(session->arguments, error);
    if (status == BC_OK && !has_page(session->arguments))
        return refuse_alone(session->arguments, error);
    for (size_t kind = 0; kind < PAGE_KINDS; kind++)
        for (size_t i = 0; status == BC_OK && (path = cli_value_at(session->arguments, page_option[kind], i)) != NULL;
             i++)
            status = bc_page_format_of(path, &format, error);
    if (status == BC_OK)
        status = cli_choice(session->arguments, "paper", 2, paper, &choice, error);
    session->paper = (bc_page_paper)choice;
    return status == BC_OK ? read_date(session, error) : status;
}

static void add_input(bc_page_options *options, bc_page_input *input, const char *role, const char *path,
                      const char *sha256)
{
    if (path == NULL)
        return;
    input[options->inputs++] = (bc_page_input){role, path, sha256};
    options->input = input;
}

static void set_options(const cli_session *session, const cli_page_work *work, bc_page_options *options,
                        bc_page_input *input)
{
    for (size_t i = 0; i < work->inputs; i++)
        input[i] = work->input[i];
    *options = (bc_page_options){.paper = session->paper,
                                 .title = cli_value(session->arguments, "title"),
                                 .part = cli_value(session->arguments, "part-number"),
                                 .date = session->date[0] == '\0' ? NULL : session->date,
                                 .inputs = work->inputs,
                                 .input = input,
                                 .reference = work->reference};
    add_input(options, input, "thickness profile", session->profile.path, session->profile.sha256);
    add_input(options, input, "stack", session->stack_path, session->stack.sha256);
    if (session->back.kind == BC_BACK_OWN)
        add_input(options, input, "stack of the back", cli_value(session->arguments, "back"),
                  session->back_stack.sha256);
    add_input(options, input, "callouts", session->callouts_path, session->callouts.sha256);
    add_input(options, input, "process", session->process_path, session->process.sha256);
    add_input(options, input, "chamber", session->chamber_path, session->chamber.sha256);
}

/* One more page, by the function that writes it. */
static bc_status make_one(const cli_page_work *work, size_t kind, const char *path, const bc_check_curves *curves,
                          bc_page_options *options, cli_pages *pages, bc_error *error)
{
    bc_text *larger = realloc(pages->text, (pages->count + 1) * sizeof *larger);
    const char **longer = larger == NULL ? NULL : realloc(pages->path, (pages->count + 1) * sizeof *longer);
    bc_status status;
    pages->text = larger == NULL ? pages->text : larger;
    if (longer == NULL)
        return bc_fail_memory(error);
    pages->path = longer;
    pages->text[pages->count] = (bc_text){0};
    pages->path[pages->count] = path;
    pages->count++;
    status = bc_page_format_of(path, &options->format, error);
    return status != BC_OK ? status
                           : (kind == FOR_HOUSE ? work->write_internal : work->write)(
                                 work->report, curves, options, &pages->text[pages->count - 1], error);
}

static bc_status make(const cli_session *session, const cli_page_work *work, const bc_check_curves *curves,
                      cli_pages *pages, bc_error *error)
{
    bc_page_input *input = calloc(MOST_INPUTS + work->inputs, sizeof *input);
    bc_page_options options;
    const char *path;
    bc_status status = input == NULL ? bc_fail_memory(error) : BC_OK;
    if (status == BC_OK)
        set_options(session, work, &options, input);
    for (size_t kind = work->internal_only ? FOR_HOUSE : FOR_CUSTOMER; kind < PAGE_KINDS; kind++)
        for (size_t i = 0; status == BC_OK && (path = cli_value_at(session->arguments, page_option[kind], i)) != NULL;
             i++)
            status = make_one(work, kind, path, curves, &options, pages, error);
    free(input);
    return status;
}

bc_status cli_make_pages(const cli_session *session, const cli_page_work *work, cli_pages *pages, bc_error *error)
{
    bc_check_curves curves;
    bc_status status;
    *pages = (cli_pages){0};
    if (!has_page(session->arguments))
        return BC_OK;
    if (work->check == NULL)
        return make(session, work, NULL, pages, error);
    status = bc_check_curves_compute(work->check->stack, work->check->back, work->check->result, &curves, error);
    if (status != BC_OK)
        return status;
    status = make(session, work, &curves, pages, error);
    bc_check_curves_clear(&curves);
    return status;
}

bc_status cli_write_pages(const cli_pages *pages, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i < pages->count; i++)
        status = cli_output_write(pages->path[i], &pages->text[i], error);
    return status;
}

void cli_pages_clear(cli_pages *pages)
{
    for (size_t i = 0; i < pages->count; i++)
        bc_text_clear(&pages->text[i]);
    free(pages->text);
    free(pages->path);
    *pages = (cli_pages){0};
}
