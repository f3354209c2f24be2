/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/page_parts.h"
#include "internal/plot_lens.h"

#define FLAT 0.7 /* of the height of a panel alone */

static void add_verdict(bc_document *document, const bc_lens_report *report)
{
    const bool pass = report->result->designed.check.pass;
    bc_block *block = bc_document_add(document, BC_BLOCK_VERDICT);
    bc_text words = {0};
    if (block != NULL)
        block->tone = pass ? BC_TONE_GOOD : BC_TONE_BAD;
    bc_document_cell(document, pass ? "Meets every callout" : "Does not meet every callout");
    bc_add_lens_verdict(&words, report);
    bc_document_take(document, &words);
    bc_document_cell(document, "Predicted, not measured.");
}

static void fill_picture(bc_chart *chart, const void *report)
{
    bc_plot_lens_panels(chart, report);
}

static void add_paragraph(bc_document *document, const char *words)
{
    bc_document_add(document, BC_BLOCK_PARAGRAPH);
    bc_document_cell(document, "%s", words);
}

static void add_tables(bc_document *document, const bc_lens_report *report)
{
    bc_table table;
    bc_text words = {0};
    size_t rows;
    bc_document_add_heading(document, "Callouts over the whole aperture");
    bc_fill_lens_callouts(report, &table);
    bc_document_take_table(document, &table);
    add_paragraph(document, "Holds to: the diameter from the centre.");
    add_paragraph(document, BC_AREA_MEAN_WORDS);
    bc_document_add(document, BC_BLOCK_PARAGRAPH);
    bc_add_lens_remedy(&words, report);
    bc_document_take(document, &words);
    rows = bc_fill_zones(report->result, &table);
    bc_document_add(document, BC_BLOCK_HEADING);
    bc_document_cell(document, "From the vertex to the edge (%zu of %zu zones)", rows, report->result->zones);
    bc_document_take_table(document, &table);
}

static void add_scatter(bc_document *document, const bc_check_report *check)
{
    bc_table table;
    if (!bc_fill_scatter(check, &table))
        return;
    bc_document_add(document, BC_BLOCK_HEADING);
    bc_document_cell(document, "Scatter from a roughness of %g nm rms, beside the figures above", check->roughness_nm);
    bc_document_take_table(document, &table);
    add_paragraph(document, BC_SCATTER_WORDS);
}

bc_status bc_page_lens(const bc_lens_report *report, const bc_page_options *options, bc_text *out, bc_error *error)
{
    bc_document document;
    bc_media all = {0};
    bc_document_open(&document, options, "Coating of a curved surface");
    bc_page_head(&document, &report->check);
    add_verdict(&document, report);
    bc_page_add_picture(&document, fill_picture, report, FLAT);
    add_tables(&document, report);
    add_scatter(&document, &report->check);
    bc_page_add_surface(&document, &report->check);
    bc_page_layers(&document, "Design, as it is at the vertex", &report->check);
    document.failed = document.failed || !bc_media_collect(&report->check, 0, &all);
    bc_page_origins(&document, options, &all);
    bc_page_cautions(&document, &report->check);
    return bc_document_end(&document, BC_OK, options, out, error);
}
