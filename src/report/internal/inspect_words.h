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

/* The coverage factor k of every +- that is printed. */
#define BC_COVERAGE 2.0

const char *bc_conformity_word(bc_verdict verdict); /* accept, reject, undecided */
const char *bc_reason_word(bc_undecided reason);    /* uncertainty, not covered, ... */
const char *bc_cause_word(bc_cause_kind kind);      /* as designed, common factor, ... */
const char *bc_next_word(bc_next_reason reason);    /* corrected, no gain, ... */
const char *bc_part_word(bc_uncertainty_part part); /* noise, readings, ... */
const char *bc_noise_word(bc_noise_source source);  /* repeats, scan, ... */
const char *bc_measured_unit_word(bc_measured_unit unit);
const char *bc_wavelength_unit_word(bc_wavelength_unit unit);
const char *bc_stated_word(bc_stated stated); /* by the header, ... */
const char *bc_back_word(bc_back_kind kind);

/* The overlay of what was measured: R unless only T was. */
const bc_overlay *bc_main_overlay(const bc_inspect_result *result);

/* The likeliest cause, its size and its odds; what the next run gains by a correction. */
void bc_add_gain(bc_text *out, const bc_inspect_result *result);
void bc_cause_json(const bc_inspect_result *result, cJSON *into, bc_json *json);
void bc_add_run(bc_text *out, const bc_inspect_result *result);
/* A group of layers that the data do not separate. */
void bc_add_group(bc_text *out, const bc_inspect_result *result, const bc_layer_group *group);
/* That R and T may be taken for each other. */
void bc_add_hypotheses(bc_text *out, const bc_inspect_result *result);
void bc_add_absorption(bc_text *out, const bc_absorption *absorption);

/* A report of a check that has the design's media in it, for their sources and cautions. `finding` has room for one
 * more than result->count. */
bc_check_report bc_inspect_media(const bc_inspect_report *report, bc_check_result *result, bc_finding *finding);

#define BC_NO_CALLOUTS "No callouts were given (--callouts), so nothing is accepted and nothing rejected."
#define BC_SPREAD_WORDS                                                                                                \
    "Spread: standard deviation from witness to witness. Drift: from the first to the last along a straight line "     \
    "through them in the order given; +- is its expanded uncertainty (k = 2)."

/* What a row was judged on, and why not on the smooth curve: in a word, as a clause, as a sentence. */
const char *bc_judged_word(bc_judged judged);
const char *bc_points_word(bc_points_reason reason);
/* Which source adds most to the uncertainty of each layer that is known. */
void bc_add_layer_parts(bc_text *lines, const bc_inspect_result *result);
/* What a row's uncertainty is made of. */
void bc_add_parts(bc_text *lines, const bc_inspect_finding *finding, double coverage);
void bc_add_judged(bc_text *lines, const bc_inspect_finding *finding);
/* Readings that were left out of the fit. */
void bc_add_outliers(bc_text *lines, const bc_inspect_result *result);

/* How the columns of a file were read; how it is taken to have been measured. */
void bc_add_source(bc_text *lines, const bc_witness_source *source);
void bc_add_conditions(bc_text *lines, const bc_inspect_report *report);
/* How signals became R or T by a reference, and what that adds to the uncertainty; the bare substrate. */
void bc_add_correction(bc_text *lines, const bc_inspect_report *report);
/* What several runs say of the chamber. */
void bc_add_lot_next(bc_text *lines, const bc_inspect_report *report);
void bc_add_runs(bc_text *lines, const bc_runs *runs);
void bc_runs_json(const bc_runs *runs, bc_json *json);
void bc_correction_json(const bc_inspect_report *report, bc_json *json);
/* Whether an uncertainty of the measurement was given, by option or column. */
bool bc_uncertainty_given(const bc_inspect_report *report);
/* What stands beside the verdict: why it is held or unexplained, copies that do not count, no uncertainty. */
void bc_add_beside(bc_text *lines, const bc_inspect_report *report);
/* How angle and polarization are known, and what was overruled. */
void bc_add_known(bc_text *lines, const bc_inspect_report *report);
/* Each callout of one witness, what the columns mean, and what was done to the values. Release a table by writing it.
 */
void bc_fill_judged(const bc_inspect_report *report, const bc_inspect_result *result, bc_table *table);
void bc_add_judged_words(bc_text *lines, const bc_inspect_report *report, const bc_inspect_result *result);
/* The fitted layers, and what is known of groups of them; false: there is nothing to show. */
bool bc_fill_fitted(const bc_inspect_result *result, bc_table *table);
void bc_add_fitted_words(bc_text *lines, const bc_inspect_result *result);
/* The scan against design and fit; the tooling that corrects the next run. */
void bc_add_comparison(bc_text *lines, const bc_inspect_result *result);
void bc_add_tooling(bc_text *lines, const bc_inspect_result *result);
/* A lot: its witnesses, the spread of what was found, and what is to be said of single rows. */
void bc_fill_witnesses(const bc_inspect_report *report, bc_table *table);
void bc_fill_spreads(const bc_inspect_report *report, bc_table *table);
void bc_add_lot_count(bc_text *lines, const bc_lot_result *lot);
void bc_add_lot_remarks(bc_text *lines, const bc_inspect_report *report);

/* The text of a lot, and of one witness in its heading. */
void bc_lot_text(const bc_inspect_report *report, bc_text *out);
void bc_lot_json(const bc_inspect_report *report, bc_json *json);
/* One witness as JSON into `into`. */
void bc_witness_json(const bc_inspect_report *report, size_t which, cJSON *into, bc_json *json);

/* A verdict, in colour where that is welcome. */
void bc_add_verdict(bc_text *out, bc_verdict verdict, bool color);

/* The colours where callouts ask for them: of one witness beside the design's; of a lot how far they differ. */
void bc_add_inspect_colours(bc_text *lines, const bc_inspect_report *report, const bc_inspect_result *result);
void bc_add_lot_colours(bc_text *lines, const bc_inspect_report *report);
void bc_inspect_colours_json(const bc_inspect_report *report, size_t which, cJSON *into, bc_json *json); /* colours[] */

#endif
