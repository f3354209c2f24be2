/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/page_parts.h"
#include "internal/plot_inspect.h"
#include "print.h"
#include <math.h>
#include <stdlib.h>

#define FLAT    0.68 /* of the height of a panel alone, so that verdict, curves and figures stand on one page */
#define FLATTER 0.55 /* where there are R and T */

static void add_list(bc_document *document, bc_text *lines)
{
    document->failed = document->failed || lines->failed;
    if (lines->length > 0)
        bc_document_add(document, BC_BLOCK_LIST);
    bc_document_take_lines(document, lines);
}

static void add_head(bc_document *document, const bc_inspect_report *report)
{
    bc_page_add_part(document);
    bc_document_cell(document, "Measured");
    if (report->witnesses == 1)
        bc_document_cell(document, "%s", report->result[0].label);
    else
        bc_document_cell(document, "%zu witnesses", report->witnesses);
    bc_page_add_stack(document, report->setup->design);
}

/* "band" decides: 0.475 % (expanded uncertainty 0.076 %) at a limit of <= 0.8 %; the limit is met with ... */
static void add_decision(bc_text *words, const bc_inspect_report *report, const bc_inspect_result *result)
{
    const bc_inspect_finding *finding;
    char limit[BC_PRINTED_SIZE];
    if (result->count == 0) {
        bc_text_add(words, "%s", BC_NO_CALLOUTS);
        return;
    }
    finding = &result->finding[result->decisive];
    bc_print_limit(limit, finding->callout);
    bc_text_add(words, "\"%s\" decides", finding->callout->name);
    if (isfinite(finding->value))
        bc_text_add(words, ": %.4f%s with an expanded uncertainty of %.4f%s, where %s %s%s%s is asked",
                    100.0 * finding->value, bc_unit_behind(finding->callout),
                    100.0 * report->setup->coverage_factor * hypot(finding->random, finding->systematic),
                    bc_unit_behind(finding->callout), bc_quantity_word(finding->callout->quantity),
                    finding->callout->colour == BC_NO_COLOUR ? "" : bc_statistic_word(finding->callout),
                    finding->callout->colour == BC_NO_COLOUR ? "" : " ", limit);
    if (isfinite(finding->probability))
        bc_text_add(words, "; the true value meets that with a probability of %.3f", finding->probability);
    bc_text_add(words, ".");
    if (finding->text[0] != '\0')
        bc_text_add(words, " %s", finding->text);
}

static void add_verdict(bc_document *document, const bc_inspect_report *report)
{
    static const bc_tone tone[] = {
        [BC_ACCEPT] = BC_TONE_GOOD, [BC_REJECT] = BC_TONE_BAD, [BC_UNDECIDED] = BC_TONE_CARE};
    static const char *const large[] = {
        [BC_ACCEPT] = "Accepted", [BC_REJECT] = "Rejected", [BC_UNDECIDED] = "Undecided"};
    const bc_verdict verdict = report->lot != NULL ? report->lot->verdict : report->result[0].verdict;
    bc_block *block = bc_document_add(document, BC_BLOCK_VERDICT);
    bc_text words = {0};
    if (block != NULL)
        block->tone = tone[verdict];
    bc_document_cell(document, "%s", large[verdict]);
    bc_add_beside(&words, report);
    if (report->lot != NULL)
        bc_add_lot_count(&words, report->lot);
    else
        add_decision(&words, report, &report->result[0]);
    bc_document_take_lines(document, &words);
}

static void fill_picture(bc_chart *chart, const void *report)
{
    bc_plot_inspect_panels(chart, report);
}

static void add_judged(bc_document *document, const bc_inspect_report *report)
{
    const bc_inspect_result *result = &report->result[0];
    bc_table table;
    bc_text lines = {0};
    if (result->count == 0)
        return;
    bc_document_add_heading(document, "Callouts");
    bc_fill_judged(report, result, &table);
    for (size_t i = 0; !table.failed && result->count > 1 && i < result->count; i++) {
        char letter[BC_CHART_BRIEF];
        bc_seen_letter(report, i, letter);
        bc_print(table.cell[i + 1][0], BC_TABLE_CELL, "%s: %.140s", letter, result->finding[i].callout->name);
    }
    bc_document_take_table(document, &table);
    bc_add_judged_words(&lines, report, result);
    add_list(document, &lines);
}

static void add_run(bc_document *document, const bc_inspect_report *report)
{
    const bc_inspect_result *result = &report->result[0];
    bc_table table;
    bc_text lines = {0};
    bc_document_add_heading(document, "What the run did, and the next one");
    bc_add_run(&lines, result);
    bc_add_hypotheses(&lines, result);
    bc_add_comparison(&lines, result);
    add_list(document, &lines);
    if (bc_fill_fitted(result, &table)) {
        bc_document_take_table(document, &table);
        bc_add_fitted_words(&lines, result);
    }
    bc_add_tooling(&lines, result);
    bc_add_gain(&lines, result);
    if (report->next_stack_path != NULL && result->corrected)
        bc_text_add(&lines,
                    "A corrected stack for the next run, with unchanged tooling factors, was written: use it or the "
                    "corrected tooling, not both.\n");
    if (report->next_refused)
        bc_text_add(&lines, "Nothing was written for the next run: the fit does not explain the scan.\n");
    add_list(document, &lines);
}

/* What the letters in the picture stand for, each with its worst witness. */
static void add_worst(bc_document *document, const bc_inspect_report *report)
{
    static const bc_plot_options plain = {0};
    bc_chart chart;
    bc_chart_open(&chart, &plain);
    bc_seen_add_notes(&chart, report);
    document->failed = document->failed || chart.failed;
    if (chart.notes > 0) {
        bc_document_add_heading(document, "Each callout on its worst witness");
        bc_document_add(document, BC_BLOCK_LIST);
    }
    for (size_t i = 0; i < chart.notes; i++)
        bc_document_cell(document, "%s%s%s", chart.note[i].mark, chart.note[i].mark[0] == '\0' ? "" : ": ",
                         chart.note[i].text);
    bc_chart_clear(&chart);
}

static void add_lot(bc_document *document, const bc_inspect_report *report)
{
    bc_table table;
    bc_text lines = {0};
    bc_document_add_heading(document, "The witnesses");
    bc_fill_witnesses(report, &table);
    bc_document_take_table(document, &table);
    bc_add_lot_remarks(&lines, report);
    add_list(document, &lines);
    add_worst(document, report);
    bc_document_add_heading(document, "Over the lot");
    bc_fill_spreads(report, &table);
    bc_document_take_table(document, &table);
    bc_document_add(document, BC_BLOCK_PARAGRAPH);
    bc_document_cell(document, "%s", BC_SPREAD_WORDS);
    bc_add_lot_next(&lines, report);
    add_list(document, &lines);
}

/* How the columns were read: what could be wrong where a verdict astonishes. */
static void add_reading(bc_document *document, const bc_inspect_report *report)
{
    bc_text lines = {0};
    if (report->lot == NULL)
        bc_add_source(&lines, &report->source[0]);
    bc_document_section(document, "How the measured file was read", &lines);
}

bc_status bc_page_inspect(const bc_inspect_report *report, const bc_page_options *options, bc_text *out,
                          bc_error *error)
{
    const size_t callouts = report->setup->callouts == NULL ? 0 : report->setup->callouts->count;
    bc_finding *finding = calloc(callouts + 1, sizeof *finding);
    bc_inspect_report plain = *report;
    bc_check_result result;
    bc_check_report check;
    bc_document document;
    bc_media all = {0};
    bc_text lines = {0};
    if (finding == NULL)
        return bc_fail_memory(error);
    plain.color = false;
    check = bc_inspect_media(report, &result, finding);
    bc_document_open(&document, options, report->lot == NULL ? "Inspection of a witness" : "Inspection of a lot");
    add_head(&document, &plain);
    add_verdict(&document, &plain);
    bc_page_add_picture(&document, fill_picture, &plain,
                        report->result[0].R.count > 0 && report->result[0].T.count > 0 ? FLATTER : FLAT);
    bc_add_conditions(&lines, &plain);
    add_list(&document, &lines);
    if (report->lot == NULL) {
        add_judged(&document, &plain);
        add_run(&document, &plain);
    } else {
        add_lot(&document, &plain);
    }
    add_reading(&document, &plain);
    document.failed = document.failed || !bc_media_collect(&check, 0, &all);
    bc_page_origins(&document, options, &all);
    bc_page_cautions(&document, &check);
    free(finding);
    return bc_document_end(&document, BC_OK, options, out, error);
}
