/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/yield_words.h"
#include <math.h>

void bc_known_yield_json(const bc_known_yield *known, cJSON *row, bc_json *json)
{
    const bool any = known->runs > 0.0;
    bc_json_number(json, row, "process_runs", any ? known->runs : NAN, 6);
    bc_json_number(json, row, "yield_known_low_percent", any ? 100.0 * known->low : NAN, 12);
    bc_json_number(json, row, "yield_known_high_percent", any ? 100.0 * known->high : NAN, 12);
    bc_json_number(json, row, "yield_known_average_percent", any ? 100.0 * known->average : NAN, 12);
}

static void influences_json(const bc_yield_report *report, bc_json *json)
{
    const bc_stack *stack = report->check.stack;
    cJSON *layers = bc_json_array(json, json->root, "layers");
    cJSON *indices = bc_json_array(json, json->root, "index_influence");
    for (size_t i = 0; i < report->result->influences; i++) {
        const bc_influence *influence = &report->result->influence[bc_influence_in_row(report, i)];
        const bool is_layer = influence->layer != BC_NO_LAYER;
        cJSON *row;
        if (influence->material[0] == '\0') {
            bc_json_number(json, json->root, "run_thickness_influence", influence->influence, 12);
            continue;
        }
        row = bc_json_object(json, is_layer ? layers : indices, NULL);
        bc_json_string(json, row, "material", influence->material);
        if (is_layer)
            bc_json_number(json, row, "thickness_nm", stack->layer[influence->layer].thickness_nm, 15);
        bc_json_number(json, row, "influence", influence->influence, 12);
    }
    if (report->result->influences == 0)
        bc_json_number(json, json->root, "run_thickness_influence", NAN, 12);
    bc_json_string(json, json->root, "influence_of",
                   report->result->influences == 0        ? NULL
                   : report->result->influence_of_failure ? "failure"
                                                          : "limit_used");
}

static void process_json(const bc_yield_report *report, bc_json *json)
{
    const bc_stack *stack = report->check.stack;
    cJSON *array = bc_json_array(json, json->root, "process");
    bc_json_string(json, json->root, "process_file", report->process_path);
    for (size_t layer = 0; layer < stack->layers; layer++) {
        const char *material = stack->layer[layer].material.name;
        cJSON *row;
        if (!bc_is_outermost(stack, layer))
            continue;
        row = bc_json_object(json, array, NULL);
        bc_json_string(json, row, "material", material);
        for (bc_process_error which = 0; which < BC_PROCESS_ERRORS; which++) {
            double value;
            const bool given = bc_process_error_of(report->process, material, which, &value);
            bc_json_number(json, row, bc_process_error_name(which), given ? value : NAN, 12);
        }
    }
}

static void curves_json(const bc_yield_result *result, bc_json *json)
{
    static const char *const name[] = {"percent_2_5", "percent_16", "percent_50", "percent_84", "percent_97_5"};
    cJSON *array = bc_json_array(json, json->root, "curves");
    for (size_t c = 0; c < result->curves; c++) {
        const bc_percentile_curve *curve = &result->curve[c];
        cJSON *row = bc_json_object(json, array, NULL);
        bc_json_string(json, row, "callout", curve->callout->name);
        bc_json_string(json, row, "quantity", bc_quantity_word(curve->callout->quantity));
        bc_json_string(json, row, "substrate", curve->substrate->name);
        bc_json_number(json, row, "aoi_deg", bc_degrees(curve->aoi_rad), 12);
        if (curve->zone != NULL)
            bc_json_number(json, row, "radius_mm", curve->zone->radius_mm, 12);
        bc_json_string(json, row, "polarization", bc_polarization_word(curve->polarization));
        bc_json_number(json, row, "runs", (double)result->curve_runs, 15);
        bc_json_numbers(json, row, "wavelength_nm", curve->count, curve->wavelength_nm, 1.0);
        for (size_t p = 0; p < sizeof name / sizeof name[0]; p++)
            bc_json_numbers(json, row, name[p], curve->count, curve->value[p], 100.0);
    }
}

static void fails_json(const bc_yield_report *report, bc_json *json)
{
    cJSON *array = bc_json_array(json, json->root, "fails");
    for (size_t c = 0; c < report->callouts->count; c++) {
        cJSON *row = bc_json_object(json, array, NULL);
        bc_json_string(json, row, "callout", report->callouts->callout[c].name);
        bc_json_number(json, row, "fails_percent", 100.0 * report->result->fails[c], 12);
    }
}

bc_status bc_report_yield_json(const bc_yield_report *report, bc_text *out, bc_error *error)
{
    const bc_yield_result *result = report->result;
    bc_json json;
    bc_json_open(&json);
    bc_json_number(&json, json.root, "yield_percent", 100.0 * result->yield, 12);
    bc_json_number(&json, json.root, "yield_low_percent", 100.0 * result->yield_low, 12);
    bc_json_number(&json, json.root, "yield_high_percent", 100.0 * result->yield_high, 12);
    bc_known_yield_json(&result->known, json.root, &json);
    bc_json_number(&json, json.root, "runs", (double)result->runs, 15);
    bc_json_number(&json, json.root, "runs_asked", (double)result->asked, 15);
    bc_json_number(&json, json.root, "good", (double)result->good, 15);
    bc_json_number(&json, json.root, "seed", (double)result->seed, 15);
    influences_json(report, &json);
    bc_json_number(&json, json.root, "scale_for_95", result->scale_for_95, 12);
    fails_json(report, &json);
    process_json(report, &json);
    bc_findings_json(&report->check, "stack", &json);
    bc_json_number(&json, json.root, "total_nm", bc_stack_total_nm(report->check.stack), 15);
    curves_json(result, &json);
    bc_clouds_json(result, &json);
    bc_sources_json(&report->check, &json);
    bc_cautions_json(1, &report->check, &json);
    return bc_json_close(&json, out, error);
}
