/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_YIELD_WORDS_H
#define BLOOMCOAT_REPORT_YIELD_WORDS_H
/*
 * Simulated runs in words: what their text and their page say alike. Sentences are written one a line.
 */
#include "json.h"
#include "numbers.h"
#include "parts.h"

#define BC_INFLUENCE_WORDS                                                                                             \
    "An influence counts what an error does alone and together with others, so they may add up to more than 1. Layer " \
    "1 is next to the substrate."

#define BC_NO_LAYER ((size_t)-1) /* of an influence that is no layer's */

/* The errors of a process file, and the names of their columns there. */
typedef enum bc_process_error {
    BC_ERROR_THICKNESS_SIGMA,
    BC_ERROR_RUN_THICKNESS_SIGMA,
    BC_ERROR_INDEX_SIGMA,
    BC_PROCESS_ERRORS
} bc_process_error;
const char *bc_process_error_name(bc_process_error kind);
/* As it is in the file; false: not given. */
bool bc_process_error_of(const bc_process *process, const char *material, bc_process_error which, double *value);

/* Whether layer `layer` is the outermost one of its material. */
bool bc_is_outermost(const bc_stack *stack, size_t layer);
/* The influences as a person reads them: the layers in order of deposition, then the others. */
size_t bc_influence_in_row(const bc_yield_report *report, size_t row);

/* "88 to 99", of 100; and "The process is known by 6 runs: that leaves a yield of 88 to 99 of 100 runs (95 %
 * interval)". Nothing where the process says no runs. */
void bc_print_known(char to[BC_PRINTED_SIZE], const bc_known_yield *known);
void bc_add_known_yield(bc_text *out, const bc_known_yield *known);
/* process_runs, yield_known_low_percent, yield_known_high_percent, yield_known_average_percent; null where it says
 * none.
 */
void bc_known_yield_json(const bc_known_yield *known, cJSON *row, bc_json *json);

/* How many runs will meet the callouts, whether the design does, and the errors at which 95 % would. */
void bc_add_yield(bc_text *lines, const bc_yield_report *report);
/* The error that decides; nothing when none has any influence. */
void bc_add_decisive_error(bc_text *lines, const bc_yield_result *result, size_t layers);
/* Every error with its influence, how often each callout fails; false: there is none. Release a table by writing it. */
bool bc_fill_influences(const bc_yield_report *report, bc_table *table);
bool bc_fill_fails(const bc_yield_report *report, bc_table *table);
/* How far the colours scatter that callouts see; false: none does, or no run differs. */
bool bc_fill_clouds(const bc_yield_report *report, bc_table *table);
void bc_add_clouds_words(bc_text *words, const bc_yield_report *report);
void bc_clouds_json(const bc_yield_result *result, bc_json *json); /* colours[] */
/* What the process file does not say, and is taken as nothing. */
void bc_add_missing_errors(bc_text *lines, const bc_yield_report *report);

#endif
