/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_LENS_WORDS_H
#define BLOOMCOAT_REPORT_LENS_WORDS_H
/*
 * A curved surface in words: what its text, its picture and its page say alike.
 */
#include "parts.h"
#include "table.h"

/* Whether every callout holds over the whole aperture, and if not, out to where. */
void bc_add_lens_verdict(bc_text *words, const bc_lens_report *report);
/* What a common factor of all thicknesses betters. */
void bc_add_lens_remedy(bc_text *words, const bc_lens_report *report);

#endif
