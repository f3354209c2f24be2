/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_QUOTE_WORDS_H
#define BLOOMCOAT_REPORT_QUOTE_WORDS_H
/*
 * A quote in words: what the text and the JSON say alike. Sentences are written one a line.
 */
#include "parts.h"

const char *bc_feasibility_word(bc_feasibility verdict);

/* "R every <= 0.5 %, 420..680 nm, 0..30 deg" */
void bc_add_callout(bc_text *out, const bc_callout *callout);

/* What was asked and what is offered in its place. */
void bc_add_asked(bc_text *out, const bc_quote_report *report, const bc_exception *exception);
void bc_add_offered(bc_text *out, const bc_exception *exception);
/* "the lowest limit in this band" */
const char *bc_exception_word(bc_exception_kind kind);

void bc_add_why(bc_text *out, const bc_quote_report *report);
void bc_add_reasons(bc_text *out, const bc_quote_report *report);
void bc_add_remarks(bc_text *out, const bc_quote_report *report);
void bc_add_missing(bc_text *out, const bc_quote_report *report);

#endif
