/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_TEST_REPORT_FIXTURE_H
#define BLOOMCOAT_TEST_REPORT_FIXTURE_H
/*
 * A stack, callouts and findings filled in by hand: the figures are invented, only their form matters here.
 */
#include "scratch.h"
#include <bloomcoat/report.h>
#include <cjson/cJSON.h>

#define FIXTURE_LAYERS   3
#define FIXTURE_CALLOUTS 3
#define FIXTURE_FINDINGS 6

typedef struct fixture {
    bc_materials *materials;
    bc_medium glass[2];
    bc_layer layer[FIXTURE_LAYERS];
    bc_stack stack;
    bc_callout callout[FIXTURE_CALLOUTS];
    bc_finding finding[FIXTURE_FINDINGS]; /* the callouts on glass[0], then on glass[1] */
    bc_check_result result;
    bc_back back;
    bc_rung rung[2];
    bc_outer outer[2];
    bc_draft_result drafted;
    bc_check_report check;
    bc_design_report draft;
} fixture;

/* Tables `soft` and `hard` (each with the same caution) in the scratch folder; call it inside a scratch_case(). */
void fixture_open(fixture *all);
void fixture_close(fixture *all);

/* Parse a JSON text; the test fails when it is none. */
cJSON *parse(const bc_text *text);
double number_of(const cJSON *object, const char *name);
const char *string_of(const cJSON *object, const char *name);

size_t occurrences(const char *text, const char *piece);
/* No line is wider than 80 columns or ends in a blank. */
void expect_tidy(const char *text);

Suite *numbers_suite(void);
Suite *spectrum_suite(void);
Suite *check_suite(void);
Suite *design_suite(void);
Suite *materials_suite(void);
Suite *process_suite(void);
Suite *inspect_suite(void);
Suite *memory_suite(void);
Suite *deposit_suite(void);
Suite *lens_suite(void);
Suite *chart_suite(void);
Suite *chart_axes_suite(void);
Suite *chart_text_suite(void);
Suite *plot_suite(void);
Suite *plot_options_suite(void);
Suite *plot_words_suite(void);
Suite *plot_inspect_suite(void);
Suite *plot_shop_suite(void);
Suite *plot_lens_suite(void);
Suite *plot_design_suite(void);
Suite *plot_material_suite(void);
Suite *plot_memory_suite(void);
Suite *flow_suite(void);
Suite *document_suite(void);
Suite *page_suite(void);
Suite *page_inspect_suite(void);
Suite *writers_suite(void);
Suite *quote_suite(void);
Suite *proof_words_suite(void);
Suite *circumstances_suite(void);
Suite *yield_suite(void);
Suite *control_suite(void);
Suite *as_written_suite(void);
Suite *colours_suite(void);
Suite *record_suite(void);
Suite *every_figure_suite(void);
Suite *other_reports_suite(void);

/* From now on so many allocations of our own succeed; LONG_MAX: all do. */
void memory_lasts(long allocations);
/* The same, but that the one after these fails alone. */
void memory_fails_once(long allocations);
/* Whether any has failed since. */
bool memory_was_short(void);

#endif
