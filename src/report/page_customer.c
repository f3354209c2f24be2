/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/page_customer.h"
#include "internal/numbers.h"
#include "internal/plot_words.h"
#include "print.h"
#include <stdio.h>
#include <stdlib.h>

#define LASER_BAND_NM 5.0 /* a callout on a narrower band is about a laser line */

void bc_customer_open(bc_document *document, const bc_page_options *options, const char *title)
{
    bc_document_open(document, options, title);
    document->one_page = true;
}

bc_page_reference bc_customer_reference(const bc_page_options *options)
{
    return options->reference == NULL ? (bc_page_reference){0} : *options->reference;
}

void bc_customer_facts(bc_document *document)
{
    bc_block *block = bc_document_add(document, BC_BLOCK_FACTS);
    if (block != NULL)
        block->columns = 2;
}

void bc_customer_fact(bc_document *document, const char *name, const char *value)
{
    if (value == NULL || value[0] == '\0')
        return;
    bc_document_cell(document, "%s", name);
    bc_document_cell(document, "%s", value);
}

void bc_customer_date(bc_document *document)
{
    bc_customer_fact(document, "Date", document->date == NULL ? "____________________" : document->date);
}

/* Days of the proleptic Gregorian calendar since 0000-03-01, and back: the months from March on have the same lengths
 * every year, 153 days in each five of them. */
static long days_of(long year, long month, long day)
{
    const long years = month > 2 ? year : year - 1, months = month > 2 ? month - 3 : month + 9;
    return 365 * years + years / 4 - years / 100 + years / 400 + (153 * months + 2) / 5 + day - 1;
}

void bc_customer_day_after(const char *date, unsigned long days, char to[16])
{
    const long year = strtol(date, NULL, 10), month = strtol(date + 5, NULL, 10), day = strtol(date + 8, NULL, 10);
    const long wanted = days_of(year, month, day) + (long)days;
    long y = year, m = 1;
    while (days_of(y + 1, 1, 1) <= wanted)
        y++;
    while (m < 12 && days_of(y, m + 1, 1) <= wanted)
        m++;
    bc_print(to, 16, "%04ld-%02ld-%02ld", y, m, wanted - days_of(y, m, 1) + 1);
}

static const char *light_of(const bc_callout *callout)
{
    return callout->polarization == BC_POL_EACH    ? "s and p, each"
           : callout->polarization == BC_POL_RATIO ? "ratio s/p"
                                                   : bc_polarization_word(callout->polarization);
}

static void add_limit(bc_text *words, const bc_callout *callout)
{
    const char *weight = bc_weight_word(callout);
    const bool colour = callout->colour != BC_NO_COLOUR; /* its limit says what it is */
    char limit[BC_PLOT_LIMIT];
    bc_plot_limit(callout, limit);
    bc_text_add(words, "%s %s%s%s%s%s", bc_quantity_word(callout->quantity), colour ? "" : bc_statistic_word(callout),
                weight == NULL ? "" : " weighted by ", weight == NULL ? "" : weight, colour ? "" : " ", limit);
}

void bc_customer_callout(bc_document *document, const bc_callout *callout, const char *letter)
{
    char words[BC_PLOT_ANGLES];
    bc_text limit = {0};
    bc_document_cell(document, "%s%s%s", letter, letter[0] == '\0' ? "" : ": ", callout->name);
    add_limit(&limit, callout);
    bc_document_take(document, &limit);
    bc_plot_band(words, callout->from_nm, callout->to_nm);
    bc_document_cell(document, "%s", words);
    bc_plot_angles_of(callout, words);
    bc_document_cell(document, "%s", words);
    bc_document_cell(document, "%s", light_of(callout));
    bc_document_cell(document, "%s%s%s", callout->scope == BC_SCOPE_PART ? "the whole part" : "one surface",
                     callout->substrate[0] == '\0' ? "" : ", on ", callout->substrate);
}

void bc_customer_add_callout(bc_text *words, const bc_callout *callout)
{
    char band[64], angles[BC_PLOT_ANGLES];
    add_limit(words, callout);
    bc_plot_band(band, callout->from_nm, callout->to_nm);
    bc_plot_angles_of(callout, angles);
    bc_text_add(words, ", %s, %s, %s%s", band, angles, light_of(callout),
                callout->scope == BC_SCOPE_PART ? ", the whole part" : "");
}

static bool any_laser_band(const bc_check_result *result)
{
    for (size_t i = 0; i < result->count; i++)
        if (result->finding[i].callout->to_nm - result->finding[i].callout->from_nm < LASER_BAND_NM)
            return true;
    return false;
}

static bool has_data_sheet(const bc_stack *stack)
{
    for (size_t layer = 0; layer < stack->layers; layer++)
        if (bc_dispersion_note(stack->layer[layer].material.dispersion, "caution") != NULL)
            return true;
    return false;
}

void bc_customer_add_cautions(bc_text *lines, const bc_check_report *report, bool predicted)
{
    const bc_medium *glass = NULL;
    if (predicted)
        bc_text_add(lines, "A predicted spectrum is not a measurement: measure a witness that was coated with the "
                           "parts.\n");
    bc_text_add(lines,
                "Durability (adhesion, abrasion, humidity) and laser damage are not %s: each needs its own "
                "standard test.\n",
                predicted ? "predicted" : "part of this inspection");
    if (any_laser_band(report->result))
        bc_text_add(lines, "A band this narrow belongs to a laser line: what the surface still reflects of the beam "
                           "is an eye hazard.\n");
    if (has_data_sheet(report->stack))
        bc_text_add(lines, "The coating contains a substance with a safety data sheet: ask for it before coated parts "
                           "are ground, polished, stripped or burnt.\n");
    while ((glass = bc_next_glass(report->result, glass)) != NULL) {
        const char *caution = bc_dispersion_note(glass->dispersion, "caution");
        if (caution != NULL)
            bc_text_add(lines, "%s: %s\n", glass->name, caution);
    }
    bc_text_add(lines, "Follow local codes; they and licensed practitioners have the last word.\n");
}

void bc_customer_foot(bc_document *document, const bc_page_options *options)
{
    const char *foot = bc_customer_reference(options).foot;
    if (foot == NULL || foot[0] == '\0')
        return;
    bc_document_add(document, BC_BLOCK_PARAGRAPH);
    bc_document_cell(document, "%s", foot);
}
