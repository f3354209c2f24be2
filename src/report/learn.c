/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What the runs of a history say of the chamber.
 */
#include "internal/json.h"
#include "internal/table.h"
#include "print.h"
#include <math.h>

#define RANGE_SIZE 48

static const char *range(const bc_interval *interval, double times, int digits, char to[RANGE_SIZE])
{
    bc_print(to, RANGE_SIZE, "%.*f to %.*f", digits, times * interval->low, digits, times * interval->high);
    return to;
}

/* A change in percent. */
static const char *signed_range(const bc_interval *interval, char to[RANGE_SIZE])
{
    bc_print(to, RANGE_SIZE, "%+.2f to %+.2f", 100.0 * interval->low, 100.0 * interval->high);
    return to;
}

/* "58 runs", or that no number of runs will do. */
static const char *needed(const bc_learn_sigma *sigma, char to[RANGE_SIZE])
{
    if (sigma->runs_needed == 0)
        bc_print(to, RANGE_SIZE, "over 1000");
    else
        bc_print(to, RANGE_SIZE, "%zu", sigma->runs_needed);
    return to;
}

static void add_tooling(const bc_learn_result *result, bc_text *out)
{
    static const char *const heading[] = {"material", "tooling", "came out", "95 %", "off", "next tooling"};
    bc_table table = {.columns = 6, .right = {false, true, true, true, true, true}};
    char text[RANGE_SIZE];
    bc_table_row(&table);
    for (size_t i = 0; i < table.columns; i++)
        bc_table_cell(&table, i, "%s", heading[i]);
    for (size_t m = 0; m < result->materials; m++) {
        const bc_learn_material *material = &result->material[m];
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%s", material->name);
        bc_table_cell(&table, 1, "%.4f%s", material->tooling, material->tooling_known ? "" : " (assumed)");
        bc_table_cell(&table, 2, "%.4f", material->factor.value);
        bc_table_cell(&table, 3, "%s", range(&material->factor, 1.0, 4, text));
        bc_table_cell(&table, 4, "%.2f", material->probability);
        bc_table_cell(&table, 5, "%.4f%s", material->next_tooling, material->correction == 1.0 ? " (stays)" : "");
    }
    bc_table_write(&table, out);
}

static void scatter_row(bc_table *table, const char *what, const bc_learn_sigma *sigma, bool runs_help)
{
    char text[RANGE_SIZE];
    bc_table_row(table);
    bc_table_cell(table, 0, "%s", what);
    bc_table_cell(table, 1, "%.2f", 100.0 * sigma->sigma.value);
    bc_table_cell(table, 2, "%s", range(&sigma->sigma, 100.0, 2, text));
    if (isnan(sigma->before))
        bc_table_cell(table, 3, "-");
    else
        bc_table_cell(table, 3, "%.2f", 100.0 * sigma->before);
    bc_table_cell(table, 4, "%s", runs_help ? needed(sigma, text) : "-");
}

static void add_scatter(const bc_learn_result *result, bc_text *out)
{
    static const char *const heading[] = {"standard deviation, % of thickness", "value", "95 %", "before",
                                          "runs for 20 %"};
    bc_table table = {.columns = 5, .right = {false, true, true, true, true}};
    bc_table_row(&table);
    for (size_t i = 0; i < table.columns; i++)
        bc_table_cell(&table, i, "%s", heading[i]);
    for (size_t m = 0; m < result->materials; m++) {
        char what[BC_NAME_SIZE + 32];
        bc_print(what, sizeof what, "layers within a run, %s", result->material[m].name);
        scatter_row(&table, what, &result->material[m].within, true);
    }
    scatter_row(&table, "between runs", &result->between_runs, true);
    if (result->layers_known)
        scatter_row(&table, "between layers of one material", &result->between_layers, false);
    bc_table_write(&table, out);
}

static void add_drift(const bc_learn_result *result, bc_text *lines)
{
    char text[RANGE_SIZE];
    if (!result->drift_known) {
        bc_text_add(lines, "A drift is tested from %d runs on.\n", BC_LEARN_DRIFT_LEAST);
        return;
    }
    for (size_t m = 0; m < result->materials; m++) {
        const bc_learn_drift *drift = &result->material[m].drift;
        bc_text_add(lines,
                    "%s %s: %+.2f %% from the first run to the last (95 %%: %s); chance alone gives as much with ",
                    result->material[m].name, drift->drifts ? "DRIFTS" : "shows no drift", 100.0 * drift->change.value,
                    signed_range(&drift->change, text));
        bc_text_add(lines, drift->chance < 0.001 ? "a probability below 0.001.\n" : "a probability of %.3f.\n",
                    drift->chance);
    }
    for (size_t m = 0; m < result->materials; m++)
        if (result->material[m].drift.drifts) {
            bc_text_add(lines, "The scatter above is about the drift, and the factors are those of the middle of the "
                               "history, not what "
                               "the next run will do: find the cause of the drift first.\n");
            break;
        }
}

static void add_index(const bc_learn_result *result, bc_text *lines)
{
    char text[RANGE_SIZE];
    bool any = false;
    for (size_t m = 0; m < result->materials; m++) {
        const bc_learn_material *material = &result->material[m];
        if (material->index_runs < BC_LEARN_LEAST)
            continue;
        any = true;
        bc_text_add(lines, "Index of %s from run to run: standard deviation %.4f (95 %%: %s), by %zu runs",
                    material->name, material->index_sigma.value, range(&material->index_sigma, 1.0, 4, text),
                    material->index_runs);
        if (!isnan(material->index_before))
            bc_text_add(lines, "; %.4f before", material->index_before);
        bc_text_add(lines, ".\n");
    }
    if (!any)
        bc_text_add(lines, "Nothing is known of the index from run to run: inspections with --fit-index give it.\n");
}

static void add_head(const bc_learn_report *report, bc_text *lines)
{
    const bc_learn_result *result = report->result;
    bc_text_add(lines, "By %zu runs of %zu %s", result->runs, result->designs,
                result->designs == 1 ? "design" : "designs");
    if (report->left_out > 0)
        bc_text_add(lines, " (%zu left out, which %s not fit with the layers of the design)", report->left_out,
                    report->left_out == 1 ? "does" : "do");
    if (report->older > 0)
        bc_text_add(lines, " (%zu left out that an older program recorded)", report->older);
    bc_text_add(lines, ", the uncertainty of each fit taken out.\n");
}

bc_status bc_report_learn_text(const bc_learn_report *report, bc_text *out, bc_error *error)
{
    bc_text lines = {0};
    add_head(report, &lines);
    bc_add_lines(out, &lines);
    bc_text_add(out,
                "\nThickness on the part divided by the thickness asked for, and the probability\nthat it is off:\n");
    add_tooling(report->result, out);
    bc_text_add(out, "\nScatter, and how many such runs it takes to know it to 20 %%:\n");
    add_scatter(report->result, out);
    bc_text_add(out, "\n");
    lines = (bc_text){0};
    if (!report->result->layers_known)
        bc_text_add(&lines,
                    "No design has two layers of one material: an error that a layer has in every run counts as "
                    "tooling.\n");
    add_drift(report->result, &lines);
    add_index(report->result, &lines);
    bc_text_add(&lines, "In the process file a layer's scatter is that within a run and that between layers combined: "
                        "the constant error of a new layer is not known beforehand.\n");
    bc_add_lines(out, &lines);
    return bc_text_end(out, error);
}

/* ---- JSON ---- */

static void sigma_json(const bc_learn_sigma *sigma, const char *name, cJSON *into, bc_json *json)
{
    cJSON *object = bc_json_object(json, into, name);
    bc_json_interval(&sigma->sigma, 100.0, "percent", object, json);
    bc_json_number(json, object, "before_percent", 100.0 * sigma->before, 12);
    bc_json_number(json, object, "runs_needed", sigma->runs_needed == 0 ? NAN : (double)sigma->runs_needed, 15);
}

static void material_json(const bc_learn_material *material, bool drift_known, cJSON *row, bc_json *json)
{
    const bool has_index = material->index_runs >= BC_LEARN_LEAST;
    const bc_interval none = {NAN, NAN, NAN};
    bc_json_string(json, row, "material", material->name);
    bc_json_interval(&material->factor, 1.0, "factor", row, json);
    bc_json_number(json, row, "probability_off", material->probability, 12);
    bc_json_number(json, row, "tooling_factor", material->tooling_known ? material->tooling : NAN, 15);
    bc_json_number(json, row, "next_tooling_factor", material->next_tooling, 15);
    sigma_json(&material->within, "within_run", row, json);
    bc_json_interval(drift_known ? &material->drift.change : &none, 100.0, "drift_percent", row, json);
    bc_json_number(json, row, "drift_chance", drift_known ? material->drift.chance : NAN, 12);
    bc_json_bool(json, row, "drifts", drift_known && material->drift.drifts);
    bc_json_interval(has_index ? &material->index_sigma : &none, 1.0, "index_sigma", row, json);
}

bc_status bc_report_learn_json(const bc_learn_report *report, bc_text *out, bc_error *error)
{
    const bc_learn_result *result = report->result;
    bc_json json;
    cJSON *materials;
    bc_json_open(&json);
    bc_json_number(&json, json.root, "runs", (double)result->runs, 15);
    bc_json_number(&json, json.root, "designs", (double)result->designs, 15);
    bc_json_number(&json, json.root, "left_out", (double)report->left_out, 15);
    bc_json_number(&json, json.root, "recorded_by_older", (double)report->older, 15);
    sigma_json(&result->between_runs, "between_runs", json.root, &json);
    sigma_json(&result->between_layers, "between_layers", json.root, &json);
    materials = bc_json_array(&json, json.root, "materials");
    for (size_t m = 0; m < result->materials; m++)
        material_json(&result->material[m], result->drift_known, bc_json_object(&json, materials, NULL), &json);
    return bc_json_close(&json, out, error);
}

/* ---- the process file ---- */

bc_status bc_report_learn_csv(const bc_learn_report *report, bc_text *out, bc_error *error)
{
    const bc_learn_result *result = report->result;
    bc_text words = {0};
    char text[RANGE_SIZE];
    bc_status status;
    bc_text_add(&words, "bloomcoat process learn: the process as measured. ");
    add_head(report, &words);
    for (size_t m = 0; m < result->materials; m++) {
        const bc_learn_material *material = &result->material[m];
        bc_text_add(&words, "%s: came out at %.4f times the thickness asked for (95 %%: %s), ", material->name,
                    material->factor.value, range(&material->factor, 1.0, 4, text));
        bc_text_add(&words, "layers within a run %.2f %% (%s)\n", 100.0 * material->within.sigma.value,
                    range(&material->within.sigma, 100.0, 2, text));
    }
    bc_text_add(&words, "between runs %.2f %% (95 %%: %s)", 100.0 * result->between_runs.sigma.value,
                range(&result->between_runs.sigma, 100.0, 2, text));
    if (result->layers_known)
        bc_text_add(&words,
                    "\nbetween layers of one material %.2f %% (95 %%: %s); thickness_sigma_percent has it in it",
                    100.0 * result->between_layers.sigma.value, range(&result->between_layers.sigma, 100.0, 2, text));
    status = words.failed ? bc_fail_memory(error) : bc_report_process_csv(&result->process, words.data, out, error);
    bc_text_clear(&words);
    return status;
}
