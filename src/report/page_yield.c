/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/curved.h"
#include "internal/page_parts.h"
#include "internal/plot_words.h"
#include "internal/yield_words.h"

#define FLAT 0.8 /* of the height of a panel alone */

/* A figure and no verdict; only a design that fails by itself has a colour. */
static void add_share(bc_document *document, const bc_yield_report *report)
{
    bc_text lines = {0};
    bc_block *block = bc_document_add(document, BC_BLOCK_VERDICT);
    if (block != NULL)
        block->tone = report->check.result->pass ? BC_TONE_PLAIN : BC_TONE_BAD;
    bc_document_cell(document, "Yield %.1f %%", 100.0 * report->result->yield);
    bc_add_yield(&lines, report);
    bc_document_take_lines(document, &lines);
    bc_document_cell(document, "Predicted, not measured.");
}

static void fill_picture(bc_chart *chart, const void *report)
{
    bc_plot_yield_panels(chart, report);
}

static void add_errors(bc_document *document, const bc_yield_report *report)
{
    bc_table table;
    bc_text lines = {0};
    if (bc_fill_influences(report, &table)) {
        bc_document_add_heading(document, "The error that decides");
        bc_document_add(document, BC_BLOCK_LIST);
        bc_add_decisive_error(&lines, report->result, report->check.stack->layers);
        bc_document_take_lines(document, &lines);
        bc_document_take_table(document, &table);
        bc_document_add(document, BC_BLOCK_PARAGRAPH);
        bc_document_cell(document, "%s", BC_INFLUENCE_WORDS);
    }
    if (bc_fill_fails(report, &table)) {
        bc_document_add_heading(document, "How often each callout fails");
        bc_document_take_table(document, &table);
    }
    if (bc_fill_clouds(report, &table)) {
        bc_document_add_heading(document, "How far the colours scatter");
        bc_document_add(document, BC_BLOCK_PARAGRAPH);
        bc_add_clouds_words(&lines, report);
        bc_document_take(document, &lines);
        bc_document_take_table(document, &table);
    }
    bc_add_missing_errors(&lines, report);
    bc_document_section(document, "Not known", &lines);
}

bc_status bc_page_yield(const bc_yield_report *report, const bc_page_options *options, bc_text *out, bc_error *error)
{
    bc_document document;
    bc_media all = {0};
    bc_text lines = {0};
    bc_document_open(&document, options, "Yield of a coating");
    bc_page_head(&document, &report->check);
    add_share(&document, report);
    if (report->result->curves > 0)
        bc_page_add_picture(&document, fill_picture, report, FLAT);
    add_errors(&document, report);
    bc_page_findings(&document, &report->check);
    if (report->check.curved != NULL)
        bc_page_add_surface(&document, &report->check);
    bc_page_layers(&document, "Design", &report->check);
    document.failed = document.failed || !bc_media_collect(&report->check, 0, &all);
    bc_page_origins(&document, options, &all);
    bc_add_cautions(&lines, &report->check);
    bc_page_add_cautions(&document, &lines);
    return bc_document_end(&document, BC_OK, options, out, error);
}
