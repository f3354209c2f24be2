/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/curved.h"
#include "internal/lens_words.h"
#include "internal/numbers.h"
#include "internal/parts.h"
#include <math.h>

#define ROWS 11 /* zones shown, of all that were looked at */

static const char *glass_before(const bc_check_result *check)
{
    return bc_next_glass(check, bc_next_glass(check, NULL)) == NULL ? "" : " on ";
}

static const char *glass_of(const bc_check_result *check, const bc_finding *finding)
{
    return glass_before(check)[0] == '\0' ? "" : finding->substrate->name;
}

/* The finding that uses most of its limit at one zone. */
static size_t worst_at(const bc_lens_curve *curve, size_t zones, size_t zone)
{
    size_t worst = 0;
    for (size_t f = 1; f < curve->check.count; f++)
        if (curve->limit_used[f * zones + zone] > curve->limit_used[worst * zones + zone])
            worst = f;
    return worst;
}

static void zone_row(const bc_lens_result *lens, size_t zone, bc_table *table)
{
    const bc_lens_curve *curve = &lens->designed;
    const size_t f = worst_at(curve, lens->zones, zone), at = f * lens->zones + zone;
    const bc_finding *finding = &curve->check.finding[f];
    char used[BC_PRINTED_SIZE];
    bc_table_row(table);
    bc_table_cell(table, 0, "%.3f", lens->zone[zone].radius_mm);
    bc_table_cell(table, 1, "%.2f", bc_degrees(lens->zone[zone].slope_rad));
    bc_table_cell(table, 2, "%.2f", 100.0 * lens->zone[zone].thickness_factor);
    bc_print_used(used, curve->limit_used[at]);
    bc_table_cell(table, 3, "%s", used);
    if (finding->callout->statistic == BC_EXTREME) /* an average is nowhere */
        bc_table_cell(table, 4, "%.1f", curve->at_nm[at]);
    bc_table_cell(table, 5, "%.4g", bc_degrees(curve->at_aoi_rad[at]));
    bc_table_cell(table, 6, "%s%s%s", finding->callout->name, glass_before(&curve->check),
                  glass_of(&curve->check, finding));
}

/* The zone nearest to an even step of slope; the two ends are both there. */
static size_t zone_for(const bc_lens_result *lens, size_t row, size_t rows)
{
    const double slope = lens->zone[lens->zones - 1].slope_rad * (double)row / (double)(rows - 1);
    size_t nearest = 0;
    for (size_t z = 1; z < lens->zones; z++)
        if (fabs(lens->zone[z].slope_rad - slope) < fabs(lens->zone[nearest].slope_rad - slope))
            nearest = z;
    return nearest;
}

size_t bc_fill_zones(const bc_lens_result *lens, bc_table *table)
{
    static const char *const heading[] = {"radius mm", "slope deg", "thickness %",  "limit_used",
                                          "at nm",     "deg",       "worst callout"};
    const size_t rows = lens->zones < ROWS ? lens->zones : ROWS;
    *table =
        (bc_table){.columns = 7, .right = {true, true, true, true, true, true, false}, .cut_last = true, .indent = 2};
    bc_table_row(table);
    for (size_t column = 0; column < table->columns; column++)
        bc_table_cell(table, column, "%s", heading[column]);
    for (size_t row = 0; row < rows; row++)
        zone_row(lens, zone_for(lens, row, rows), table);
    return rows;
}

static void zones_text(const bc_lens_result *lens, bc_text *out)
{
    bc_table table;
    const size_t rows = bc_fill_zones(lens, &table);
    bc_text_add(out, "From the vertex to the edge (%zu of %zu zones; --json has all):\n", rows, lens->zones);
    bc_table_write(&table, out);
    bc_text_add(out, "\n");
}

/* Out to where each callout holds, and what the aperture as a whole shows of it. */
void bc_fill_lens_callouts(const bc_lens_report *report, bc_table *table)
{
    const bc_lens_curve *curve = &report->result->designed;
    const bool units = bc_any_colour(&curve->check); /* behind each number where they differ from row to row */
    const char *const heading[] = {"callout", units ? "worst" : "worst %",         "at mm",
                                   "used",    units ? "area mean" : "area mean %", "holds to mm",
                                   ""};
    char number[BC_PRINTED_SIZE];
    *table = (bc_table){.columns = 7, .right = {false, true, true, true, true, true, false}, .indent = 2};
    bc_table_row(table);
    for (size_t column = 0; column < table->columns; column++)
        bc_table_cell(table, column, "%s", heading[column]);
    for (size_t f = 0; f < curve->check.count; f++) {
        const bc_finding *finding = &curve->check.finding[f];
        const char *unit = units ? bc_unit_behind(finding->callout) : "";
        bc_table_row(table);
        bc_table_cell(table, 0, "%s%s%s", finding->callout->name, glass_before(&curve->check),
                      glass_of(&curve->check, finding));
        bc_print_value(number, finding);
        bc_table_cell(table, 1, "%s%s", number, unit);
        bc_table_cell(table, 2, "%.3f", finding->zone->radius_mm);
        bc_print_used(number, finding->limit_used);
        bc_table_cell(table, 3, "%s", number);
        bc_table_cell(table, 4, "%.4f%s", 100.0 * curve->area_mean[f], unit);
        bc_table_cell(table, 5, "%.2f", curve->finding_aperture_mm[f]);
        bc_table_cell(table, 6, finding->pass ? "meets" : "FAILS");
    }
}

static void callouts_text(const bc_lens_report *report, bc_text *out)
{
    bc_table table;
    bc_fill_lens_callouts(report, &table);
    bc_text_add(out, "Callouts over the whole aperture (holds to: the diameter from the centre):\n");
    bc_table_write(&table, out);
    bc_text_wrap(out, 0, 0, BC_AREA_MEAN_WORDS);
    bc_text_add(out, "\n");
}

static void add_quoted(const bc_check_result *check, const bc_finding *finding, bc_text *words)
{
    bc_text_add(words, "\"%s\"%s%s", finding->callout->name, glass_before(check), glass_of(check, finding));
}

void bc_add_lens_verdict(bc_text *words, const bc_lens_report *report)
{
    const bc_lens_curve *curve = &report->result->designed;
    const bc_finding *decisive = &curve->check.finding[curve->check.decisive];
    char used[BC_PRINTED_SIZE];
    bc_print_used_percent(used, curve->check.limit_used);
    bc_text_add(
        words, "%s over the clear aperture: ", curve->check.pass ? "Every callout is met" : "Not every callout is met");
    add_quoted(&curve->check, decisive, words);
    bc_text_add(words, " decides, %.3f mm from the axis; it uses %s %% of its limit.", decisive->zone->radius_mm, used);
    if (curve->check.pass)
        return;
    if (curve->aperture_mm > 0.0)
        bc_text_add(words, " All hold out to a diameter of %.2f mm, where ", curve->aperture_mm);
    else
        bc_text_add(words, " Even at the centre ");
    add_quoted(&curve->check, &curve->check.finding[curve->ends], words);
    bc_text_add(words, " fails.");
}

void bc_add_lens_remedy(bc_text *words, const bc_lens_report *report)
{
    const bc_lens_result *lens = report->result;
    const bc_lens_curve *scaled = &lens->scaled;
    const char *draft = "'draft' with the same --radius-mm and --clear-aperture-mm looks for a stack that does";
    char used[BC_PRINTED_SIZE];
    if (lens->factor == 1.0) {
        bc_text_add(words, "No common factor of all thicknesses balances centre and edge better than 1%s%s.",
                    lens->designed.check.pass ? "" : "; ", lens->designed.check.pass ? "" : draft);
        return;
    }
    bc_print_used_percent(used, scaled->check.limit_used);
    bc_text_add(words, "Balance: with all layers %.4f times as thick the worst zone uses %s %% of its limit, ",
                lens->factor, used);
    if (scaled->check.pass) {
        bc_text_add(words, "and every callout is met over the whole clear aperture.");
        return;
    }
    if (scaled->aperture_mm > 0.0)
        bc_text_add(words, "and all callouts hold out to a diameter of %.2f mm", scaled->aperture_mm);
    else
        bc_text_add(words, "and the centre itself does not meet them");
    bc_text_add(words, ": no common factor is enough");
    if (lens->reach_factor != 1.0)
        bc_text_add(words, " (with %.4f all callouts hold farthest out, to a diameter of %.2f mm)", lens->reach_factor,
                    lens->reaching.aperture_mm);
    bc_text_add(words, "; %s.", draft);
}

/* Write what a function of words has to say, wrapped. */
static void wrapped(const bc_lens_report *report, void (*say)(bc_text *, const bc_lens_report *), bc_text *out)
{
    bc_text words = {0};
    say(&words, report);
    bc_text_wrap_gathered(out, 0, &words);
}

bc_status bc_report_lens_text(const bc_lens_report *report, bc_text *out, bc_error *error)
{
    bc_heading_text(&report->check, out);
    bc_text_add(out, "\n");
    zones_text(report->result, out);
    callouts_text(report, out);
    wrapped(report, bc_add_lens_verdict, out);
    wrapped(report, bc_add_lens_remedy, out);
    bc_scatter_text(&report->check, out);
    bc_text_add(out, "\n");
    bc_sources_text(&report->check, out);
    bc_text_add(out, "\n");
    bc_cautions_text(1, &report->check, out);
    return bc_text_end(out, error);
}

static void curves_json(const bc_lens_curve *curve, size_t zones, cJSON *parent, bc_json *json)
{
    cJSON *curves = bc_json_array(json, parent, "curves");
    for (size_t f = 0; f < curve->check.count; f++) {
        const bc_finding *finding = &curve->check.finding[f];
        const bool colour = finding->callout->colour != BC_NO_COLOUR;
        const double nm = finding->callout->statistic == BC_EXTREME ? 1.0 : NAN; /* an average is nowhere */
        cJSON *row = bc_json_object(json, curves, NULL);
        bc_json_string(json, row, "callout", finding->callout->name);
        bc_json_string(json, row, "substrate", finding->substrate->name);
        bc_json_numbers(json, row, "limit_used", zones, curve->limit_used + f * zones, 1.0);
        bc_json_numbers(json, row, colour ? "value" : "value_percent", zones, curve->value + f * zones, 100.0);
        bc_json_numbers(json, row, "at_nm", zones, curve->at_nm + f * zones, nm);
        bc_json_numbers(json, row, "aoi_deg", zones, curve->at_aoi_rad + f * zones, bc_degrees(1.0));
        bc_amount_json(json, row, "area_mean", finding->callout, curve->area_mean[f]);
        bc_json_number(json, row, "holds_to_mm", curve->finding_aperture_mm[f], 12);
    }
}

static void zones_json(const bc_lens_result *lens, bc_json *json)
{
    cJSON *zones = bc_json_object(json, json->root, "zones");
    cJSON *radius = bc_json_array(json, zones, "radius_mm"), *slope = bc_json_array(json, zones, "slope_deg");
    cJSON *factor = bc_json_array(json, zones, "thickness_factor");
    for (size_t z = 0; z < lens->zones; z++) {
        bc_json_number(json, radius, NULL, lens->zone[z].radius_mm, 12);
        bc_json_number(json, slope, NULL, bc_degrees(lens->zone[z].slope_rad), 12);
        bc_json_number(json, factor, NULL, lens->zone[z].thickness_factor, 12);
    }
}

bc_status bc_report_lens_json(const bc_lens_report *report, bc_text *out, bc_error *error)
{
    const bc_lens_result *lens = report->result;
    const bool scaled = lens->factor != 1.0;
    const bc_lens_curve *best = scaled ? &lens->scaled : &lens->designed;
    cJSON *balance;
    bc_json json;
    bc_json_open(&json);
    bc_findings_json(&report->check, "stack", &json);
    bc_json_number(&json, json.root, "total_nm", bc_stack_total_nm(report->check.stack), 15);
    bc_json_number(&json, json.root, "holds_to_mm", lens->designed.aperture_mm, 12);
    zones_json(lens, &json);
    curves_json(&lens->designed, lens->zones, json.root, &json);
    balance = bc_json_object(&json, json.root, "balance");
    bc_json_number(&json, balance, "factor", lens->factor, 12);
    bc_json_bool(&json, balance, "pass", best->check.pass);
    bc_json_number(&json, balance, "limit_used", best->check.limit_used, 12);
    bc_json_number(&json, balance, "holds_to_mm", best->aperture_mm, 12);
    if (scaled)
        curves_json(&lens->scaled, lens->zones, balance, &json);
    bc_scatter_json(&report->check, &json);
    bc_json_number(&json, json.root, "reach_factor", lens->reach_factor, 12);
    bc_json_number(&json, json.root, "reach_mm",
                   lens->reach_factor != 1.0 ? lens->reaching.aperture_mm
                                             : fmax(lens->designed.aperture_mm, lens->scaled.aperture_mm),
                   12);
    bc_sources_json(&report->check, &json);
    bc_cautions_json(1, &report->check, &json);
    return bc_json_close(&json, out, error);
}
