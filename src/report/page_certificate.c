/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/inspect_words.h"
#include "internal/numbers.h"
#include "internal/page_customer.h"
#include "internal/plot_inspect.h"
#include "internal/plot_words.h"
#include "print.h"
#include <math.h>
#include <stdlib.h>

#define MOST_DRAWN 8 /* callouts beside a picture */

static bc_verdict verdict_of(const bc_inspect_report *report)
{
    return report->lot != NULL ? report->lot->verdict : report->result[0].verdict;
}

bool bc_page_certifies(const bc_inspect_report *report)
{
    for (size_t i = 0; i < report->witnesses; i++)
        if (report->result[i].evidence.held != BC_HELD_NOT)
            return false;
    return verdict_of(report) != BC_UNDECIDED && bc_uncertainty_given(report);
}

/* Of all pieces the one that decides a callout: of the worst verdict the one that uses most of the limit. */
static const bc_inspect_finding *worst_of(const bc_inspect_report *report, size_t callout)
{
    static const int badness[] = {[BC_ACCEPT] = 0, [BC_UNDECIDED] = 1, [BC_REJECT] = 2};
    const bc_inspect_finding *worst = &report->result[0].finding[callout];
    for (size_t i = 1; i < report->witnesses; i++) {
        const bc_inspect_finding *one = &report->result[i].finding[callout];
        const int more = badness[one->verdict] - badness[worst->verdict];
        if (more > 0 || (more == 0 && one->limit_used > worst->limit_used))
            worst = one;
    }
    return worst;
}

static size_t pieces_that_meet(const bc_inspect_report *report, size_t callout)
{
    size_t count = 0;
    for (size_t i = 0; i < report->witnesses; i++)
        count += report->result[i].finding[callout].verdict == BC_ACCEPT;
    return count;
}

static void add_verdict(bc_document *document, const bc_inspect_report *report)
{
    const bool good = verdict_of(report) == BC_ACCEPT;
    const bc_inspect_result *first = &report->result[0];
    bc_text words = {0};
    bc_block *block = bc_document_add(document, BC_BLOCK_VERDICT);
    if (block != NULL)
        block->tone = good ? BC_TONE_GOOD : BC_TONE_BAD;
    bc_document_cell(document, good ? "Conforms" : "Does not conform");
    if (good) {
        bc_text_add(&words, "%s measured meet%s every callout, the uncertainty of the measurement included.",
                    report->witnesses == 1 ? "The piece" : "All pieces", report->witnesses == 1 ? "s" : "");
    } else {
        const char *between = "Not met: ";
        for (size_t i = 0; i < first->count; i++) {
            if (worst_of(report, i)->verdict != BC_REJECT)
                continue;
            bc_text_add(&words, "%s\"%s\"", between, first->finding[i].callout->name);
            between = ", ";
        }
        bc_text_add(&words, "; the uncertainty of the measurement does not explain it.");
    }
    bc_document_take(document, &words);
}

/* The wavelengths that every piece was measured at, and the scans of the first. */
static void add_measured(bc_document *document, const bc_inspect_report *report)
{
    static const char *const light[] = {
        [BC_POL_UNPOLARIZED] = "unpolarized", [BC_POL_S] = "s", [BC_POL_P] = "p", [BC_POL_EACH] = "s and p"};
    double from_nm = 0.0, to_nm = INFINITY;
    bool R = false, T = false;
    char band[64];
    for (size_t i = 0; i < report->witnesses; i++) {
        const bc_measured_file *const file[] = {report->source[i].R, report->source[i].T};
        R = R || file[0] != NULL;
        T = T || file[1] != NULL;
        for (size_t q = 0; q < 2; q++) {
            if (file[q] == NULL)
                continue;
            from_nm = fmax(from_nm, file[q]->wavelength_nm[0]);
            to_nm = fmin(to_nm, file[q]->wavelength_nm[file[q]->count - 1]);
        }
    }
    bc_plot_band(band, from_nm, to_nm);
    bc_document_cell(document, "Measured");
    bc_document_cell(document, "%s, %s, at %.4g°, %s",
                     R && T ? "R and T"
                     : R    ? "R"
                            : "T",
                     band, bc_degrees(report->setup->aoi_rad), light[report->setup->polarization]);
}

static void add_back(bc_document *document, const bc_back *back)
{
    static const char *const words[] = {[BC_BACK_NONE] = "not seen (ground or blackened)",
                                        [BC_BACK_UNCOATED] = "uncoated",
                                        [BC_BACK_SAME] = "coated as the front",
                                        [BC_BACK_OWN] = "coated otherwise than the front"};
    bc_document_cell(document, "Second surface");
    bc_document_cell(document, "%s", words[back->kind]);
}

static void add_facts(bc_document *document, const bc_inspect_report *report, const bc_page_options *options)
{
    const bc_page_reference reference = bc_customer_reference(options);
    bc_customer_facts(document);
    bc_customer_fact(document, "Number", reference.number);
    bc_customer_date(document);
    bc_customer_fact(document, "Order", reference.order_number);
    bc_customer_fact(document, "Quote", reference.quote_number);
    bc_customer_fact(document, "Part", document->part);
    bc_customer_fact(document, "Substrate", report->setup->design->substrate.name);
    if (reference.lot_size > 0) {
        bc_document_cell(document, "Lot");
        bc_document_cell(document, "%lu part%s", reference.lot_size, reference.lot_size == 1 ? "" : "s");
    }
    bc_document_cell(document, "Pieces measured");
    bc_document_cell(document, "%zu", report->witnesses);
    bc_customer_fact(document, "Instrument", reference.instrument);
    bc_customer_fact(document, "Conditions", reference.conditions);
    add_measured(document, report);
    add_back(document, &report->setup->back);
}

static void add_row(bc_document *document, const bc_inspect_report *report, size_t callout)
{
    static const char *const word[] = {
        [BC_ACCEPT] = "meets", [BC_REJECT] = "does not meet", [BC_UNDECIDED] = "undecided"};
    static const bc_tone tone[] = {
        [BC_ACCEPT] = BC_TONE_GOOD, [BC_REJECT] = BC_TONE_BAD, [BC_UNDECIDED] = BC_TONE_CARE};
    const bc_inspect_finding *finding = worst_of(report, callout);
    char letter[BC_CHART_BRIEF];
    bc_seen_letter(report, callout, letter);
    bc_customer_callout(document, finding->callout, letter);
    if (isfinite(finding->value)) {
        bc_document_cell(document, "%.4f", 100.0 * finding->value);
        bc_document_cell(document, "%.4f",
                         100.0 * report->setup->coverage_factor * hypot(finding->random, finding->systematic));
    } else {
        bc_document_cell(document, "–");
        bc_document_cell(document, "–");
    }
    if (report->witnesses > 1)
        bc_document_cell(document, "%zu of %zu", pieces_that_meet(report, callout), report->witnesses);
    bc_document_cell(document, "%s", word[finding->verdict]);
    bc_document_tone(document, tone[finding->verdict]);
}

/* What was done to a measured value, whichever piece it was. */
static void add_remarks(bc_text *lines, const bc_inspect_report *report, size_t callout)
{
    const char *name = report->result[0].finding[callout].callout->name;
    bool corrected = false, removed = false, derived = false;
    double largest = 0.0;
    for (size_t i = 0; i < report->witnesses; i++) {
        const bc_inspect_finding *finding = &report->result[i].finding[callout];
        corrected = corrected || finding->angle_corrected;
        largest = finding->angle_corrected ? fmax(largest, finding->largest_correction) : largest;
        removed = removed || finding->back_removed;
        derived = derived || finding->from_fit;
    }
    if (corrected)
        bc_text_add(lines,
                    "\"%s\": corrected from the angle of the measurement to that of the callout, by %.2g %% at most.\n",
                    name, 100.0 * largest);
    if (removed)
        bc_text_add(lines, "\"%s\": the share of the uncoated second surface was taken out.\n", name);
    if (derived)
        bc_text_add(lines, "\"%s\": not measured under these conditions; calculated from the measured spectrum.\n",
                    name);
}

static void add_results(bc_document *document, const bc_inspect_report *report)
{
    const size_t callouts = report->result[0].count;
    bc_text lines = {0};
    bc_document_add_heading(document, "Results");
    bc_document_add_table(document, report->witnesses > 1 ? BC_CUSTOMER_COLUMNS
                                        "|worst piece %>|± %>|pieces that meet|result"
                                                          : BC_CUSTOMER_COLUMNS "|measured %>|± %>|result");
    for (size_t i = 0; i < callouts; i++)
        add_row(document, report, i);
    bc_document_add(document, BC_BLOCK_PARAGRAPH);
    bc_document_cell(document,
                     "±: expanded uncertainty of the measured value, coverage factor k = %g. A maximum or minimum is "
                     "the worst value in the band, an average is that of the band with equal weight per nm.",
                     report->setup->coverage_factor);
    for (size_t i = 0; i < callouts; i++)
        add_remarks(&lines, report, i);
    document->failed = document->failed || lines.failed;
    if (lines.length > 0)
        bc_document_add(document, BC_BLOCK_LIST);
    bc_document_take_lines(document, &lines);
}

/* Left out where so many callouts leave no room for it on one page. */
static void add_picture(bc_document *document, const bc_inspect_report *report)
{
    static const bc_plot_options plain = {0};
    bc_block *block;
    if (report->result[0].count > MOST_DRAWN)
        return;
    bc_document_add_heading(document, report->witnesses == 1 ? "Measured spectrum" : "Measured spectra");
    block = bc_document_add(document, BC_BLOCK_PICTURE);
    if (block == NULL)
        return;
    bc_chart_open(&block->chart, &plain);
    bc_plot_measured_panels(&block->chart, report);
    document->failed = document->failed || block->chart.failed;
}

static void add_rule(bc_document *document, const bc_inspect_report *report)
{
    const bc_inspect_setup *setup = report->setup;
    bool by_points = false;
    for (size_t i = 0; i < report->witnesses; i++)
        by_points = by_points || (report->source[i].R != NULL && report->source[i].R->uncertainty != NULL) ||
                    (report->source[i].T != NULL && report->source[i].T->uncertainty != NULL);
    bc_document_add_heading(document, "Decision rule and uncertainty");
    bc_document_add(document, BC_BLOCK_PARAGRAPH);
    bc_document_cell(
        document,
        "A callout is met when the true value meets its limit with a probability of %.4g %% or more (guard "
        "band, JCGM 106:2012 and ISO 14253-1:2017), and not met when the uncertainty and the noise of the "
        "measurement would give such values with a probability of %.4g %% or less. What lies between is "
        "undecided.",
        100.0 * setup->confidence, 100.0 * (1.0 - setup->confidence));
    bc_document_add(document, BC_BLOCK_PARAGRAPH);
    bc_document_cell(document,
                     "Uncertainty of the instrument, expanded by k = %g: %.4g %% of R or T (absolute), %.3g nm of the "
                     "wavelength, %.3g %% of the value of R%s.",
                     setup->coverage_factor, 100.0 * setup->uncertainty, setup->wavelength_uncertainty_nm,
                     100.0 * setup->scale_uncertainty,
                     by_points ? "; that of each measured point by itself comes on top" : "");
    bc_document_add(document, BC_BLOCK_PARAGRAPH);
    bc_document_cell(document,
                     "The values are those of the pieces measured. Whether these stand for the lot is for the "
                     "sampling plan that was agreed on to say.");
}

static void add_signature(bc_document *document)
{
    bc_document_add(document, BC_BLOCK_SIGNATURE);
    bc_document_cell(document, "Date");
    bc_document_cell(document, "Name");
    bc_document_cell(document, "Signature");
}

bc_status bc_page_certificate(const bc_inspect_report *report, const bc_page_options *options, bc_text *out,
                              bc_error *error)
{
    const size_t callouts = report->setup->callouts == NULL ? 0 : report->setup->callouts->count;
    bc_finding *finding;
    bc_check_result result;
    bc_check_report check;
    bc_document document;
    bc_text lines = {0};
    if (!bc_page_certifies(report))
        return bc_fail(error, BC_ERROR_INPUT,
                       "found a verdict that is undecided or held, or no uncertainty of the measurement; expected what "
                       "a certificate can state");
    finding = calloc(callouts + 1, sizeof *finding);
    if (finding == NULL)
        return bc_fail_memory(error);
    check = bc_inspect_media(report, &result, finding);
    bc_customer_open(&document, options,
                     verdict_of(report) == BC_ACCEPT ? "Certificate of conformity" : "Report of nonconformity");
    add_verdict(&document, report);
    add_facts(&document, report, options);
    add_results(&document, report);
    add_picture(&document, report);
    add_rule(&document, report);
    add_signature(&document);
    bc_customer_add_cautions(&lines, &check, false);
    bc_page_add_cautions(&document, &lines);
    bc_customer_foot(&document, options);
    free(finding);
    return bc_document_end(&document, BC_OK, options, out, error);
}
