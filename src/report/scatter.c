/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/parts.h"
#include "internal/table.h"

static bool find(const bc_check_report *report, size_t f, bc_scatter *scatter)
{
    return bc_scatter_of(report->stack, &report->result->finding[f], report->roughness_nm, scatter, NULL) == BC_OK;
}

static const char *effect(const bc_scatter *scatter)
{
    return !scatter->matters ? "does not matter" : scatter->margin < 0.0 ? "fails as it is" : "MATTERS";
}

bool bc_fill_scatter(const bc_check_report *report, bc_table *table)
{
    static const char *const heading[] = {"callout", "at nm", "of R %", "of T %", "change %", "margin %", ""};
    *table = (bc_table){.columns = 7, .right = {false, true, true, true, true, true, false}, .indent = 2};
    if (report->roughness_nm <= 0.0)
        return false;
    bc_table_row(table);
    for (size_t column = 0; column < table->columns; column++)
        bc_table_cell(table, column, "%s", heading[column]);
    for (size_t f = 0; f < report->result->count; f++) {
        bc_scatter scatter;
        if (!find(report, f, &scatter))
            continue;
        bc_table_row(table);
        bc_table_cell(table, 0, "%s", report->result->finding[f].callout->name);
        bc_table_cell(table, 1, "%.1f", scatter.at_nm);
        bc_table_cell(table, 2, "%.3g", 100.0 * scatter.reflected);
        bc_table_cell(table, 3, "%.3g", 100.0 * scatter.transmitted);
        bc_table_cell(table, 4, "%.3g", 100.0 * scatter.change);
        bc_table_cell(table, 5, "%.3g", 100.0 * scatter.margin);
        bc_table_cell(table, 6, "%s", effect(&scatter));
    }
    return true;
}

void bc_scatter_text(const bc_check_report *report, bc_text *out)
{
    bc_table table;
    if (!bc_fill_scatter(report, &table))
        return;
    bc_text_add(out, "\nScatter from a roughness of %g nm rms, beside the figures above:\n", report->roughness_nm);
    bc_table_write(&table, out);
    bc_text_wrap(out, 0, 0, BC_SCATTER_WORDS);
}

void bc_scatter_json(const bc_check_report *report, bc_json *json)
{
    cJSON *rows;
    if (report->roughness_nm <= 0.0)
        return;
    bc_json_number(json, json->root, "roughness_nm", report->roughness_nm, 12);
    rows = bc_json_array(json, json->root, "scatter");
    for (size_t f = 0; f < report->result->count; f++) {
        const bc_finding *finding = &report->result->finding[f];
        bc_scatter scatter;
        cJSON *row;
        if (!find(report, f, &scatter))
            continue;
        row = bc_json_object(json, rows, NULL);
        bc_json_string(json, row, "callout", finding->callout->name);
        bc_json_string(json, row, "substrate", finding->substrate->name);
        bc_json_number(json, row, "at_nm", scatter.at_nm, 12);
        bc_json_number(json, row, "reflected_share_percent", 100.0 * scatter.reflected, 12);
        bc_json_number(json, row, "transmitted_share_percent", 100.0 * scatter.transmitted, 12);
        bc_json_number(json, row, "change_percent", 100.0 * scatter.change, 12);
        bc_json_number(json, row, "margin_percent", 100.0 * scatter.margin, 12);
        bc_json_bool(json, row, "matters", scatter.matters);
    }
}
