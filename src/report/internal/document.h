/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_DOCUMENT_H
#define BLOOMCOAT_REPORT_DOCUMENT_H
/*
 * A document: blocks under one another, each a kind and its pieces of text. A report fills one; bc_document_end()
 * makes it HTML or PDF. A failed allocation is kept in `failed` and reported once, at the end.
 */
#include "chart.h"
#include "table.h"
#include <bloomcoat/page.h>
#include <bloomcoat/version.h>

#define BC_DOCUMENT_COLUMNS BC_TABLE_COLUMNS
#define BC_PAGE_PICTURE_MM  174.0 /* the width of a picture, and of the text of an A4 page */

/* Never by colour alone: the words say it too. */
typedef enum bc_tone { BC_TONE_PLAIN, BC_TONE_GOOD, BC_TONE_CARE, BC_TONE_BAD } bc_tone;

typedef enum bc_block_kind {
    BC_BLOCK_VERDICT,   /* the first cell large, the others beneath it */
    BC_BLOCK_HEADING,   /* one cell */
    BC_BLOCK_PARAGRAPH, /* one cell */
    BC_BLOCK_LIST,      /* a cell an item */
    BC_BLOCK_FACTS,     /* by turns what it is and how much; `columns` such pairs side by side */
    BC_BLOCK_TABLE,     /* row by row, the headings first */
    BC_BLOCK_PICTURE,   /* no cells; the chart */
    BC_BLOCK_CAUTIONS,  /* a list in a frame; the first cell is its heading */
    BC_BLOCK_SIGNATURE, /* a line to write on for each cell, side by side */
} bc_block_kind;

typedef struct bc_cell {
    char *text; /* UTF-8 that can be shown */
    bc_tone tone;
} bc_cell;

typedef struct bc_block {
    bc_block_kind kind;
    bc_tone tone;
    size_t columns;
    bool right[BC_DOCUMENT_COLUMNS]; /* aligned to the right, as numbers are */
    bool code[BC_DOCUMENT_COLUMNS];  /* in letters of one width */
    size_t cells, capacity;
    bc_cell *cell;
    bc_chart chart;
} bc_block;

typedef struct bc_document {
    char *title; /* what bc_document_open() took from the options, fit to be shown; the last two may be NULL */
    char *part, *date;
    size_t blocks, capacity;
    bc_block *block;
    bool one_page; /* is set smaller, its picture flatter, until it fits on one */
    bool failed;
} bc_document;

/* How a document fits on one page. */
typedef struct bc_document_fit {
    double scale;   /* of all letters and gaps */
    double more_mm; /* height for each of its pictures beyond bc_picture_least_mm() */
    bool limited;   /* false: a picture is as high as it likes */
} bc_document_fit;

/* `title`: where the options give none. */
void bc_document_open(bc_document *document, const bc_page_options *options, const char *title);

/* Append an empty block; NULL once an allocation failed. The pointer holds until the next is appended. */
bc_block *bc_document_add(bc_document *document, bc_block_kind kind);
/* A table with headings: "layers>|material|SHA-256#", `>` aligned to the right, `#` in letters of one width. */
void bc_document_add_table(bc_document *document, const char *headings);
/* A table of a text report, which is released. */
void bc_document_take_table(bc_document *document, bc_table *table);
void bc_document_add_heading(bc_document *document, const char *heading);

/* Append a cell to the last block. What is no UTF-8, or would not print, is escaped. */
void bc_document_cell(bc_document *document, const char *format, ...) __attribute__((format(printf, 2, 3)));
void bc_document_tone(bc_document *document, bc_tone tone); /* of the last cell */
/* The text becomes one cell, or a cell a line, and is released. */
void bc_document_take(bc_document *document, bc_text *words);
void bc_document_take_lines(bc_document *document, bc_text *lines);
/* A heading and a list of the lines; nothing when there is none. */
void bc_document_section(bc_document *document, const char *heading, bc_text *lines);

/* Release the document, and write it before that when `status`, of what went before, is BC_OK. */
bc_status bc_document_end(bc_document *document, bc_status status, const bc_page_options *options, bc_text *out,
                          bc_error *error);

/* The two ways to write it, for bc_document_end(). The charts are used up. */
bc_status bc_document_html(bc_document *document, const bc_page_options *options, bc_text *out, bc_error *error);
bc_status bc_document_pdf(bc_document *document, const bc_page_options *options, bc_text *out, bc_error *error);

/* The largest scale, from 0.6 to 1, at which a document that is to fit on one page does, and what is left for its
 * pictures. 1 and as they like for every other document. */
double bc_picture_least_mm(const bc_chart *chart);
bc_status bc_document_fit_page(const bc_document *document, const bc_page_options *options, bc_document_fit *fit,
                               bc_error *error);

/* The program and its version. */
#define BC_DOCUMENT_MAKER "bloomcoat " BC_VERSION

#endif
