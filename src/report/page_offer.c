/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/page_customer.h"
#include "internal/plot_words.h"
#include "internal/quote_words.h"
#include <string.h>

#define PANELS ((size_t)3) /* of the picture: more would be too flat to read on one page */

static bool is_sure(const bc_quote_result *result)
{
    return result->verdict == BC_FEASIBLE && result->yield_known;
}

static bool any_found(const bc_quote_result *result)
{
    for (size_t e = 0; e < result->exceptions; e++)
        if (result->exception[e].found)
            return true;
    return false;
}

static void add_parts(bc_text *words, const bc_quote_request *request)
{
    if (request->quantity > 0)
        bc_text_add(words, "%zu part%s", request->quantity, request->quantity == 1 ? "" : "s");
    else
        bc_text_add(words, "Each part");
}

/* "400 parts, one face coated" */
static void add_quantity(bc_text *words, const bc_quote_request *request)
{
    const bool counted = request->quantity > 0;
    if (counted)
        add_parts(words, request);
    bc_text_add(words, "%s%s coated", counted ? ", " : "",
                request->both_sides ? counted ? "both faces" : "Both faces"
                : counted           ? "one face"
                                    : "One face");
}

/* Why it is not offered as asked, in words about the part. */
static void add_obstacle(bc_text *words, const bc_quote_report *report)
{
    const bc_quote_result *result = report->result;
    const bc_callout *callout = report->request->problem->callouts->callout;
    switch (result->obstacle) {
    case BC_NO_OBSTACLE:
        bc_text_add(words, "No coating was found that meets every callout.");
        return;
    case BC_OBSTACLE_SIZE:
        bc_text_add(words, "The part is too large to be coated here.");
        return;
    case BC_OBSTACLE_CONTRADICTION:
        bc_text_add(words, "The callouts \"%s\" and \"%s\" contradict each other: no coating can meet both.",
                    callout[result->contradiction[0]].name, callout[result->contradiction[1]].name);
        return;
    case BC_OBSTACLE_HEAT:
        bc_text_add(words, "The part does not withstand the temperature at which it would be coated.");
        return;
    case BC_OBSTACLE_THIN:
        bc_text_add(words, "The coating required cannot be controlled well enough.");
        return;
    }
}

static void add_why(bc_text *words, const bc_quote_report *report)
{
    const bc_quote_result *result = report->result;
    if (is_sure(result))
        bc_text_add(words, "The limits below are offered as guaranteed.");
    else if (result->verdict == BC_FEASIBLE)
        bc_text_add(words, "The limits below can be met; they are offered, not guaranteed.");
    else if (result->verdict == BC_MARGINAL)
        bc_text_add(words, "The callouts can be met, but not with the certainty that a guarantee takes.");
    else
        add_obstacle(words, report);
    if (result->verdict == BC_FEASIBLE && result->option[result->recommended].stack.layers == 0)
        bc_text_add(words, " The bare surface meets them: no coating is needed.");
    if (result->verdict == BC_FEASIBLE)
        return;
    bc_text_add(words, "%s",
                any_found(result) ? " What is offered instead is listed below."
                                  : " No single change was found that would allow an offer.");
}

static const char *const large[] = {[BC_FEASIBLE] = "Offered as asked",
                                    [BC_MARGINAL] = "Marginal: not offered as asked",
                                    [BC_NOT_FEASIBLE] = "Not feasible as asked"};

/* The worst of all surfaces decides what is offered. */
static bc_feasibility verdict_of(size_t count, const bc_quote_surface *surface)
{
    bc_feasibility worst = BC_FEASIBLE;
    for (size_t s = 0; s < count; s++)
        worst = surface[s].report->result->verdict > worst ? surface[s].report->result->verdict : worst;
    return worst;
}

static void add_verdict(bc_document *document, size_t count, const bc_quote_surface *surface)
{
    static const bc_tone tone[] = {
        [BC_FEASIBLE] = BC_TONE_GOOD, [BC_MARGINAL] = BC_TONE_CARE, [BC_NOT_FEASIBLE] = BC_TONE_BAD};
    const bc_feasibility verdict = verdict_of(count, surface);
    bc_text words = {0};
    bc_block *block = bc_document_add(document, BC_BLOCK_VERDICT);
    if (block != NULL)
        block->tone = tone[verdict];
    bc_document_cell(document, "%s", large[verdict]);
    if (count > 1)
        add_parts(&words, surface[0].report->request);
    else
        add_quantity(&words, surface[0].report->request);
    bc_text_add(&words, count == 1 ? ". " : ".");
    if (count == 1)
        add_why(&words, surface[0].report);
    for (size_t s = 0; count > 1 && s < count; s++) {
        bc_text_add(&words, "\n%s: %s. ", surface[s].name, large[surface[s].report->result->verdict]);
        add_why(&words, surface[s].report);
    }
    bc_document_take_lines(document, &words);
}

static void add_validity(bc_document *document, unsigned long days)
{
    char until[16];
    if (days == 0)
        return;
    bc_document_cell(document, "Valid");
    if (document->date == NULL) {
        bc_document_cell(document, "%lu days from its date", days);
        return;
    }
    bc_customer_day_after(document->date, days, until);
    bc_document_cell(document, "until %s", until);
}

static void add_surface(bc_document *document, const bc_curved *curved)
{
    if (curved == NULL)
        return;
    bc_document_cell(document, "Surface");
    bc_document_cell(document, "%s, radius %g mm, clear aperture %g mm; angles are those to the %s",
                     curved->concave ? "concave" : "convex", curved->radius_mm, curved->clear_aperture_mm,
                     curved->axial ? "axis" : "surface normal");
}

static void add_substrate(bc_document *document, const bc_quote_report *report)
{
    const bc_medium *glass = NULL;
    bc_text words = {0};
    while ((glass = bc_next_glass(report->check.result, glass)) != NULL)
        bc_text_add(&words, "%s%s", words.length == 0 ? "" : ", ", glass->name);
    bc_document_cell(document, "Substrate");
    bc_document_take(document, &words);
    if (report->request->part_diameter_mm > 0.0) {
        bc_document_cell(document, "Diameter");
        bc_document_cell(document, "%g mm", report->request->part_diameter_mm);
    }
    add_surface(document, report->check.curved);
}

static void add_facts(bc_document *document, size_t count, const bc_quote_surface *surface,
                      const bc_page_options *options)
{
    const bc_page_reference reference = bc_customer_reference(options);
    bc_text words = {0};
    bc_customer_facts(document);
    bc_customer_fact(document, "Quote", reference.number);
    bc_customer_fact(document, "Your request", reference.request_number);
    bc_customer_date(document);
    add_validity(document, reference.validity_days);
    bc_customer_fact(document, "Part", document->part);
    bc_document_cell(document, "Quantity");
    if (count > 1)
        add_parts(&words, surface[0].report->request);
    else
        add_quantity(&words, surface[0].report->request);
    bc_document_take(document, &words);
    if (count == 1)
        add_substrate(document, surface[0].report);
}

static void add_callouts(bc_document *document, const bc_quote_report *report, const char *name)
{
    const bc_callouts *callouts = report->request->problem->callouts;
    bc_text part = {0}, heading = {0};
    if (name != NULL)
        bc_text_add(&heading, "%s: ", name);
    bc_text_add(&heading, "%s",
                is_sure(report->result)                  ? "Guaranteed limits"
                : report->result->verdict == BC_FEASIBLE ? "Offered limits"
                                                         : "What was asked");
    bc_document_add(document, BC_BLOCK_HEADING);
    bc_document_take(document, &heading);
    if (name != NULL) {
        bc_customer_facts(document);
        bc_document_cell(document, "Faces");
        bc_document_cell(document, "%s", report->request->both_sides ? "both faces coated" : "one face coated");
        add_substrate(document, report);
    }
    bc_document_add_table(document, "|" BC_CUSTOMER_COLUMNS);
    for (size_t i = 0; i < callouts->count; i++) {
        char letter[BC_CHART_BRIEF];
        bc_plot_callout_letter(report->check.result, &callouts->callout[i], letter);
        bc_document_cell(document, "%s", letter);
        bc_customer_callout(document, &callouts->callout[i], "");
    }
    bc_back_text(&report->check, &part);
    if (part.length > 0) {
        bc_document_add(document, BC_BLOCK_PARAGRAPH);
        part.data[--part.length] = '\0'; /* its newline */
        if (report->check.back->kind == BC_BACK_SAME && !report->request->both_sides)
            bc_text_add(&part, " One face is quoted: ask for both where the other is not coated yet.");
        bc_document_take(document, &part);
    }
    document->failed = document->failed || part.failed;
    bc_text_clear(&part);
}

/* Another layer changes nothing on the drawing, and which one is the shop's business. */
static bool is_of_the_house(const bc_exception *exception)
{
    return exception->kind == BC_EXCEPT_LAYER;
}

static void add_letter(bc_text *words, const bc_quote_report *report, size_t callout)
{
    char letter[BC_CHART_BRIEF];
    bc_plot_callout_letter(report->check.result, &report->request->problem->callouts->callout[callout], letter);
    bc_text_add(words, "%s%s%s", words->length == 0 ? "" : "; ", letter, letter[0] == '\0' ? "" : ": ");
}

static bool same_callout(const bc_callout *one, const bc_callout *other)
{
    return one->limit == other->limit && one->from_nm == other->from_nm && one->to_nm == other->to_nm &&
           one->aoi_from_rad == other->aoi_from_rad && one->aoi_to_rad == other->aoi_to_rad;
}

/* Of a change of all callouts those that it does change. */
static void add_changes(bc_document *document, const bc_quote_report *report, const bc_exception *exception)
{
    const bc_callouts *callouts = report->request->problem->callouts;
    bc_text asked = {0}, offered = {0};
    for (size_t c = 0; c < callouts->count; c++) {
        if (same_callout(&callouts->callout[c], &exception->all[c]))
            continue;
        add_letter(&asked, report, c);
        bc_customer_add_callout(&asked, &callouts->callout[c]);
        add_letter(&offered, report, c);
        bc_customer_add_callout(&offered, &exception->all[c]);
    }
    bc_document_take(document, &asked);
    bc_document_take(document, &offered);
}

static void add_change(bc_document *document, const bc_quote_report *report, const bc_exception *exception)
{
    bc_text words = {0};
    if (exception->callout == BC_NO_CALLOUT && exception->all != NULL) {
        add_changes(document, report, exception);
        return;
    }
    if (exception->callout != BC_NO_CALLOUT) {
        add_letter(&words, report, exception->callout);
        bc_customer_add_callout(&words, &report->request->problem->callouts->callout[exception->callout]);
        bc_document_take(document, &words);
        bc_customer_add_callout(&words, &exception->offered);
    } else {
        bc_add_asked(&words, report, exception);
        bc_document_take(document, &words);
        bc_add_offered(&words, report, exception);
    }
    bc_document_take(document, &words);
}

static void add_exceptions(bc_document *document, const bc_quote_report *report)
{
    const bc_quote_result *result = report->result;
    bool any = false, house = false;
    if (result->verdict == BC_FEASIBLE || !any_found(result))
        return;
    bc_document_add_heading(document, "Offered instead: one change at a time, all else as asked");
    for (size_t e = 0; e < result->exceptions; e++) {
        if (!result->exception[e].found)
            continue;
        house = house || is_of_the_house(&result->exception[e]);
        if (is_of_the_house(&result->exception[e]))
            continue;
        if (!any)
            bc_document_add_table(document, "asked|offered");
        any = true;
        add_change(document, report, &result->exception[e]);
    }
    if (!house)
        return;
    bc_document_add(document, BC_BLOCK_PARAGRAPH);
    bc_document_cell(document, "%s",
                     any ? "Or every callout as asked, with another kind of coating."
                         : "Every callout as asked, with another kind of coating.");
}

static void add_picture(bc_document *document, const bc_quote_report *report, const bc_check_curves *curves)
{
    static const bc_plot_options plain = {0};
    const bool offered = report->result->verdict == BC_FEASIBLE;
    bc_check_curves some;
    bc_block *block;
    if (curves == NULL)
        return;
    some = *curves;
    some.lights = curves->lights < PANELS ? curves->lights : PANELS;
    bc_document_add_heading(document, offered ? "Predicted spectrum"
                                              : "Predicted spectrum of what comes nearest; it is not offered");
    block = bc_document_add(document, BC_BLOCK_PICTURE);
    if (block == NULL)
        return;
    bc_chart_open(&block->chart, &plain);
    bc_plot_check_panels(&block->chart, &report->check, &some);
    document->failed = document->failed || block->chart.failed;
    if (some.lights < curves->lights) {
        bc_document_add(document, BC_BLOCK_PARAGRAPH);
        bc_document_cell(document, "The first %zu of %zu kinds of light that the callouts ask about.", some.lights,
                         curves->lights);
    }
}

static void add_cautions(bc_document *document, size_t count, const bc_quote_surface *surface)
{
    bc_text lines = {0};
    for (size_t s = 0; s < count; s++)
        bc_customer_add_cautions(&lines, &surface[s].report->check, true);
    bc_page_add_cautions(document, &lines);
}

bc_status bc_page_offer(size_t count, const bc_quote_surface *surface, const bc_page_options *options, bc_text *out,
                        bc_error *error)
{
    bc_document document;
    bc_customer_open(&document, options, "Coating quote");
    add_verdict(&document, count, surface);
    add_facts(&document, count, surface, options);
    for (size_t s = 0; s < count; s++) {
        add_callouts(&document, surface[s].report, count > 1 ? surface[s].name : NULL);
        add_exceptions(&document, surface[s].report);
        add_picture(&document, surface[s].report, surface[s].curves);
    }
    add_cautions(&document, count, surface);
    bc_customer_foot(&document, options);
    return bc_document_end(&document, BC_OK, options, out, error);
}
