/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/page_parts.h"

static void add_verdict(bc_document *document, const bc_check_report *report)
{
    const bool pass = report->result->pass;
    bc_text decision = {0};
    bc_block *block = bc_document_add(document, BC_BLOCK_VERDICT);
    if (block != NULL)
        block->tone = pass ? BC_TONE_GOOD : BC_TONE_BAD;
    bc_document_cell(document, pass ? "Meets every callout" : "Does not meet every callout");
    bc_add_decision(&decision, report);
    bc_document_take(document, &decision);
    bc_document_cell(document, "Predicted, not measured.");
}

bc_status bc_page_check(const bc_check_report *report, const bc_check_curves *curves, const bc_page_options *options,
                        bc_text *out, bc_error *error)
{
    bc_document document;
    bc_media all = {0};
    bc_status status;
    bc_document_open(&document, options, "Coating check");
    bc_page_head(&document, report);
    add_verdict(&document, report);
    status = bc_page_curves(&document, report, curves, error);
    bc_page_findings(&document, report);
    bc_page_layers(&document, "Design", report);
    document.failed = document.failed || !bc_media_collect(report, 0, &all);
    bc_page_origins(&document, options, &all);
    bc_page_cautions(&document, report);
    return bc_document_end(&document, status, options, out, error);
}
