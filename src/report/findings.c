/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/curved.h"
#include "internal/numbers.h"
#include "internal/parts.h"
#include "internal/table.h"
#include <math.h>

#define RED   "\033[31m"
#define GREEN "\033[32m"
#define PLAIN "\033[0m"

const bc_medium *bc_next_glass(const bc_check_result *result, const bc_medium *before)
{
    bool passed = before == NULL;
    for (size_t i = 0; i < result->count; i++) {
        if (passed && result->finding[i].substrate != before)
            return result->finding[i].substrate;
        passed = passed || result->finding[i].substrate == before;
    }
    return NULL;
}

static bool any_part(const bc_check_result *result)
{
    for (size_t i = 0; i < result->count; i++)
        if (result->finding[i].callout->scope == BC_SCOPE_PART)
            return true;
    return false;
}

bool bc_any_colour(const bc_check_result *result)
{
    for (size_t i = 0; i < result->count; i++)
        if (result->finding[i].callout->colour != BC_NO_COLOUR)
            return true;
    return false;
}

/* With units where they differ from row to row. */
static void add_row(bc_table *table, const bc_finding *finding, bool units, bool color)
{
    const bc_callout *callout = finding->callout;
    char number[BC_PRINTED_SIZE];
    bc_table_row(table);
    bc_table_cell(table, 0, "%s", callout->name);
    bc_print_quantity(number, callout);
    bc_table_cell(table, 1, "%s", number);
    bc_print_value(number, finding);
    bc_table_cell(table, 2, "%s%s", number, units ? bc_unit_behind(callout) : "");
    bc_table_cell(table, 3, "%s %.6g%s", bc_sense_word(callout->sense), 100.0 * callout->limit,
                  units ? bc_unit_behind(callout) : "");
    bc_print_used(number, finding->limit_used);
    bc_table_cell(table, 4, "%s", number);
    if (callout->statistic == BC_EXTREME) /* an average is nowhere */
        bc_table_cell(table, 5, "%.1f", finding->at_nm);
    if (callout->cone_rad > 0.0)
        bc_table_cell(table, 6, "%.4g cone %.4g%s%s", bc_degrees(finding->at_aoi_rad), bc_degrees(callout->cone_rad),
                      callout->cone_weight == NULL ? "" : " weighted ",
                      callout->cone_weight == NULL ? "" : bc_cone_weight_word(callout));
    else
        bc_table_cell(table, 6, "%.4g", bc_degrees(finding->at_aoi_rad));
    bc_table_cell(table, 7, "%s", bc_polarization_word(finding->at_polarization));
    if (finding->zone != NULL)
        bc_table_cell(table, 8, "%.3f", finding->zone->radius_mm);
    bc_table_cell(table, finding->zone == NULL ? 8 : 9, "%s%s%s",
                  !color          ? ""
                  : finding->pass ? GREEN
                                  : RED,
                  finding->pass ? "meets" : "FAILS", color ? PLAIN : "");
}

static void glass_text(const bc_check_report *report, const bc_medium *glass, bc_text *out)
{
    const bool units = bc_any_colour(report->result);
    const char *const heading[] = {
        "callout", "quantity", units ? "value" : "value %", units ? "limit" : "limit %", "used", "at nm", "deg", "pol",
        "at mm",   ""};
    /* Where on the surface: a column of a curved one. */
    bc_table table = {.columns = report->curved == NULL ? 9 : 10,
                      .right = {false, false, true, false, true, true, true, false, report->curved != NULL, false}};
    bc_table_row(&table);
    for (size_t column = 0; column + 1 < table.columns; column++)
        bc_table_cell(&table, column, "%s", heading[column]);
    for (size_t i = 0; i < report->result->count; i++)
        if (report->result->finding[i].substrate == glass)
            add_row(&table, &report->result->finding[i], units, report->color);
    bc_text_add(out, "On %s:\n", glass->name);
    bc_table_write(&table, out);
    bc_text_add(out, "\n");
}

void bc_add_decision(bc_text *words, const bc_check_report *report)
{
    const bc_check_result *result = report->result;
    const bc_finding *decisive = &result->finding[result->decisive];
    const bool several = bc_next_glass(result, bc_next_glass(result, NULL)) != NULL;
    char used[BC_PRINTED_SIZE];
    bc_print_used_percent(used, decisive->limit_used);
    bc_text_add(words, "%s: \"%s\"%s%s decides; it uses %s %% of its limit.",
                result->pass ? "Every callout is met" : "Not every callout is met", decisive->callout->name,
                several ? " on " : "", several ? decisive->substrate->name : "", used);
}

static void decisive_text(const bc_check_report *report, bc_text *out)
{
    bc_text words = {0};
    bc_add_decision(&words, report);
    if (words.failed)
        out->failed = true;
    else
        bc_text_wrap(out, 0, 0, words.data);
    bc_text_clear(&words);
}

void bc_back_text(const bc_check_report *report, bc_text *out)
{
    static const char *const kind[] = {[BC_BACK_NONE] = "left out",
                                       [BC_BACK_UNCOATED] = "uncoated",
                                       [BC_BACK_SAME] = "coated as the front",
                                       [BC_BACK_OWN] = "coated with a stack of its own"};
    if (report->back == NULL || !any_part(report->result))
        return;
    bc_text_add(out, "Part: back surface %s%s", kind[report->back->kind], report->back_assumed ? " (assumed)" : "");
    if (report->back->substrate_mm > 0.0)
        bc_text_add(out, ", glass %g mm thick", report->back->substrate_mm);
    bc_text_add(out, ".\n");
}

void bc_findings_text(const bc_check_report *report, bc_text *out)
{
    const bc_medium *glass = NULL;
    while ((glass = bc_next_glass(report->result, glass)) != NULL)
        glass_text(report, glass, out);
    decisive_text(report, out);
    bc_back_text(report, out);
    bc_colours_text(report, out);
}

static void finding_json(const bc_check_report *report, const bc_finding *finding, cJSON *callouts, bc_json *json)
{
    bc_colour colour;
    const bc_callout *callout = finding->callout;
    cJSON *row = bc_json_object(json, callouts, NULL);
    bc_json_string(json, row, "name", callout->name);
    bc_json_string(json, row, "substrate", finding->substrate->name);
    bc_json_string(json, row, "quantity", bc_quantity_word(callout->quantity));
    bc_json_string(json, row, "statistic", bc_statistic_word(callout));
    bc_json_string(json, row, "weight", bc_weight_word(callout));
    bc_json_string(json, row, "sense", bc_sense_word(callout->sense));
    bc_json_string(json, row, "scope", bc_scope_word(callout->scope));
    bc_amount_json(json, row, "value", callout, finding->value);
    bc_amount_json(json, row, "limit", callout, callout->limit);
    bc_colour_of_json(json, row, callout);
    bc_json_number(json, row, "limit_used", finding->limit_used, 12);
    bc_json_number(json, row, "from_nm", callout->from_nm, 12);
    bc_json_number(json, row, "to_nm", callout->to_nm, 12);
    bc_json_number(json, row, "at_nm", callout->statistic == BC_EXTREME ? finding->at_nm : NAN, 12);
    bc_json_number(json, row, "aoi_deg", bc_degrees(finding->at_aoi_rad), 12);
    bc_json_number(json, row, "cone_deg", bc_degrees(callout->cone_rad), 12);
    bc_json_string(json, row, "cone_weight", bc_cone_weight_word(callout));
    bc_json_string(json, row, "polarization", bc_polarization_word(finding->at_polarization));
    if (finding->zone != NULL)
        bc_json_number(json, row, "radius_mm", finding->zone->radius_mm, 12);
    if (bc_callout_is_seen(callout)) {
        json->failed = json->failed || bc_finding_colour(report->stack, report->back, finding, &colour, NULL) != BC_OK;
        if (!json->failed)
            bc_colour_json(&colour, bc_json_object(json, row, "colour"), json);
    }
    bc_json_bool(json, row, "pass", finding->pass);
}

static void back_json(const bc_check_report *report, bc_json *json)
{
    static const char *const kind[] = {
        [BC_BACK_NONE] = "none", [BC_BACK_UNCOATED] = "uncoated", [BC_BACK_SAME] = "same", [BC_BACK_OWN] = "own"};
    cJSON *back;
    if (report->back == NULL || !any_part(report->result))
        return;
    back = bc_json_object(json, json->root, "back");
    bc_json_string(json, back, "kind", kind[report->back->kind]);
    bc_json_bool(json, back, "assumed", report->back_assumed);
    bc_json_number(json, back, "substrate_mm", report->back->substrate_mm, 12);
}

void bc_findings_json(const bc_check_report *report, const char *path_name, bc_json *json)
{
    const bc_check_result *result = report->result;
    const bc_finding *decisive = &result->finding[result->decisive];
    const bc_medium *glass = NULL;
    cJSON *item;
    bc_json_bool(json, json->root, "pass", result->pass);
    bc_json_number(json, json->root, "limit_used", result->limit_used, 12);
    item = bc_json_object(json, json->root, "decisive");
    bc_json_string(json, item, "name", decisive->callout->name);
    bc_json_string(json, item, "substrate", decisive->substrate->name);
    if (path_name != NULL)
        bc_json_string(json, json->root, path_name, report->stack_path);
    bc_json_string(json, json->root, "callouts_file", report->callouts_path);
    bc_json_string(json, json->root, "incident", report->stack->incident.name);
    item = bc_json_array(json, json->root, "substrates");
    while ((glass = bc_next_glass(result, glass)) != NULL)
        bc_json_string(json, item, NULL, glass->name);
    back_json(report, json);
    bc_curved_json(report, json);
    item = bc_json_array(json, json->root, "callouts");
    for (size_t i = 0; i < result->count; i++)
        finding_json(report, &result->finding[i], item, json);
}
