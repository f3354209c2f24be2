/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The colours of what the callouts of a check see, and how far those of its runs scatter.
 */
#include "internal/numbers.h"
#include "internal/yield_words.h"
#include <math.h>

static void number_cell(bc_table *table, size_t column, int decimals, double value)
{
    if (isfinite(value))
        bc_table_cell(table, column, "%.*f", decimals, value);
    else
        bc_table_cell(table, column, "-");
}

static void add_row(const bc_finding *finding, const bc_colour *colour, bc_table *table)
{
    const double value[] = {100.0 * colour->luminous, colour->L, colour->a, colour->b,
                            colour->chroma,           colour->x, colour->y};
    static const int decimals[] = {4, 2, 2, 2, 2, 4, 4};
    bc_table_row(table);
    bc_table_cell(table, 0, "%s", finding->callout->name);
    bc_table_cell(table, 1, "%.4g", bc_degrees(finding->at_aoi_rad));
    for (size_t v = 0; v < 7; v++)
        number_cell(table, 2 + v, decimals[v], value[v]);
}

bool bc_fill_colours(const bc_check_report *report, bc_table *table)
{
    static const char *const heading[] = {"callout", "deg", "luminous %", "L*", "a*", "b*", "C*ab", "x", "y"};
    bool any = false;
    for (size_t f = 0; f < report->result->count; f++)
        any = any || bc_callout_is_seen(report->result->finding[f].callout);
    *table = (bc_table){.columns = 9, .right = {false, true, true, true, true, true, true, true, true}, .indent = 2};
    if (!any)
        return false;
    bc_table_row(table);
    for (size_t column = 0; column < table->columns; column++)
        bc_table_cell(table, column, "%s", heading[column]);
    for (size_t f = 0; f < report->result->count; f++) {
        const bc_finding *finding = &report->result->finding[f];
        bc_colour colour;
        if (!bc_callout_is_seen(finding->callout))
            continue;
        if (bc_finding_colour(report->stack, report->back, finding, &colour, NULL) == BC_OK)
            add_row(finding, &colour, table);
        else
            table->failed = true;
    }
    return true;
}

void bc_colours_text(const bc_check_report *report, bc_text *out)
{
    bc_table table;
    if (!bc_fill_colours(report, &table))
        return;
    bc_text_add(out, "\n");
    bc_text_wrap(out, 0, 0, BC_COLOURS_WORDS);
    bc_table_write(&table, out);
}

bool bc_fill_clouds(const bc_yield_report *report, bc_table *table)
{
    static const char *const heading[] = {"callout",       "deg",         "a* sd",     "b* sd",
                                          "luminous % sd", "from design", "run to run"};
    const bc_yield_result *result = report->result;
    *table = (bc_table){.columns = 7, .right = {false, true, true, true, true, true, true}, .indent = 2};
    if (result->clouds == 0 || result->no_errors)
        return false;
    bc_table_row(table);
    for (size_t column = 0; column < table->columns; column++)
        bc_table_cell(table, column, "%s", heading[column]);
    for (size_t c = 0; c < result->clouds; c++) {
        const bc_colour_cloud *cloud = &result->cloud[c];
        bc_table_row(table);
        bc_table_cell(table, 0, "%s", cloud->callout->name);
        bc_table_cell(table, 1, "%.4g", bc_degrees(cloud->aoi_rad));
        number_cell(table, 2, 2, cloud->scatter.a_sigma);
        number_cell(table, 3, 2, cloud->scatter.b_sigma);
        number_cell(table, 4, 4, 100.0 * cloud->scatter.luminous_sigma);
        number_cell(table, 5, 2, cloud->scatter.from_design);
        number_cell(table, 6, 2, cloud->scatter.between);
    }
    return true;
}

void bc_add_clouds_words(bc_text *words, const bc_yield_report *report)
{
    bc_text_add(words,
                "Colours over %zu of the runs: standard deviations, and the colour difference CIEDE2000 that 95 %% of "
                "the runs stay below, from the design and from one another.",
                report->result->cloud_runs);
}

void bc_clouds_json(const bc_yield_result *result, bc_json *json)
{
    cJSON *array = bc_json_array(json, json->root, "colours");
    for (size_t c = 0; c < result->clouds; c++) {
        const bc_colour_cloud *cloud = &result->cloud[c];
        cJSON *row = bc_json_object(json, array, NULL);
        bc_json_string(json, row, "callout", cloud->callout->name);
        bc_json_string(json, row, "substrate", cloud->substrate->name);
        bc_json_number(json, row, "aoi_deg", bc_degrees(cloud->aoi_rad), 12);
        if (cloud->zone != NULL)
            bc_json_number(json, row, "radius_mm", cloud->zone->radius_mm, 12);
        bc_json_string(json, row, "polarization", bc_polarization_word(cloud->polarization));
        bc_json_number(json, row, "runs", (double)result->cloud_runs, 15);
        bc_colour_json(&cloud->design, bc_json_object(json, row, "design"), json);
        bc_scatter_of_colour_json(&cloud->scatter, row, json);
    }
}
