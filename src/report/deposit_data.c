/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/deposit_words.h"
#include "internal/numbers.h"
#include <math.h>
#include <stdlib.h>

/* The columns of the sheet, which are fields of the JSON too. */
typedef struct column {
    const char *name;
    bool of_signal;
    double (*value)(const bc_sheet_layer *layer);
} column;

#define VALUE_OF(function, expression)                                                                                 \
    static double function(const bc_sheet_layer *layer)                                                                \
    {                                                                                                                  \
        return expression;                                                                                             \
    }

VALUE_OF(thickness_of, layer->thickness_nm)
VALUE_OF(tooling_of, layer->has_tooling ? layer->tooling : NAN)
VALUE_OF(monitor_of, layer->monitor_nm)
VALUE_OF(rate_of, layer->has_rate ? layer->rate_nm_per_s : NAN)
VALUE_OF(time_of, layer->time_s)
VALUE_OF(total_nm_of, layer->total_nm)
VALUE_OF(total_s_of, layer->total_s)
VALUE_OF(starts_of, layer->starts_s)
VALUE_OF(ends_of, layer->ends_s)
VALUE_OF(monitor_glass_number_of, (double)layer->glass_number)
VALUE_OF(wavelength_of, layer->signal.wavelength_nm)
VALUE_OF(quarter_waves_of, layer->signal.quarter_waves)
VALUE_OF(start_of, 100.0 * layer->signal.start)
VALUE_OF(turnings_of, (double)layer->signal.turnings)
VALUE_OF(cut_of, 100.0 * layer->signal.cut)
VALUE_OF(swing_of, 100.0 * layer->signal.swing)
VALUE_OF(slope_of, 100.0 * layer->signal.slope_per_nm)
VALUE_OF(error_of, 100.0 * layer->signal.error)
VALUE_OF(cost_of, layer->signal.cost_nm)

static const column columns[] = {{"thickness_nm", false, thickness_of},
                                 {"tooling_factor", false, tooling_of},
                                 {"monitor_thickness_nm", false, monitor_of},
                                 {"rate_nm_per_s", false, rate_of},
                                 {"time_s", false, time_of},
                                 {"total_nm", false, total_nm_of},
                                 {"total_s", false, total_s_of},
                                 {"starts_s", false, starts_of},
                                 {"ends_s", false, ends_of},
                                 {"monitor_glass_number", true, monitor_glass_number_of},
                                 {"monitor_wavelength_nm", true, wavelength_of},
                                 {"quarter_waves", true, quarter_waves_of},
                                 {"start_percent", true, start_of},
                                 {"turning_points", true, turnings_of},
                                 {"cut_percent", true, cut_of},
                                 {"swing_percent", true, swing_of},
                                 {"slope_percent_per_nm", true, slope_of},
                                 {"signal_error_absolute_percent", true, error_of},
                                 {"cost_nm", true, cost_of}};
#define COLUMNS (sizeof columns / sizeof columns[0])

bc_status bc_report_deposit_csv(const bc_deposit_report *report, bc_text *out, bc_error *error)
{
    const bc_deposit_result *result = report->result;
    bc_text_add(out, "layer,material");
    for (size_t c = 0; c < COLUMNS; c++)
        bc_text_add(out, ",%s", columns[c].name);
    bc_text_add(out, ",cut_by\n");
    for (size_t order = 0; order < result->layers; order++) {
        const bc_sheet_layer *layer = &result->layer[order];
        bc_text_add(out, "%zu,%s", order + 1, layer->material->name);
        for (size_t c = 0; c < COLUMNS; c++) {
            const double value = columns[c].value(layer);
            const bool known = !isnan(value) && (result->has_signal || !columns[c].of_signal);
            bc_text_add(out, known ? ",%.12g" : ",", value);
        }
        bc_text_add(out, ",%s\n", result->has_signal ? bc_cut_word(layer->signal.cut_by) : "");
    }
    return bc_text_end(out, error);
}

static void add_point(const bc_sheet_layer *layer, size_t order, size_t i, bc_text *out)
{
    const double time_s = layer->curve_monitor_nm[i] / layer->rate_nm_per_s;
    bc_text_add(out, "%zu,%s,%zu,%.12g,%.12g,", order + 1, layer->material->name, layer->glass_number,
                layer->signal.wavelength_nm, layer->curve_monitor_nm[i]);
    if (layer->has_rate)
        bc_text_add(out, "%.12g", time_s);
    bc_text_add(out, ",");
    if (isfinite(layer->total_s))
        bc_text_add(out, "%.12g", layer->total_s - layer->time_s + time_s);
    bc_text_add(out, ",%.12g\n", 100.0 * layer->curve_signal[i]);
}

bc_status bc_report_deposit_signal_csv(const bc_deposit_report *report, bc_text *out, bc_error *error)
{
    const bc_deposit_result *result = report->result;
    if (!result->has_signal)
        return bc_fail(error, BC_ERROR_INPUT,
                       "the sheet has no optical signal to write: from %g to %g nm there is no monitor wavelength that "
                       "every table reaches and at which every layer is clear; expected another range or a wavelength",
                       report->monitor->from_nm, report->monitor->to_nm);
    bc_text_add(out, "layer,material,monitor_glass_number,monitor_wavelength_nm,monitor_thickness_nm,time_s,total_s,"
                     "signal_percent\n");
    for (size_t order = 0; order < result->layers; order++)
        for (size_t i = 0; i < result->layer[order].points && !out->failed; i++)
            add_point(&result->layer[order], order, i, out);
    return bc_text_end(out, error);
}

static void turning_json(const bc_turning *turning, bc_json *json, cJSON *object)
{
    bc_json_string(json, object, "kind", turning->maximum ? "maximum" : "minimum");
    bc_json_number(json, object, "monitor_thickness_nm", turning->monitor_nm, 12);
    bc_json_number(json, object, "time_s", turning->time_s, 12);
    bc_json_number(json, object, "signal_percent", 100.0 * turning->signal, 12);
}

static void curve_json(const bc_sheet_layer *layer, bc_json *json, cJSON *row)
{
    cJSON *curve = bc_json_object(json, row, "curve");
    if (layer->has_rate)
        bc_json_numbers(json, curve, "time_s", layer->points, layer->curve_monitor_nm, 1.0 / layer->rate_nm_per_s);
    else
        bc_json_number(json, curve, "time_s", NAN, 12);
    bc_json_numbers(json, curve, "monitor_thickness_nm", layer->points, layer->curve_monitor_nm, 1.0);
    bc_json_numbers(json, curve, "signal_percent", layer->points, layer->curve_signal, 100.0);
}

static void signal_json(const bc_sheet_layer *layer, bc_json *json, cJSON *row)
{
    const bc_layer_signal *seen = &layer->signal;
    cJSON *turnings = bc_json_array(json, row, "turnings");
    for (size_t i = 0; i < seen->turnings; i++)
        turning_json(&seen->turning[i], json, bc_json_object(json, turnings, NULL));
    if (seen->has_next)
        turning_json(&seen->next, json, bc_json_object(json, row, "next_turning"));
    else
        bc_json_string(json, row, "next_turning", NULL);
    bc_json_bool(json, row, "cut_at_turning", seen->cut_at_turning);
    bc_json_number(json, row, "early_nm", seen->early_nm, 12);
    bc_json_number(json, row, "late_nm", seen->late_nm, 12);
    bc_json_number(json, row, "linear_nm", seen->linear_nm, 12);
    bc_json_number(json, row, "n", seen->n, 12);
    bc_json_number(json, row, "k", seen->k, 12);
    bc_json_number(json, row, "best_wavelength_nm", layer->best_wavelength_nm, 12);
    bc_json_number(json, row, "best_cost_nm", layer->best_cost_nm, 12);
    curve_json(layer, json, row);
}

static void layer_json(const bc_deposit_report *report, size_t order, bc_json *json, cJSON *layers)
{
    const bc_deposit_result *result = report->result;
    const bc_sheet_layer *layer = &result->layer[order];
    cJSON *row = bc_json_object(json, layers, NULL);
    bc_json_number(json, row, "layer", (double)(order + 1), 15);
    bc_json_string(json, row, "material", layer->material->name);
    for (size_t c = 0; c < COLUMNS; c++)
        bc_json_number(json, row, columns[c].name,
                       result->has_signal || !columns[c].of_signal ? columns[c].value(layer) : NAN, 15);
    bc_json_string(json, row, "cut_by", result->has_signal ? bc_cut_word(layer->signal.cut_by) : NULL);
    bc_json_number(json, row, "allowed_nm", layer->allowed_nm, 12);
    bc_json_bool(json, row, "thin", layer->thin);
    bc_json_number(json, row, "minimum_nm", layer->minimum_nm > 0.0 ? layer->minimum_nm : NAN, 12);
    if (result->has_signal)
        signal_json(layer, json, row);
}

static void monitor_json(const bc_deposit_report *report, bc_json *json)
{
    const bc_monitor *monitor = report->monitor;
    const bc_deposit_result *result = report->result;
    cJSON *used = bc_json_array(json, json->root, "monitor_wavelengths_nm");
    cJSON *all = bc_json_array(json, json->root, "wavelengths");
    bc_json_string(json, json->root, "monitor_glass", bc_monitor_glass_of(report)->name);
    bc_json_bool(json, json->root, "monitor_glass_assumed", monitor->glass == NULL);
    bc_json_string(json, json->root, "monitor_glass_back", monitor->glass_back == BC_BACK_NONE ? "none" : "uncoated");
    bc_json_string(json, json->root, "signal", bc_quantity_word(monitor->signal));
    bc_json_number(json, json->root, "aoi_deg", bc_degrees(monitor->aoi_rad), 12);
    bc_json_number(json, json->root, "bandwidth_nm", monitor->bandwidth_nm, 12);
    bc_json_number(json, json->root, "signal_error_percent", 100.0 * monitor->error, 12);
    bc_json_string(json, json->root, "signal_error_of", bc_error_of_word(monitor->error_of));
    bc_json_bool(json, json->root, "monitor_swept", result->swept);
    for (size_t i = 0; i < result->choices; i++) {
        const bc_monitor_choice *choice = &result->choice[i];
        cJSON *row = bc_json_object(json, all, NULL);
        bool in_use = false;
        for (size_t order = 0; order < result->layers; order++)
            in_use = in_use || result->layer[order].signal.wavelength_nm == choice->wavelength_nm;
        if (in_use)
            bc_json_number(json, used, NULL, choice->wavelength_nm, 12);
        bc_json_number(json, row, "wavelength_nm", choice->wavelength_nm, 12);
        bc_json_number(json, row, "crystal", (double)choice->crystal, 15);
        bc_json_number(json, row, "share_percent", 100.0 * choice->share, 12);
    }
    bc_json_number(json, json->root, "best_for_run_nm",
                   result->has_signal ? result->choice[result->chosen].wavelength_nm : NAN, 12);
    bc_json_number(json, json->root, "crystal", result->has_signal ? (double)result->crystal : NAN, 15);
}

static void sentences_json(const char *name, void (*write)(bc_text *, const bc_deposit_report *),
                           const bc_deposit_report *report, bc_json *json)
{
    bc_text lines = {0};
    write(&lines, report);
    bc_lines_json(name, &lines, json);
}

static void sources_json(const bc_deposit_report *report, bc_json *json)
{
    size_t count;
    const bc_medium **media = bc_deposit_media(report, &count);
    if (media == NULL)
        json->failed = true;
    else
        bc_media_sources_json(count, media, json);
    free(media);
}

bc_status bc_report_deposit_json(const bc_deposit_report *report, bc_text *out, bc_error *error)
{
    const bc_deposit_result *result = report->result;
    bc_json json;
    cJSON *layers;
    bc_json_open(&json);
    bc_json_string(&json, json.root, "stack", report->stack_path);
    bc_json_string(&json, json.root, "process_file", report->process_path);
    bc_json_string(&json, json.root, "chamber_file", report->chamber_path);
    bc_json_string(&json, json.root, "substrate", report->stack->substrate.name);
    layers = bc_json_array(&json, json.root, "layers");
    for (size_t order = 0; order < result->layers; order++)
        layer_json(report, order, &json, layers);
    bc_json_number(&json, json.root, "total_nm", bc_stack_total_nm(report->stack), 15);
    bc_json_number(&json, json.root, "layer_s", result->layer_s, 15);
    bc_json_number(&json, json.root, "load_s", result->load_s, 15);
    monitor_json(report, &json);
    sentences_json("remarks", bc_add_layer_remarks, report, &json);
    sentences_json("missing", bc_add_deposit_missing, report, &json);
    sources_json(report, &json);
    sentences_json("cautions", bc_add_deposit_cautions, report, &json);
    return bc_json_close(&json, out, error);
}
