/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_QUOTE_WORDS_H
#define BLOOMCOAT_REPORT_QUOTE_WORDS_H
/*
 * A quote in words: what the text and the JSON say alike. Sentences are written one a line.
 */
#include "numbers.h"
#include "parts.h"

/* All of a quote into json->root. */
void bc_quote_json(const bc_quote_report *report, bc_json *json);

const char *bc_feasibility_word(bc_feasibility verdict);

/* What was asked and what is offered in its place. */
void bc_add_asked(bc_text *out, const bc_quote_report *report, const bc_exception *exception);
void bc_add_offered(bc_text *out, const bc_quote_report *report, const bc_exception *exception);
/* "the lowest limit in this band" */
const char *bc_exception_word(bc_exception_kind kind);

void bc_add_why(bc_text *out, const bc_quote_report *report);
void bc_add_reasons(bc_text *out, const bc_quote_report *report);
/* Which options are proved to be the best possible, and that no others do better. */
void bc_add_proved(bc_text *out, const bc_quote_report *report);
void bc_add_remarks(bc_text *out, const bc_quote_report *report);
void bc_add_missing(bc_text *out, const bc_quote_report *report);

/* "standard coating NAME does it as it is: yield 97.1 % (...)" */
void bc_add_standard(bc_text *out, const bc_standard_offer *offer, double asked);
/* What was found of the shop's standard coatings, and that no search was made. */
void bc_add_standards(bc_text *out, const bc_quote_report *report);
void bc_standards_json(const bc_quote_report *report, bc_json *json); /* standards[], searched */

/* An option's row: layers, total nm, limit_used, yield %, hours per load, loads and hours expected ("?": not known),
 * mark. */
#define BC_OPTION_CELLS 8
#define BC_OPTION_YIELD 3
#define BC_OPTION_MARK  7 /* "recommended", "nearest", the name of a standard coating, or "" */
void bc_option_cells(const bc_quote_report *report, size_t which, char cell[BC_OPTION_CELLS][BC_PRINTED_SIZE]);

/* Whether the runs behind the process leave something open of some option's yield. */
bool bc_any_known(const bc_quote_result *result);

/* Parts per load, loads, those that the failing runs add, and blanks; nothing where no part can be made. */
void bc_add_loads(bc_text *words, const bc_quote_report *report);

/* The name of the callout that an exception changes; NULL when it changes a material. */
const char *bc_exception_callout(const bc_quote_report *report, const bc_exception *exception);
/* What leads in the exceptions. */
const char *bc_offer_words(const bc_quote_result *result);
/* "verified: uses ... % of the limit, ... of 100 runs succeed (...), with 4 layers, 310.2 nm." */
void bc_add_verified(bc_text *words, const bc_exception *exception);
/* The changes that were looked for in vain. */
void bc_add_vain(bc_text *out, const bc_quote_report *report);

#endif
