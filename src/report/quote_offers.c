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

void bc_option_cells(const bc_quote_report *report, size_t which, char cell[BC_OPTION_CELLS][BC_PRINTED_SIZE])
{
    const bc_quote_result *result = report->result;
    const bc_quote_option *option = &result->option[which];
    bc_print(cell[0], BC_PRINTED_SIZE, "%zu", option->stack.layers);
    bc_print(cell[1], BC_PRINTED_SIZE, "%.1f", option->total_nm);
    bc_print_used(cell[2], option->limit_used);
    number_cell(cell[3], 100.0 * option->yield, 1);
    number_cell(cell[4], option->hours_per_load, 2);
    number_cell(cell[5], option->loads > 0 ? (double)option->loads : NAN, 0);
    number_cell(cell[6], option->hours, 1);
    bc_print(cell[BC_OPTION_MARK], BC_PRINTED_SIZE, "%s",
             which != result->recommended         ? ""
             : result->verdict == BC_NOT_FEASIBLE ? "nearest"
                                                  : "recommended");
}

void bc_add_stack(bc_text *words, const bc_stack *stack)
{
    bc_text_add(words, "From the substrate:");
    for (size_t j = stack->layers; j-- > 0;)
        bc_text_add(words, "%s %s %.3f", j + 1 == stack->layers ? "" : ",", stack->layer[j].material.name,
                    stack->layer[j].thickness_nm);
    bc_text_add(words, " nm; on %s.", stack->substrate.name);
}

void bc_add_loads(bc_text *words, const bc_quote_report *report)
{
    const bc_quote_result *result = report->result;
    const bc_quote_option *option = &result->option[result->recommended];
    if (result->parts_per_load > 0)
        bc_text_add(words, "%zu parts of %g mm fit into one load (packed hexagonally). ", result->parts_per_load,
                    report->request->part_diameter_mm);
    if (option->loads > 0)
        bc_text_add(words, "%zu parts%s take %zu load%s. ", report->request->quantity,
                    report->request->both_sides ? ", each face a load of its own," : "", option->loads,
                    option->loads == 1 ? "" : "s");
    if (isfinite(option->loads_expected))
        bc_text_add(words, "With the runs that fail, about %.1f. ", option->loads_expected);
    if (report->request->both_sides && isfinite(option->yield))
        bc_text_add(words, "Both faces come out good in %.1f of 100 loads when the two runs are independent. ",
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
            return "What could be offered instead, one change at a time, each the least that a short search found:";
    return "No single change that was looked at makes it feasible.";
}

void bc_add_verified(bc_text *words, const bc_exception *exception)
{
    bc_text_add(words, "verified: limit_used %.3f", exception->limit_used);
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
            bc_text_add(out, "\"%s\": even without it nothing was found that does.\n", name);
            continue;
        }
        if (name != NULL)
            bc_text_add(out, "\"%s\", %s: looked as far as ", name, bc_exception_word(exception->kind));
        else
            bc_text_add(out, "%s: ", bc_exception_word(exception->kind));
        bc_add_offered(out, exception);
        bc_text_add(out, "\n");
    }
}
