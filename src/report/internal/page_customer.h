/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_PAGE_CUSTOMER_H
#define BLOOMCOAT_REPORT_PAGE_CUSTOMER_H
/*
 * The parts that customers' pages share. Nothing here says how a coating is made.
 */
#include "page_parts.h"

/* A document on one page. */
void bc_customer_open(bc_document *document, const bc_page_options *options, const char *title);
/* What the options' reference is; all zero where there is none. */
bc_page_reference bc_customer_reference(const bc_page_options *options);

/* Facts in two columns: begin them, add one (nothing when `value` is NULL), the date or room to write it. */
void bc_customer_facts(bc_document *document);
void bc_customer_fact(bc_document *document, const char *name, const char *value);
void bc_customer_date(bc_document *document);
/* The day `days` after YYYY-MM-DD of the Gregorian calendar, in the same form. */
void bc_customer_day_after(const char *date, unsigned long days, char to[16]);

/* A callout in cells: its name ("a: band" with a letter that is not empty), "R max ≤ 0.5 %", "420–680 nm", "0–30°",
 * polarization, what it is about. */
#define BC_CUSTOMER_COLUMNS "callout|limit|wavelengths|angle of incidence|polarization|of"
void bc_customer_callout(bc_document *document, const bc_callout *callout, const char *letter);
/* The same in one line, without the name. */
void bc_customer_add_callout(bc_text *words, const bc_callout *callout);

/* The cautions, one a line; that coated parts have safety data sheets where a layer of the stack has one. */
void bc_customer_add_cautions(bc_text *lines, const bc_check_report *report, bool predicted);
/* The shop's words for the end of a page. */
void bc_customer_foot(bc_document *document, const bc_page_options *options);

#endif
