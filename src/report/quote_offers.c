/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/quote_words.h"
#include "print.h"
#include <math.h>
#include <stdio.h>

static void number_cell(char cell[BC_PRINTED_SIZE], double value, int decimals)
{
    if (isfinite(value))
        bc_print(cell, BC_PRINTED_SIZE, "%.*f", decimals, value);
    else
        bc_print(cell, BC_PRINTED_SIZE, "?");
}

static void mark(const bc_quote_result *result, size_t which, char cell[BC_PRINTED_SIZE])
{
    const bc_standard_offer *standard = result->option[which].standard;
    const char *word = which != result->recommended         ? ""
                       : result->verdict == BC_NOT_FEASIBLE ? "nearest"
                                                            : "recommended";
    if (standard == NULL)
        bc_print(cell, BC_PRINTED_SIZE, "%s", word);
    else
        bc_print(cell, BC_PRINTED_SIZE, "%.40s%s", standard->standard->name, standard->refined ? " refined" : "");
}

void bc_option_cells(const bc_quote_report *report, size_t which, char cell[BC_OPTION_CELLS][BC_PRINTED_SIZE])
{
    const bc_quote_result *result = report->result;
    const bc_quote_option *option = &result->option[which];
    bc_print(cell[0], BC_PRINTED_SIZE, "%zu", option->stack.layers);
    bc_print(cell[1], BC_PRINTED_SIZE, "%.1f", option->total_nm);
    bc_print_used(cell[2], option->limit_used);
    number_cell(cell[3], 100.0 * option->yield, 1);
    number_cell(cell[4], option->hours_per_load, 2);
    number_cell(cell[5], option->loads_expected, 1);
    number_cell(cell[6], option->expected_hours, 1);
    mark(result, which, cell[BC_OPTION_MARK]);
}

bool bc_any_known(const bc_quote_result *result)
{
    bool any = false;
    for (size_t o = 0; o < result->options; o++)
        any = any || result->option[o].known.runs > 0.0;
    return any;
}

static void add_confident(bc_text *words, const bc_quote_request *request, const bc_quote_option *option)
{
    const double percent = 100.0 * (request->confidence > 0.0 ? request->confidence : 0.95);
    const bool scrap = request->failed_part == BC_FAILED_SCRAP;
    if (!isfinite(option->loads_expected))
        return;
    bc_text_add(words, "With the runs that fail, %.1f loads are expected", option->loads_expected);
    if (isfinite(option->expected_hours))
        bc_text_add(words, ", %.1f hours", option->expected_hours);
    bc_text_add(words, "; %zu %s enough in %g of 100 such orders. ", option->loads_at_confidence,
                option->loads_at_confidence == 1 ? "is" : "are", percent);
    if (scrap)
        bc_text_add(words, "Parts of a failed run are lost: supply %zu blanks for %zu parts. ", option->blanks,
                    request->quantity);
    else
        bc_text_add(words, "Parts of a failed run are stripped and coated again: supply %zu blanks. ", option->blanks);
}

void bc_add_loads(bc_text *words, const bc_quote_report *report)
{
    const bc_quote_result *result = report->result;
    const bc_quote_request *request = report->request;
    const bc_quote_option *option = &result->option[result->recommended];
    const bool two_runs = request->both_sides && !request->one_run;
    if (result->obstacle != BC_NO_OBSTACLE || option->stack.layers == 0)
        return;
    if (result->parts_per_load > 0)
        bc_text_add(words, "%zu parts of %g mm fit into one load (packed hexagonally). ", result->parts_per_load,
                    request->part_diameter_mm);
    if (option->loads > 0)
        bc_text_add(words, "%zu parts%s take %zu load%s when every run is good. ", request->quantity,
                    two_runs              ? ", each face in a run of its own,"
                    : request->both_sides ? ", both faces in one run,"
                                          : "",
                    option->loads, option->loads == 1 ? "" : "s");
    if (option->loads > 0)
        add_confident(words, request, option);
    if (two_runs && isfinite(option->yield))
        bc_text_add(words, "A part is good on both faces at the first pass in %.1f of 100 cases. ",
                    100.0 * option->yield * option->yield);
}

const char *bc_exception_callout(const bc_quote_report *report, const bc_exception *exception)
{
    return exception->callout == BC_NO_CALLOUT ? NULL
                                               : report->request->problem->callouts->callout[exception->callout].name;
}

const char *bc_offer_words(const bc_quote_result *result)
{
    for (size_t e = 0; e < result->exceptions; e++)
        if (result->exception[e].found)
            return "What could be offered instead, one change at a time, each the least that was found:";
    if (result->stopped)
        return result->exceptions > 0 ? "Of the changes examined before the search was stopped, none makes it feasible."
                                      : "The search was stopped before any change that could be offered was examined.";
    return "No single change that was tried makes it feasible.";
}

void bc_add_verified(bc_text *words, const bc_exception *exception)
{
    bc_text_add(words, "verified: uses %.1f %% of the limit", 100.0 * exception->limit_used);
    if (isfinite(exception->yield))
        bc_text_add(words, ", %.1f of 100 runs succeed (%.1f to %.1f; %zu runs, seed %lu)", 100.0 * exception->yield,
                    100.0 * exception->yield_low, 100.0 * exception->yield_high, exception->runs, exception->seed);
    bc_text_add(words, ", with %zu layers, %.1f nm.", exception->stack.layers, bc_stack_total_nm(&exception->stack));
}

void bc_add_vain(bc_text *out, const bc_quote_report *report)
{
    const bc_quote_result *result = report->result;
    for (size_t e = 0; e < result->exceptions; e++) {
        const bc_exception *exception = &result->exception[e];
        const char *name = bc_exception_callout(report, exception);
        if (exception->found)
            continue;
        if (exception->kind == BC_EXCEPT_DROPPED) {
            bc_text_add(out, "\"%s\": whatever its limit, nothing was found that does.\n", name);
            continue;
        }
        if (name != NULL)
            bc_text_add(out, "\"%s\", %s: looked as far as ", name, bc_exception_word(exception->kind));
        else
            bc_text_add(out, "%s: ", bc_exception_word(exception->kind));
        bc_add_offered(out, report, exception);
        bc_text_add(out, "\n");
    }
}
