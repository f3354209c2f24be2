/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_PAGE_H
#define BLOOMCOAT_CLI_PAGE_H
/*
 * --report of every command that has it, and --internal-report of those whose --report is for the customer.
 */
#include "session.h"
#include <bloomcoat/page.h>

/* For a command's table of options, beside those of a title. */
#define CLI_OPTIONS_PAGE                                                                                               \
    {"report", "FILE", true,                                                                                           \
     "write a report as well, by the extension of the file: .html or .pdf. May be given several times"},               \
        {"paper", "a4|letter", false, "paper of the report (default a4)"},                                             \
    {                                                                                                                  \
        "date", "YYYY-MM-DD", false, "the date in the report (default: that of $SOURCE_DATE_EPOCH, else none)"         \
    }

/* The same for a command with a page for the customer and one for the house. */
#define CLI_OPTIONS_CUSTOMER_PAGE(what)                                                                                \
    {"report", "FILE", true,                                                                                           \
     "write " what                                                                                                     \
     " for the customer as well, on one page, by the extension of the file: .html or .pdf. May be given "              \
     "several times"},                                                                                                 \
        {"internal-report", "FILE", true, "write an internal report with everything in it"},                           \
        {"paper", "a4|letter", false, "paper of the reports (default a4)"},                                            \
        {"date", "YYYY-MM-DD", false, "the date in the reports (default: that of $SOURCE_DATE_EPOCH, else none)"},     \
    {                                                                                                                  \
        "page-foot", "TEXT", false, "the shop's words for the end of the customer's page"                              \
    }

/* The options, before anything else is read: a misspelt ending costs no search. */
bc_status cli_read_page(cli_session *session, bc_error *error);

/* The bytes of every report, made before anything is written. */
typedef struct cli_pages {
    size_t count;
    bc_text *text;
    const char **path;
} cli_pages;

/* What a command makes a page of. */
typedef struct cli_page_work {
    const bc_check_report *check; /* whose curves are drawn; NULL: none are */
    bc_status (*write)(const void *report, const bc_check_curves *curves, const bc_page_options *options, bc_text *out,
                       bc_error *error);
    /* For --internal-report; NULL: the command has none. */
    bc_status (*write_internal)(const void *report, const bc_check_curves *curves, const bc_page_options *options,
                                bc_text *out, bc_error *error);
    const void *report;
    const bc_page_reference *reference; /* for the customer's page; may be NULL */
    bool internal_only;                 /* there is nothing to write for the customer */
    size_t inputs;                      /* files of this command alone, beside those of the session */
    const bc_page_input *input;
} cli_page_work;

/* Nothing without a report. Release *pages with cli_pages_clear() in any case. */
bc_status cli_make_pages(const cli_session *session, const cli_page_work *work, cli_pages *pages, bc_error *error);
bc_status cli_write_pages(const cli_pages *pages, bc_error *error);
void cli_pages_clear(cli_pages *pages);

/* What a command made (`made`: whether it could), once all of it is there: its reports (NULL: it has none), its result,
 * its picture and, with --changed-stack, the stack. Clears them. */
bc_status cli_write_results(const cli_session *session, bc_status made, bc_text *result, bc_text *picture,
                            cli_pages *pages, bc_error *error);

/* The same, with the reports made of `work` before. */
bc_status cli_write_with_pages(const cli_session *session, bc_status made, bc_text *result, bc_text *picture,
                               const cli_page_work *work, bc_error *error);

#endif
