/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_DEPOSIT_WORDS_H
#define BLOOMCOAT_REPORT_DEPOSIT_WORDS_H
/*
 * A sheet in words: what its text and its JSON say alike. Sentences are written one a line.
 */
#include "parts.h"
#include "table.h"

const char *bc_cut_word(bc_cut cut);             /* optical, crystal */
const char *bc_error_of_word(bc_error_of which); /* high, cut */

/* The glass that the monitor sees. */
const bc_medium *bc_monitor_glass_of(const bc_deposit_report *report);

#define BC_NO_TURNING "No layer's signal turns before its cut."

/* The sheet's tables, with headings, and the words beneath them; release a table by writing it. */
void bc_fill_sheet(const bc_deposit_report *report, bc_table *table);
const char *bc_sheet_words(const bc_deposit_report *report);
void bc_fill_signals(const bc_deposit_report *report, bc_table *table);
void bc_add_signal_words(bc_text *lines, const bc_deposit_report *report);
size_t bc_fill_turnings(const bc_deposit_result *result, bc_table *table); /* returns how many there are */
/* The time from door to door, step by step; the monitor and its beam; where single layers would be surer than at the
 * wavelength of the whole run. */
void bc_add_load_times(bc_text *words, const bc_deposit_report *report);
void bc_add_beam(bc_text *words, const bc_deposit_report *report);
void bc_add_surest(bc_text *words, const bc_deposit_result *result);

/* What an operator must know of single layers: too thin, absorbing, better by crystal, another monitor glass. */
void bc_add_layer_remarks(bc_text *out, const bc_deposit_report *report);
/* What the process and the chamber file leave out, and what was taken instead. */
void bc_add_deposit_missing(bc_text *out, const bc_deposit_report *report);
void bc_add_deposit_cautions(bc_text *out, const bc_deposit_report *report);

/* Vacuum side to glass: layers in order of deposition, the part's glass and the monitor glass. calloc()ed; NULL: no
 * memory.
 */
const bc_medium **bc_deposit_media(const bc_deposit_report *report, size_t *count);

#endif
