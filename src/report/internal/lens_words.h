/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_LENS_WORDS_H
#define BLOOMCOAT_REPORT_LENS_WORDS_H
/*
 * A curved surface in words: what its text, its picture and its page say alike.
 */
#include "parts.h"
#include "table.h"

#define BC_AREA_MEAN_WORDS                                                                                             \
    "Area mean: each zone's own value (its worst in the band, for a max or min), averaged over the projected "         \
    "aperture with the weight 2 pi r dr."

/* Some of the zones, and how many; each callout over the whole aperture. Release a table by writing it. */
size_t bc_fill_zones(const bc_lens_result *lens, bc_table *table);
void bc_fill_lens_callouts(const bc_lens_report *report, bc_table *table);
/* Whether every callout holds over the whole aperture, and if not, out to where. */
void bc_add_lens_verdict(bc_text *words, const bc_lens_report *report);
/* What a common factor of all thicknesses betters. */
void bc_add_lens_remedy(bc_text *words, const bc_lens_report *report);

#endif
