/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_QUOTE_WRITE_H
#define BLOOMCOAT_CLI_QUOTE_WRITE_H
/*
 * What a quote writes: its result, the pages, the price, and the request itself.
 */
#include "session.h"

/* A surface that was quoted. */
typedef struct cli_quoted {
    const char *name; /* NULL: the only one, of no name */
    const cli_session *session;
    bc_quote_report report;
} cli_quoted;

/* --quote-number, --request-number, --validity-days, --page-foot. */
bc_status cli_read_quote_reference(const cli_arguments *arguments, bc_page_reference *reference, bc_error *error);

/* The entry of the shop's record, where one is kept; before anything is written: a page has its number. */
bc_status cli_record_quotes(size_t count, const cli_quoted *quoted, bc_error *error);

/* Everything is made before anything is written. */
bc_status cli_write_quotes(size_t count, const cli_quoted *quoted, bc_error *error);

#endif
