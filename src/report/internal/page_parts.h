/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_PAGE_PARTS_H
#define BLOOMCOAT_REPORT_PAGE_PARTS_H
/*
 * The parts that pages share. Each appends its blocks.
 */
#include "document.h"
#include "parts.h"

/* Facts beneath the title: part and date, with room for more; the same and what is coated. */
void bc_page_add_part(bc_document *document);
void bc_page_head(bc_document *document, const bc_check_report *report);
/* The curves with their limits, and the layers beneath; nothing when curves is NULL. */
bc_status bc_page_curves(bc_document *document, const bc_check_report *report, const bc_check_curves *curves,
                         bc_error *error);
/* A picture block of its own for `fill`, its panels `flat` times as high as they are alone, so that what belongs
 * together stands on one page; `report` is handed on. */
void bc_page_add_picture(bc_document *document, void (*fill)(bc_chart *chart, const void *report), const void *report,
                         double flat);
/* Each callout on each glass, and what the rows on the whole part assume. */
void bc_page_findings(bc_document *document, const bc_check_report *report);
/* Facts: the layers, the glass, and the medium that the light comes from. */
void bc_page_add_stack(bc_document *document, const bc_stack *stack);

/* A curved surface, and how layers grow on it. */
void bc_page_add_surface(bc_document *document, const bc_check_report *report);
/* The layers of a stack, from the substrate. */
void bc_page_layers(bc_document *document, const char *heading, const bc_check_report *report);
/* Where every index came from, and the files with their checksums; `all` is released. */
void bc_page_origins(bc_document *document, const bc_page_options *options, bc_media *all);
/* The cautions in their frame; `lines` are released. Those of a check. */
void bc_page_add_cautions(bc_document *document, bc_text *lines);
void bc_page_cautions(bc_document *document, const bc_check_report *report);

#endif
