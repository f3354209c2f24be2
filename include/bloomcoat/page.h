/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PAGE_H
#define BLOOMCOAT_PAGE_H
/*
 * Results as pages: one HTML file that needs nothing else, or a PDF, in memory.
 *
 * Pages for the house have everything: the verdict first; then the curves it is about, each callout, the design, and
 * for a quote its options, reasons and exceptions, for an inspection what the run did; then where every index came
 * from, the files that were read with their SHA-256 checksums, and the cautions. The words and figures are those of the
 * text reports. A file is called by its name without its folders, which nobody outside needs to know; the checksum says
 * which one it was.
 *
 * Pages for the customer, bc_page_offer() and bc_page_certificate(), have what is offered or was measured, and nothing
 * of how it is made: no layer materials, thicknesses, numbers of layers, yields, hours, files or checksums. They take
 * one page of A4 or Letter: what there is much of is set smaller, down to 0.6 of the usual size, and goes on to a
 * second page only beyond that.
 *
 * The same input gives the same bytes, for a PDF wherever the same fonts are: there is no date but the one that is
 * given, and no person's or machine's name. Numbers follow LC_NUMERIC as in report.h.
 */
#include <bloomcoat/plot.h>

BC_API_BEGIN

typedef enum bc_page_format { BC_PAGE_HTML, BC_PAGE_PDF } bc_page_format;
typedef enum bc_page_paper { BC_PAPER_A4, BC_PAPER_LETTER } bc_page_paper;

/* A file that the result rests on. The tables of indices need not be given: the report has them. */
typedef struct bc_page_input {
    const char *role; /* "callouts" */
    const char *path;
    const char *sha256; /* as a reader keeps it */
} bc_page_input;

/* What a customer's page refers to. NULL, 0: not stated, and left out. */
typedef struct bc_page_reference {
    const char *number; /* of the quote, or of the certificate */
    const char *request_number, *quote_number, *order_number;
    unsigned long validity_days; /* of a quote, from its date */
    unsigned long lot_size;      /* parts that a certificate covers */
    const char *instrument, *conditions;
    const char *foot; /* for the end of the page */
} bc_page_reference;

typedef struct bc_page_options {
    bc_page_format format;
    bc_page_paper paper; /* of a PDF, and what an HTML file asks of a printer */
    const char *title;   /* these three may be NULL */
    const char *part;
    const char *date; /* YYYY-MM-DD */
    size_t inputs;
    const bc_page_input *input;
    const bc_page_reference *reference; /* of customers' pages alone; NULL: nothing of it */
} bc_page_options;

/* The format that a file's name asks for by its ending (.html or .htm, .pdf, in either case). BC_ERROR_INPUT for any
 * other ending. */
bc_status bc_page_format_of(const char *path, bc_page_format *format, bc_error *error);

/* Every function below appends a whole file to *out, or leaves it empty: BC_ERROR_MEMORY, or BC_ERROR_IO when the
 * drawing library fails. `curves` as bc_check_curves_compute() makes them of the same stack and result; NULL: no
 * picture. */

bc_status bc_page_check(const bc_check_report *report, const bc_check_curves *curves, const bc_page_options *options,
                        bc_text *out, bc_error *error);

/* For the customer, what is offered: callouts with their limits, predicted spectrum, substrate, quantity, exceptions in
 * words, surface by surface. What belongs to the whole request is taken from the first. */
bc_status bc_page_offer(size_t count, const bc_quote_surface *surface, const bc_page_options *options, bc_text *out,
                        bc_error *error);

/* For the customer, what was measured: callout by callout the value with its expanded uncertainty, the conditions and
 * the decision rule. BC_ERROR_INPUT where there is nothing to certify: a verdict that is undecided, a scan that is no
 * evidence (bc_evidence), or no uncertainty of the measurement. */
bool bc_page_certifies(const bc_inspect_report *report);
bc_status bc_page_certificate(const bc_inspect_report *report, const bc_page_options *options, bc_text *out,
                              bc_error *error);

/* A quote for the house, surface by surface. */
bc_status bc_page_quote(size_t count, const bc_quote_surface *surface, const bc_page_options *options, bc_text *out,
                        bc_error *error);

/* For the house, one witness or a lot. */
bc_status bc_page_inspect(const bc_inspect_report *report, const bc_page_options *options, bc_text *out,
                          bc_error *error);

/* A curved surface from its centre to its edge. */
bc_status bc_page_lens(const bc_lens_report *report, const bc_page_options *options, bc_text *out, bc_error *error);

/* Simulated runs; a picture where report->result->curves >= 1. */
bc_status bc_page_yield(const bc_yield_report *report, const bc_page_options *options, bc_text *out, bc_error *error);

/* The sheet for the chamber, with the monitor's signal. */
bc_status bc_page_deposit(const bc_deposit_report *report, const bc_page_options *options, bc_text *out,
                          bc_error *error);

BC_API_END

#endif
