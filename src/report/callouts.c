/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/json.h"
#include "internal/numbers.h"
#include "internal/parts.h"
#include "internal/table.h"
#include "number.h"
#include "print.h"
#include <math.h>
#include <string.h>

/* What each bit of bc_callout_assumption says. */
static const struct {
    unsigned bit;
    const char *sentence;
} assumption_words[] = {
    {BC_ASSUMED_ANGLE, "No angle of incidence stated: 0 deg assumed."},
    {BC_ASSUMED_POLARIZATION, "No polarization stated: unpolarized light assumed."},
    {BC_ASSUMED_SURFACE, "Neither surface nor part stated: each limit is taken for one coated surface alone."},
    {BC_ASSUMED_EXTREME, "A limit without 'average' holds at every wavelength of its band."},
    {BC_SAID_BOTH_SURFACES, "Both surfaces: each of the two is to meet the limits by itself."},
    {BC_SAID_STRICTLY, "'<' and '>' are read as '<=' and '>='."},
    {BC_ASSUMED_ILLUMINANT, "No illuminant stated for a colour: D65 assumed."},
    {BC_ASSUMED_OBSERVER, "No observer stated for a colour: 2 degrees assumed."},
    {BC_SAID_ANOTHER_LIGHT,
     "A luminous value is weighted by D65 by its definition: the illuminant stated is the colour's."},
};
#define ASSUMPTIONS (sizeof assumption_words / sizeof assumption_words[0])

/* "425..675" or "1064"; degrees likewise. */
static void add_span(char *out, size_t size, double from, double to)
{
    char first[BC_NUMBER_SIZE], last[BC_NUMBER_SIZE];
    bc_number_format(from, first);
    bc_number_format(to, last);
    bc_print(out, size, from == to ? "%s" : "%s..%s", first, last);
}

/* Degrees without the rounding of pi: what was read as 30 is written as 30. */
static double degrees(double rad)
{
    return round(bc_degrees(rad) * 1e9) / 1e9;
}

/* ", D65, 2 deg observer" behind a colour. */
static const char *light_of(const bc_callout *callout)
{
    static const char *const light[BC_ILLUMINANTS][BC_OBSERVERS] = {
        [BC_ILLUMINANT_D65] = {", D65, 2 deg observer", ", D65, 10 deg observer"},
        [BC_ILLUMINANT_A] = {", illuminant A, 2 deg observer", ", illuminant A, 10 deg observer"},
        [BC_ILLUMINANT_D50] = {", D50, 2 deg observer", ", D50, 10 deg observer"}};
    return callout->colour == BC_NO_COLOUR ? "" : light[callout->illuminant][callout->observer];
}

#define ANGLES_SIZE (3 * BC_NUMBER_SIZE + 24 + BC_WEIGHT_NAME_SIZE)

/* "0..30", "20 cone 10", "20 cone 10 weighted pupil" */
static void add_angles(const bc_callout *callout, char out[ANGLES_SIZE])
{
    char half[BC_NUMBER_SIZE];
    add_span(out, ANGLES_SIZE, degrees(callout->aoi_from_rad), degrees(callout->aoi_to_rad));
    if (!(callout->cone_rad > 0.0))
        return;
    bc_number_format(degrees(callout->cone_rad), half);
    bc_print(out + strlen(out), ANGLES_SIZE - strlen(out), " cone %s%s%s", half,
             callout->cone_weight == NULL ? "" : " weighted ",
             callout->cone_weight == NULL ? "" : bc_weight_name(callout->cone_weight));
}

static void add_table(const bc_callouts *callouts, bc_text *out)
{
    static const char *const heading[] = {"callout", "limit", "nm", "deg", "pol", "scope"};
    bc_table table = {.columns = sizeof heading / sizeof heading[0]};
    bc_table_row(&table);
    for (size_t column = 0; column < table.columns; column++)
        bc_table_cell(&table, column, "%s", heading[column]);
    for (size_t i = 0; i < callouts->count; i++) {
        const bc_callout *callout = &callouts->callout[i];
        const char *weight = bc_weight_word(callout);
        char nm[2 * BC_NUMBER_SIZE + 4], deg[ANGLES_SIZE], limit[BC_PRINTED_SIZE];
        add_span(nm, sizeof nm, callout->from_nm, callout->to_nm);
        add_angles(callout, deg);
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%s", callout->name);
        bc_print_limit(limit, callout);
        bc_table_cell(&table, 1, "%s %s%s%s %s%s", bc_quantity_word(callout->quantity), bc_statistic_word(callout),
                      weight == NULL ? "" : " weighted by ", weight == NULL ? "" : weight, limit, light_of(callout));
        bc_table_cell(&table, 2, "%s", nm);
        bc_table_cell(&table, 3, "%s", deg);
        bc_table_cell(&table, 4, "%s", bc_polarization_word(callout->polarization));
        bc_table_cell(&table, 5, "%s", bc_scope_word(callout->scope));
    }
    bc_table_write(&table, out);
}

bc_status bc_report_callouts_text(const bc_callouts *callouts, unsigned assumptions, bc_text *out, bc_error *error)
{
    bc_text_add(out, "Understood:\n");
    add_table(callouts, out);
    for (size_t i = 0; i < ASSUMPTIONS; i++)
        if (assumptions & assumption_words[i].bit)
            bc_text_wrap(out, 0, 0, assumption_words[i].sentence);
    return bc_text_end(out, error);
}

void bc_add_csv_cell(bc_text *out, const char *text)
{
    if (strpbrk(text, ",\"") == NULL) {
        bc_text_add(out, "%s", text);
        return;
    }
    bc_text_add(out, "\"");
    for (; *text != '\0'; text++)
        bc_text_add(out, *text == '"' ? "\"\"" : "%c", *text);
    bc_text_add(out, "\"");
}

/* As a callouts file has it. */
static const char *colour_word(const bc_callout *callout)
{
    static const char *const word[] = {"", "chroma", "a", "b", "x", "y", "ab", "xy", "difference"};
    return word[callout->colour];
}

/* Without the rounding of a hundredth. */
static double in_units(double hundredths)
{
    return round(hundredths * 1e13) / 1e11;
}

/* Rounded only where twelve figures are left: a small limit must not become 0. */
static double limit_in_percent(double limit)
{
    const double percent = in_units(limit);
    return fabs(percent - 100.0 * limit) <= 1e-12 * percent ? percent : 100.0 * limit;
}

static void add_colour_cells(const bc_callout *callout, bc_text *out)
{
    char from[BC_NUMBER_SIZE], to[BC_NUMBER_SIZE], ellipse[BC_PRINTED_SIZE], reference[BC_PRINTED_SIZE];
    if (callout->colour == BC_NO_COLOUR) {
        bc_text_add(out, ",,,");
        return;
    }
    bc_number_format(in_units(callout->target - callout->limit), from);
    bc_number_format(in_units(callout->target + callout->limit), to);
    if (bc_callout_is_ellipse(callout)) {
        bc_print_ellipse(ellipse, callout);
        bc_text_add(out, ",%s", ellipse);
    } else if (bc_has_target(callout))
        bc_text_add(out, ",%s..%s", from, to);
    else {
        bc_print_reference(reference, callout);
        bc_text_add(out, ",<= %s%s", to, reference);
    }
    bc_text_add(out, ",%s,%s", bc_illuminant_word(callout->illuminant),
                callout->observer == BC_OBSERVER_2 ? "2" : "10");
}

bc_status bc_report_callouts_csv(const bc_callouts *callouts, unsigned assumptions, bc_text *out, bc_error *error)
{
    bool weighted = false, coloured = false;
    for (size_t i = 0; i < callouts->count; i++)
        weighted = weighted || bc_weight_word(&callouts->callout[i]) != NULL,
        coloured = coloured || callouts->callout[i].colour != BC_NO_COLOUR;
    for (size_t i = 0; i < ASSUMPTIONS; i++)
        if (assumptions & assumption_words[i].bit)
            bc_text_add(out, "# %s\n", assumption_words[i].sentence);
    bc_text_add(out, "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization,scope,substrate%s%s\n",
                weighted ? ",weight" : "", coloured ? ",limit,illuminant,observer" : "");
    for (size_t i = 0; i < callouts->count; i++) {
        const bc_callout *callout = &callouts->callout[i];
        const char *weight = bc_weight_word(callout);
        const bool percent = callout->colour == BC_NO_COLOUR;
        char limit[BC_NUMBER_SIZE], from[BC_NUMBER_SIZE], to[BC_NUMBER_SIZE], deg[ANGLES_SIZE];
        bc_number_format(limit_in_percent(callout->limit), limit);
        bc_number_format(callout->from_nm, from);
        bc_number_format(callout->to_nm, to);
        add_angles(callout, deg);
        bc_add_csv_cell(out, callout->name);
        bc_text_add(out, ",%s,%s,%s%s%s,%s,%s,%s,%s,%s,", bc_quantity_word(callout->quantity),
                    callout->colour == BC_NO_COLOUR ? bc_statistic_word(callout) : colour_word(callout),
                    percent ? bc_sense_word(callout->sense) : "", percent ? " " : "", percent ? limit : "", from, to,
                    deg, bc_polarization_word(callout->polarization), bc_scope_word(callout->scope));
        bc_add_csv_cell(out, callout->substrate);
        bc_text_add(out, "%s%s", weighted ? "," : "", weight == NULL ? "" : weight);
        if (coloured)
            add_colour_cells(callout, out);
        bc_text_add(out, "\n");
    }
    return bc_text_end(out, error);
}

bc_status bc_report_callouts_json(const bc_callouts *callouts, unsigned assumptions, bc_text *out, bc_error *error)
{
    bc_json json;
    cJSON *rows, *sentences;
    bc_json_open(&json);
    rows = bc_json_array(&json, json.root, "callouts");
    for (size_t i = 0; i < callouts->count; i++) {
        const bc_callout *callout = &callouts->callout[i];
        cJSON *row = bc_json_object(&json, rows, NULL);
        bc_json_string(&json, row, "name", callout->name);
        bc_json_string(&json, row, "quantity", bc_quantity_word(callout->quantity));
        bc_json_string(&json, row, "statistic", bc_statistic_word(callout));
        bc_json_string(&json, row, "weight", bc_weight_word(callout));
        bc_json_string(&json, row, "sense", bc_sense_word(callout->sense));
        bc_amount_json(&json, row, "limit", callout, callout->limit);
        bc_colour_of_json(&json, row, callout);
        bc_json_number(&json, row, "from_nm", callout->from_nm, 15);
        bc_json_number(&json, row, "to_nm", callout->to_nm, 15);
        bc_json_number(&json, row, "aoi_from_deg", bc_degrees(callout->aoi_from_rad), 12);
        bc_json_number(&json, row, "aoi_to_deg", bc_degrees(callout->aoi_to_rad), 12);
        bc_json_number(&json, row, "cone_deg", bc_degrees(callout->cone_rad), 12);
        bc_json_string(&json, row, "cone_weight", bc_cone_weight_word(callout));
        bc_json_string(&json, row, "polarization", bc_polarization_word(callout->polarization));
        bc_json_string(&json, row, "scope", bc_scope_word(callout->scope));
        bc_json_string(&json, row, "substrate", callout->substrate[0] == '\0' ? NULL : callout->substrate);
    }
    sentences = bc_json_array(&json, json.root, "assumptions");
    for (size_t i = 0; i < ASSUMPTIONS; i++)
        if (assumptions & assumption_words[i].bit)
            bc_json_string(&json, sentences, NULL, assumption_words[i].sentence);
    return bc_json_close(&json, out, error);
}

void bc_add_callout(bc_text *out, const bc_callout *callout)
{
    const char *weight = bc_weight_word(callout);
    char limit[BC_PRINTED_SIZE];
    bc_print_limit(limit, callout);
    bc_text_add(out, "%s %s%s%s %s%s, %g", bc_quantity_word(callout->quantity), bc_statistic_word(callout),
                weight == NULL ? "" : " weighted by ", weight == NULL ? "" : weight, limit, light_of(callout),
                callout->from_nm);
    if (callout->to_nm > callout->from_nm)
        bc_text_add(out, "..%g", callout->to_nm);
    bc_text_add(out, " nm, %.4g", bc_degrees(callout->aoi_from_rad));
    if (callout->aoi_to_rad > callout->aoi_from_rad)
        bc_text_add(out, "..%.4g", bc_degrees(callout->aoi_to_rad));
    bc_text_add(out, " deg");
    if (callout->cone_rad > 0.0)
        bc_text_add(out, ", cone %.4g deg%s%s", bc_degrees(callout->cone_rad),
                    callout->cone_weight == NULL ? "" : " weighted ",
                    callout->cone_weight == NULL ? "" : bc_cone_weight_word(callout));
    if (callout->polarization != BC_POL_UNPOLARIZED)
        bc_text_add(out, ", %s",
                    callout->polarization == BC_POL_EACH    ? "s and p each"
                    : callout->polarization == BC_POL_RATIO ? "ratio s/p"
                                                            : bc_polarization_word(callout->polarization));
    else if (callout->aoi_to_rad > 0.0) /* at 0 degrees it says nothing */
        bc_text_add(out, ", unpolarized");
    if (callout->scope == BC_SCOPE_PART)
        bc_text_add(out, ", part");
}
