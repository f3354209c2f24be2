/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/page_customer.h"
#include "internal/page_parts.h"
#include "internal/quote_words.h"
#include "internal/yield_words.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

static void add_verdict(bc_document *document, const bc_quote_report *report)
{
    static const bc_tone tone[] = {
        [BC_FEASIBLE] = BC_TONE_GOOD, [BC_MARGINAL] = BC_TONE_CARE, [BC_NOT_FEASIBLE] = BC_TONE_BAD};
    static const char *const large[] = {
        [BC_FEASIBLE] = "Feasible", [BC_MARGINAL] = "Marginal", [BC_NOT_FEASIBLE] = "Not feasible"};
    bc_text why = {0};
    bc_block *block = bc_document_add(document, BC_BLOCK_VERDICT);
    if (block != NULL)
        block->tone = tone[report->result->verdict];
    bc_document_cell(document, "%s", large[report->result->verdict]);
    bc_add_why(&why, report);
    bc_document_take(document, &why);
    bc_document_cell(document, "Predicted, not measured.");
}

static void add_options(bc_document *document, const bc_quote_report *report)
{
    bc_text loads = {0};
    bc_document_add_heading(document, "Options");
    const bool any_known = bc_any_known(report->result);
    bc_document_add_table(document,
                          any_known ? "layers>|total nm>|used>|runs that succeed, %>|95 % interval>|known>|hours per "
                                      "load>|expected loads>|expected hours>|"
                                    : "layers>|total nm>|used>|runs that succeed, %>|95 % interval>|hours per load>|"
                                      "expected loads>|expected hours>|");
    for (size_t o = 0; o < report->result->options; o++) {
        const bc_quote_option *option = &report->result->option[o];
        char cell[BC_OPTION_CELLS][BC_PRINTED_SIZE];
        bc_option_cells(report, o, cell);
        for (size_t column = 0; column < BC_OPTION_CELLS; column++) {
            bc_document_cell(document, "%s", cell[column]);
            if (column == BC_OPTION_YIELD && isfinite(option->yield))
                bc_document_cell(document, "%.1f–%.1f", 100.0 * option->yield_low, 100.0 * option->yield_high);
            else if (column == BC_OPTION_YIELD)
                bc_document_cell(document, "?");
            if (column == BC_OPTION_YIELD && any_known) {
                bc_print_known(cell[column], &option->known);
                bc_document_cell(document, "%s", cell[column]);
            }
        }
    }
    bc_add_loads(&loads, report);
    if (loads.length > 0)
        bc_document_add(document, BC_BLOCK_PARAGRAPH);
    if (loads.length > 0)
        bc_document_take(document, &loads);
    document->failed = document->failed || loads.failed;
    bc_text_clear(&loads);
}

static void add_offer(bc_document *document, const bc_quote_report *report, const bc_exception *exception)
{
    const char *name = bc_exception_callout(report, exception);
    bc_text words = {0};
    if (name != NULL)
        bc_text_add(&words, "\"%s\", ", name);
    bc_text_add(&words, "%s", bc_exception_word(exception->kind));
    bc_document_take(document, &words);
    bc_add_asked(&words, report, exception);
    bc_document_take(document, &words);
    bc_add_offered(&words, report, exception);
    bc_document_take(document, &words);
    bc_add_verified(&words, exception);
    bc_text_add(&words, " ");
    bc_add_stack(&words, &exception->stack);
    bc_document_take(document, &words);
}

static void add_offers(bc_document *document, const bc_quote_report *report)
{
    const bc_quote_result *result = report->result;
    bc_text vain = {0};
    bool any = false;
    if (result->verdict == BC_FEASIBLE)
        return;
    bc_document_add_heading(document, "What could be offered instead");
    bc_document_add(document, BC_BLOCK_PARAGRAPH);
    bc_document_cell(document, "%s", bc_offer_words(result));
    for (size_t e = 0; e < result->exceptions; e++) {
        if (!result->exception[e].found)
            continue;
        if (!any)
            bc_document_add_table(document, "change|asked|offered|verified by");
        any = true;
        add_offer(document, report, &result->exception[e]);
    }
    bc_add_vain(&vain, report);
    bc_document_section(document, "Changes that alone led to no feasible design", &vain);
}

static void add_section(bc_document *document, const char *heading,
                        void (*write)(bc_text *out, const bc_quote_report *report), const bc_quote_report *report)
{
    bc_text lines = {0};
    write(&lines, report);
    bc_document_section(document, heading, &lines);
}

/* Room for the materials of all surfaces: asked for, or brought in by an option or an exception. */
static bool collect(size_t count, const bc_quote_surface *surface, bc_media *all)
{
    size_t most = 1;
    for (size_t s = 0; s < count; s++) {
        const bc_quote_report *report = surface[s].report;
        const bc_design_problem *problem = report->request->problem;
        const bc_back *back = report->check.back;
        most += problem->materials + problem->substrates + report->result->exceptions + report->check.stack->layers +
                report->check.result->count + 2 +
                (back != NULL && back->kind == BC_BACK_OWN ? back->stack->layers + 1 : 0);
    }
    all->count = 0;
    all->medium = calloc(most, sizeof(const bc_medium *));
    return all->medium != NULL;
}

/* Surfaces read their tables each by itself: what has the same name is the same. */
static void add_once(bc_media *all, const bc_medium *medium)
{
    for (size_t m = 0; m < all->count; m++)
        if (strcmp(all->medium[m]->name, medium->name) == 0)
            return;
    bc_media_add(all, medium);
}

static bool add_media(const bc_quote_report *report, bc_media *all)
{
    const bc_design_problem *problem = report->request->problem;
    const bc_quote_result *result = report->result;
    bc_media own;
    if (!bc_media_collect(&report->check, 0, &own))
        return false;
    for (size_t m = 0; m < own.count; m++)
        add_once(all, own.medium[m]);
    bc_media_clear(&own);
    for (size_t m = 0; m < problem->materials; m++)
        add_once(all, &problem->material[m]);
    for (size_t m = 0; m < problem->substrates; m++)
        add_once(all, &problem->substrate[m]);
    for (size_t e = 0; e < result->exceptions; e++)
        if (result->exception[e].other != NULL)
            add_once(all, result->exception[e].other);
    return true;
}

static bc_status add_surface(bc_document *document, const bc_quote_surface *surface, bool named, bc_error *error)
{
    const bc_quote_report *report = surface->report;
    bc_status status;
    if (named) {
        bc_text words = {0};
        bc_text_add(&words, "Surface %s", surface->name);
        bc_document_add(document, BC_BLOCK_HEADING);
        bc_document_take(document, &words);
    }
    bc_page_head(document, &report->check);
    add_verdict(document, report);
    status = bc_page_curves(document, &report->check, surface->curves, error);
    bc_page_findings(document, &report->check);
    if (report->check.curved != NULL)
        bc_page_add_surface(document, &report->check);
    add_options(document, report);
    bc_page_layers(document,
                   report->result->verdict == BC_NOT_FEASIBLE ? "The nearest design" : "The recommended design",
                   &report->check);
    add_offers(document, report);
    add_section(document, "Standard coatings", bc_add_standards, report);
    add_section(document, "Proved", bc_add_proved, report);
    add_section(document, "Reasons", bc_add_reasons, report);
    add_section(document, "Materials", bc_add_remarks, report);
    add_section(document, "Not known", bc_add_missing, report);
    return status;
}

/* Which papers of the customer it belongs to. */
static void add_reference(bc_document *document, const bc_page_options *options)
{
    const bc_page_reference reference = bc_customer_reference(options);
    if (reference.number == NULL && reference.request_number == NULL)
        return;
    bc_customer_facts(document);
    bc_customer_fact(document, "Quote", reference.number);
    bc_customer_fact(document, "Request", reference.request_number);
}

bc_status bc_page_quote(size_t count, const bc_quote_surface *surface, const bc_page_options *options, bc_text *out,
                        bc_error *error)
{
    bc_document document;
    bc_media all = {0};
    bc_text lines = {0};
    bc_status status = BC_OK;
    bc_document_open(&document, options, "Coating quote");
    add_reference(&document, options);
    document.failed = document.failed || !collect(count, surface, &all);
    for (size_t s = 0; status == BC_OK && !document.failed && s < count; s++) {
        status = add_surface(&document, &surface[s], count > 1, error);
        document.failed = document.failed || !add_media(surface[s].report, &all);
    }
    bc_page_origins(&document, options, &all);
    for (size_t s = 0; s < count; s++)
        bc_add_cautions(&lines, &surface[s].report->check);
    bc_page_add_cautions(&document, &lines);
    return bc_document_end(&document, status, options, out, error);
}
