/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/deposit_words.h"
#include "internal/page_parts.h"
#include "internal/plot_deposit.h"
#include <stdlib.h>

#define FLAT 0.7 /* of the height of a panel alone */

static void add_paragraph(bc_document *document, bc_text *words)
{
    document->failed = document->failed || words->failed;
    if (words->length > 0) {
        bc_document_add(document, BC_BLOCK_PARAGRAPH);
        bc_document_take(document, words);
    }
    bc_text_clear(words);
}

static void add_head(bc_document *document, const bc_deposit_report *report)
{
    bc_page_add_part(document);
    bc_page_add_stack(document, report->stack);
}

static void add_sheet(bc_document *document, const bc_deposit_report *report)
{
    bc_table table;
    bc_text words = {0};
    bc_document_add_heading(document, "Layers in order of deposition");
    bc_fill_sheet(report, &table);
    bc_document_take_table(document, &table);
    bc_document_add(document, BC_BLOCK_PARAGRAPH);
    bc_document_cell(document, "%s", bc_sheet_words(report));
    bc_add_load_times(&words, report);
    add_paragraph(document, &words);
}

static void fill_picture(bc_chart *chart, const void *report)
{
    bc_plot_deposit_panels(chart, report);
}

static void add_signals(bc_document *document, const bc_deposit_report *report)
{
    bc_table table;
    bc_text words = {0};
    bc_document_add_heading(document, "The signal");
    bc_add_beam(&words, report);
    add_paragraph(document, &words);
    bc_fill_signals(report, &table);
    bc_document_take_table(document, &table);
    bc_document_add(document, BC_BLOCK_LIST);
    bc_add_signal_words(&words, report);
    bc_document_take_lines(document, &words);
    bc_document_add_heading(document, "Where the signal turns");
    if (bc_fill_turnings(report->result, &table) > 0) {
        bc_document_take_table(document, &table);
    } else {
        free(table.cell);
        bc_document_add(document, BC_BLOCK_PARAGRAPH);
        bc_document_cell(document, "%s", BC_NO_TURNING);
    }
    bc_add_surest(&words, report->result);
    add_paragraph(document, &words);
}

static bool collect(const bc_deposit_report *report, bc_media *all)
{
    size_t count;
    const bc_medium **media = bc_deposit_media(report, &count);
    all->medium = media == NULL ? NULL : calloc(count + 1, sizeof(const bc_medium *));
    for (size_t i = 0; all->medium != NULL && i < count; i++)
        bc_media_add(all, media[i]);
    free(media);
    return all->medium != NULL;
}

bc_status bc_page_deposit(const bc_deposit_report *report, const bc_page_options *options, bc_text *out,
                          bc_error *error)
{
    bc_document document;
    bc_media all = {0};
    bc_text lines = {0};
    bc_document_open(&document, options, "Deposition sheet");
    add_head(&document, report);
    add_sheet(&document, report);
    if (report->result->has_signal) {
        bc_page_add_picture(&document, fill_picture, report, FLAT);
        add_signals(&document, report);
    }
    bc_add_layer_remarks(&lines, report);
    bc_document_section(&document, "Notes", &lines);
    bc_add_deposit_missing(&lines, report);
    bc_document_section(&document, "Not known", &lines);
    document.failed = document.failed || !collect(report, &all);
    bc_page_origins(&document, options, &all);
    bc_add_deposit_cautions(&lines, report);
    bc_page_add_cautions(&document, &lines);
    return bc_document_end(&document, BC_OK, options, out, error);
}
