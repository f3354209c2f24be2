/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/parts.h"
#include "number.h"
#include <math.h>
#include <string.h>

/* "425-675" or "1064" */
static void add_span(bc_text *out, double from, double to)
{
    char number[BC_NUMBER_SIZE];
    bc_number_format(from, number);
    bc_text_add(out, "%s", number);
    if (to == from)
        return;
    bc_number_format(to, number);
    bc_text_add(out, "-%s", number);
}

/* Degrees without the rounding of pi: what was read as 30 is written as 30. */
static double degrees(double rad)
{
    return round(bc_degrees(rad) * 1e9) / 1e9;
}

/* The band, the angles and what else a limit holds under. */
static bc_status add_conditions(const bc_callout *callout, bc_text *out, bc_error *error)
{
    add_span(out, callout->from_nm, callout->to_nm);
    bc_text_add(out, " nm, ");
    add_span(out, degrees(callout->aoi_from_rad), degrees(callout->aoi_to_rad));
    if (callout->cone_rad > 0.0) {
        char half[BC_NUMBER_SIZE];
        bc_number_format(degrees(callout->cone_rad), half);
        bc_text_add(out, " deg, cone %s", half);
    }
    bc_text_add(out, " deg%s%s, %s, per %s", callout->cone_weight == NULL ? "" : " weighted ",
                callout->cone_weight == NULL ? "" : bc_cone_weight_word(callout),
                callout->polarization == BC_POL_EACH ? "s and p each" : bc_polarization_word(callout->polarization),
                bc_scope_word(callout->scope));
    return bc_text_end(out, error);
}

/* Hundredths without their rounding. */
static void add_number(bc_text *out, double hundredths)
{
    char number[BC_NUMBER_SIZE];
    bc_number_format(round(hundredths * 1e13) / 1e11, number);
    bc_text_add(out, "%s", number);
}

/* "R chroma <= 8, illuminant D65, observer 2, ", "R a* 2 +- 4, ..." */
static void add_colour(const bc_callout *callout, bc_text *out)
{
    static const char *const word[] = {"",     "chroma",          "a*",  "b*", "chromaticity x", "chromaticity y",
                                       "a*b*", "chromaticity xy", "dE00"};
    bc_text_add(out, "%s %s ", bc_quantity_word(callout->quantity), word[callout->colour]);
    if (bc_callout_is_ellipse(callout)) {
        char ellipse[BC_PRINTED_SIZE];
        bc_print_limit(ellipse, callout);
        bc_text_add(out, "%s", ellipse);
    } else if (bc_has_target(callout)) {
        add_number(out, callout->target);
        bc_text_add(out, " +- ");
        add_number(out, callout->limit);
    } else {
        char reference[BC_PRINTED_SIZE];
        bc_print_reference(reference, callout);
        bc_text_add(out, "<= ");
        add_number(out, callout->limit);
        bc_text_add(out, "%s", reference);
    }
    bc_text_add(out, ", illuminant %s, observer %s, ", bc_illuminant_word(callout->illuminant),
                callout->observer == BC_OBSERVER_2 ? "2" : "10");
}

bc_status bc_report_callout_words(const bc_callout *callout, bc_text *out, bc_error *error)
{
    const char *weight = bc_weight_word(callout);
    char limit[BC_NUMBER_SIZE];
    bc_number_format(round(callout->limit * 1e13) / 1e11, limit); /* percent, without the rounding of a fraction */
    if (callout->colour != BC_NO_COLOUR) {
        add_colour(callout, out);
        return add_conditions(callout, out, error);
    }
    bc_text_add(out, "%s %s%s%s %s %s %%, ", bc_quantity_word(callout->quantity), bc_statistic_word(callout),
                weight == NULL ? "" : " weighted by ", weight == NULL ? "" : weight, bc_sense_word(callout->sense),
                limit);
    return add_conditions(callout, out, error);
}

bc_status bc_report_request_csv(const bc_request *request, bc_text *out, bc_error *error)
{
    bc_text_add(out, "# A request for a quote: bloomcoat quote NAME.request.csv\nkey,value\n");
    for (size_t i = 0; i < request->entries; i++) {
        bc_text_add(out, "%s,", request->entry[i].key);
        bc_add_csv_cell(out, request->entry[i].value);
        bc_text_add(out, "\n");
    }
    return bc_text_end(out, error);
}
