/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_INSPECT_WORDS_H
#define BLOOMCOAT_REPORT_INSPECT_WORDS_H
/*
 * An inspection in words: what the text and the JSON say alike. Sentences are written one a line.
 */
#include "parts.h"
#include "table.h"

/* A number, or a dash for one that is not known. */
#define BC_NUMBER_CELL(table, column, format, value)                                                                   \
    do {                                                                                                               \
        const double number_ = (value);                                                                                \
        if (isfinite(number_))                                                                                         \
            bc_table_cell(table, column, format, number_);                                                             \
        else                                                                                                           \
            bc_table_cell(table, column, "-");                                                                         \
    } while (0)

const char *bc_conformity_word(bc_verdict verdict); /* accept, reject, undecided */
const char *bc_reason_word(bc_undecided reason);    /* uncertainty, not covered, ... */
const char *bc_run_word(bc_run run);                /* as designed, factor, ... */
const char *bc_noise_word(bc_noise_source source);  /* repeats, scan, ... */
const char *bc_measured_unit_word(bc_measured_unit unit);
const char *bc_wavelength_unit_word(bc_wavelength_unit unit);
const char *bc_told_word(bc_told told); /* by the header, ... */
const char *bc_back_word(bc_back_kind kind);

/* The overlay of what was measured: R unless only T was. */
const bc_overlay *bc_main_overlay(const bc_inspect_result *result);

/* What the run did to the films. */
void bc_add_run(bc_text *out, const bc_inspect_result *result);
/* A group of films that the data do not tell apart. */
void bc_add_group(bc_text *out, const bc_inspect_result *result, const bc_film_group *group);
/* What else may have been measured, or that nothing explains the scan; nothing where the fit is good. */
void bc_add_hypotheses(bc_text *out, const bc_inspect_result *result);
void bc_add_absorption(bc_text *out, const bc_absorption *absorption);

/* A report of a check that has the design's media in it, for their sources and cautions. `finding` has room for one
 * more than result->count. */
bc_check_report bc_inspect_media(const bc_inspect_report *report, bc_check_result *result, bc_finding *finding);

/* The text of a lot, and of one witness in its heading. */
void bc_lot_text(const bc_inspect_report *report, bc_text *out);
void bc_lot_json(const bc_inspect_report *report, bc_json *json);
/* One witness as JSON into `into`. */
void bc_witness_json(const bc_inspect_report *report, size_t which, cJSON *into, bc_json *json);

/* A verdict, in colour where that is welcome. */
void bc_add_verdict(bc_text *out, bc_verdict verdict, bool color);
/* The lines of `lines`, each broken to the width of a text. Releases `lines`. */
void bc_add_lines(bc_text *out, bc_text *lines);

#endif
