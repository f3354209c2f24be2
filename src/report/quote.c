/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/proof_words.h"
#include "internal/quote_words.h"
#include "internal/table.h"
#include "internal/yield_words.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef void (*writer)(bc_text *out, const bc_quote_report *report);

/* Each sentence as an item, or nothing at all under a heading with nothing to say. */
static void section_text(const char *heading, writer write, const bc_quote_report *report, bc_text *out)
{
    bc_text lines = {0};
    write(&lines, report);
    out->failed = out->failed || lines.failed;
    if (lines.length > 0) {
        bc_text_add(out, "%s:\n", heading);
        for (char *line = lines.data, *end; (end = strchr(line, '\n')) != NULL; line = end + 1) {
            *end = '\0';
            bc_text_add(out, "  - ");
            bc_text_wrap(out, 4, 4, line);
        }
        bc_text_add(out, "\n");
    }
    bc_text_clear(&lines);
}

static void section_json(const char *name, writer write, const bc_quote_report *report, bc_json *json)
{
    cJSON *array = bc_json_array(json, json->root, name);
    bc_text lines = {0};
    write(&lines, report);
    json->failed = json->failed || lines.failed;
    for (char *line = lines.data, *end; line != NULL && (end = strchr(line, '\n')) != NULL; line = end + 1) {
        *end = '\0';
        bc_json_string(json, array, NULL, line);
    }
    bc_text_clear(&lines);
}

static void options_text(const bc_quote_report *report, bc_text *out)
{
    static const char *const heading[] = {"layers", "total nm", "used", "yield %", "h/load", "loads", "hours", ""};
    bc_table table = {
        .columns = BC_OPTION_CELLS, .right = {true, true, true, true, true, true, true, false}, .indent = 2};
    bc_table_row(&table);
    for (size_t column = 0; column < table.columns; column++)
        bc_table_cell(&table, column, "%s%s", heading[column],
                      column == BC_OPTION_YIELD && bc_any_known(report->result) ? " (known)" : "");
    for (size_t o = 0; o < report->result->options; o++) {
        char cell[BC_OPTION_CELLS][BC_PRINTED_SIZE], known[BC_PRINTED_SIZE];
        bc_option_cells(report, o, cell);
        bc_table_row(&table);
        bc_print_known(known, &report->result->option[o].known);
        for (size_t column = 0; column < table.columns; column++)
            if (column == BC_OPTION_YIELD && known[0] != '\0')
                bc_table_cell(&table, column, "%s (%s)", cell[column], known);
            else
                bc_table_cell(&table, column, "%s%s", column == BC_OPTION_MARK && cell[column][0] != '\0' ? "<- " : "",
                              cell[column]);
    }
    bc_table_write(&table, out);
    bc_text_add(out, "\n");
}

static void stack_text(const bc_stack *stack, size_t indent, bc_text *out)
{
    bc_text words = {0};
    bc_add_stack(&words, stack);
    bc_text_wrap_gathered(out, indent, &words);
}

static void loads_text(const bc_quote_report *report, bc_text *out)
{
    bc_text words = {0};
    bc_add_loads(&words, report);
    bc_text_wrap_gathered(out, 0, &words);
}

static void exception_text(const bc_quote_report *report, const bc_exception *exception, bc_text *out)
{
    const char *name = bc_exception_callout(report, exception);
    bc_text words = {0};
    bc_text_add(out, "  - ");
    if (name != NULL)
        bc_text_add(&words, "\"%s\", ", name);
    bc_text_add(&words, "%s: ", bc_exception_word(exception->kind));
    bc_add_offered(&words, report, exception);
    bc_text_add(&words, ", in place of ");
    bc_add_asked(&words, report, exception);
    bc_text_add(&words, "; ");
    bc_add_verified(&words, exception);
    out->failed = out->failed || words.failed;
    if (words.data != NULL)
        bc_text_wrap(out, 4, 4, words.data);
    bc_text_clear(&words);
    stack_text(&exception->stack, 6, out);
}

static void exceptions_text(const bc_quote_report *report, bc_text *out)
{
    const bc_quote_result *result = report->result;
    if (result->verdict == BC_FEASIBLE)
        return;
    bc_text_wrap(out, 0, 0, bc_offer_words(result));
    for (size_t e = 0; e < result->exceptions; e++)
        if (result->exception[e].found)
            exception_text(report, &result->exception[e], out);
    bc_text_add(out, "\n");
    section_text("Changes that alone led to no feasible design", bc_add_vain, report, out);
}

static void heading_text(const bc_quote_report *report, bc_text *out)
{
    const bc_quote_result *result = report->result;
    bc_text words = {0};
    bc_heading_text(&report->check, out);
    if (report->process_path != NULL) {
        bc_text_add(out, "Process ");
        bc_text_add_plain(out, report->process_path);
        bc_text_add(out, "\n");
    }
    if (report->chamber_path != NULL) {
        bc_text_add(out, "Chamber ");
        bc_text_add_plain(out, report->chamber_path);
        bc_text_add(out, "\n");
    }
    bc_text_add(out, "\nVerdict: %s\n", bc_feasibility_word(result->verdict));
    bc_add_why(&words, report);
    bc_text_wrap_gathered(out, 0, &words);
    bc_text_add(out, "\n");
}

bc_status bc_report_quote_text(const bc_quote_report *report, bc_text *out, bc_error *error)
{
    const bc_quote_result *result = report->result;
    heading_text(report, out);
    options_text(report, out);
    stack_text(&result->option[result->recommended].stack, 0, out);
    loads_text(report, out);
    bc_text_add(out, "\n");
    section_text("Standard coatings", bc_add_standards, report, out);
    section_text("Proved", bc_add_proved, report, out);
    section_text("Reasons", bc_add_reasons, report, out);
    exceptions_text(report, out);
    section_text("Materials", bc_add_remarks, report, out);
    section_text("Not known", bc_add_missing, report, out);
    bc_back_text(&report->check, out);
    bc_sources_text(&report->check, out);
    bc_text_add(out, "\n");
    bc_cautions_text(1, &report->check, out);
    return bc_text_end(out, error);
}

static void stack_json(const bc_stack *stack, cJSON *parent, bc_json *json)
{
    cJSON *array = bc_json_array(json, parent, "stack");
    for (size_t j = stack->layers; j-- > 0;) {
        cJSON *layer = bc_json_object(json, array, NULL);
        bc_json_string(json, layer, "material", stack->layer[j].material.name);
        bc_json_number(json, layer, "thickness_nm", stack->layer[j].thickness_nm, 15);
        bc_gradient_json(&stack->layer[j], json, layer);
    }
}

static void yield_json(double yield, double low, double high, cJSON *row, bc_json *json)
{
    bc_json_number(json, row, "yield_percent", 100.0 * yield, 12);
    bc_json_number(json, row, "yield_low_percent", 100.0 * low, 12);
    bc_json_number(json, row, "yield_high_percent", 100.0 * high, 12);
}

static void option_figures_json(const bc_quote_option *option, cJSON *row, bc_json *json)
{
    bc_json_number(json, row, "layers", (double)option->stack.layers, 15);
    bc_json_number(json, row, "total_nm", option->total_nm, 15);
    bc_json_number(json, row, "limit_used", option->limit_used, 12);
    yield_json(option->yield, option->yield_low, option->yield_high, row, json);
    bc_known_yield_json(&option->known, row, json);
    bc_json_number(json, row, "layer_hours", option->layer_hours, 12);
    bc_json_number(json, row, "hours_per_load", option->hours_per_load, 12);
    bc_json_number(json, row, "loads", option->loads > 0 ? (double)option->loads : NAN, 15);
    bc_json_number(json, row, "hours", option->hours, 12);
    bc_json_number(json, row, "expected_loads", option->loads_expected, 12);
    bc_json_number(json, row, "expected_hours", option->expected_hours, 12);
    bc_json_number(json, row, "loads_at_confidence",
                   option->loads_at_confidence > 0 ? (double)option->loads_at_confidence : NAN, 15);
    bc_json_number(json, row, "blanks", option->blanks > 0 ? (double)option->blanks : NAN, 15);
    bc_json_string(json, row, "standard", option->standard == NULL ? NULL : option->standard->standard->name);
}

static void options_json(const bc_quote_report *report, bc_json *json)
{
    const bc_quote_result *result = report->result;
    cJSON *array = bc_json_array(json, json->root, "options");
    for (size_t o = 0; o < result->options; o++) {
        const bc_quote_option *option = &result->option[o];
        cJSON *row = bc_json_object(json, array, NULL);
        option_figures_json(option, row, json);
        bc_json_bool(json, row, "recommended", o == result->recommended);
        bc_json_bool(json, row, "best_possible",
                     bc_proof_note(&result->proof, option->stack.layers, option->limit_used)[0] != '\0');
        stack_json(&option->stack, row, json);
    }
}

static void words_json(bc_text *words, const char *name, cJSON *row, bc_json *json)
{
    json->failed = json->failed || words->failed;
    bc_json_string(json, row, name, words->data);
    bc_text_clear(words);
}

static void exception_json(const bc_quote_report *report, const bc_exception *exception, cJSON *row, bc_json *json)
{
    bc_text words = {0};
    bc_json_string(json, row, "callout", bc_exception_callout(report, exception));
    bc_json_string(json, row, "change", bc_exception_word(exception->kind));
    bc_add_asked(&words, report, exception);
    words_json(&words, "asked", row, json);
    if (exception->kind == BC_EXCEPT_DROPPED)
        bc_text_add(&words, "left out altogether");
    else
        bc_add_offered(&words, report, exception);
    words_json(&words, exception->found ? "offered" : "looked_at", row, json);
    bc_json_string(json, row, "material", exception->other == NULL ? NULL : exception->other->name);
    if (exception->found && exception->kind == BC_EXCEPT_LIMIT)
        bc_json_number(json, row, "limit_factor", exception->factor, 12);
    if ((exception->callout != BC_NO_CALLOUT || exception->all != NULL) && exception->kind != BC_EXCEPT_DROPPED) {
        bc_json_number(json, row, "limit_percent",
                       exception->offered.colour == BC_NO_COLOUR ? 100.0 * exception->offered.limit : NAN, 12);
        bc_json_number(json, row, "from_nm", exception->offered.from_nm, 12);
        bc_json_number(json, row, "to_nm", exception->offered.to_nm, 12);
        bc_json_number(json, row, "aoi_from_deg", bc_degrees(exception->offered.aoi_from_rad), 12);
        bc_json_number(json, row, "aoi_to_deg", bc_degrees(exception->offered.aoi_to_rad), 12);
    }
    if (exception->kind == BC_EXCEPT_APERTURE)
        bc_json_number(json, row, "clear_aperture_mm", exception->aperture_mm, 12);
    if (!exception->found)
        return;
    bc_json_number(json, row, "limit_used", exception->limit_used, 12);
    yield_json(exception->yield, exception->yield_low, exception->yield_high, row, json);
    bc_json_number(json, row, "runs", (double)exception->runs, 15);
    bc_json_number(json, row, "seed", (double)exception->seed, 15);
    stack_json(&exception->stack, row, json);
}

static void refused_json(const bc_quote_result *result, bc_json *json)
{
    cJSON *array = bc_json_array(json, json->root, "refused");
    for (size_t i = 0; i < result->remarks; i++)
        if (result->remark[i].refused)
            bc_json_string(json, array, NULL, result->remark[i].material->name);
}

static const char *obstacle_word(bc_obstacle obstacle)
{
    static const char *const word[] = {[BC_NO_OBSTACLE] = NULL,
                                       [BC_OBSTACLE_SIZE] = "size",
                                       [BC_OBSTACLE_CONTRADICTION] = "contradiction",
                                       [BC_OBSTACLE_HEAT] = "heat",
                                       [BC_OBSTACLE_THIN] = "thin layer"};
    return word[obstacle];
}

static const char *prefer_word(bc_prefer prefer)
{
    return prefer == BC_PREFER_YIELD ? "yield" : prefer == BC_PREFER_LAYERS ? "layers" : "hours";
}

static void question_json(const bc_quote_report *report, bc_json *json)
{
    const bc_quote_request *request = report->request;
    const bc_quote_result *result = report->result;
    bc_text words = {0};
    bc_json_string(json, json->root, "verdict", bc_feasibility_word(result->verdict));
    bc_add_why(&words, report);
    words_json(&words, "why", json->root, json);
    bc_json_bool(json, json->root, "interrupted", result->stopped);
    bc_json_bool(json, json->root, "at_the_limit", result->at_the_limit);
    bc_json_string(json, json->root, "obstacle", obstacle_word(result->obstacle));
    bc_json_number(json, json->root, "yield_asked_percent", 100.0 * request->yield, 12);
    bc_json_number(json, json->root, "quantity", request->quantity > 0 ? (double)request->quantity : NAN, 15);
    bc_json_number(json, json->root, "part_diameter_mm",
                   request->part_diameter_mm > 0.0 ? request->part_diameter_mm : NAN, 12);
    bc_json_bool(json, json->root, "both_sides", request->both_sides);
    bc_json_bool(json, json->root, "one_run", request->one_run);
    bc_json_string(json, json->root, "failed_part", request->failed_part == BC_FAILED_SCRAP ? "scrap" : "strip");
    bc_json_number(json, json->root, "confidence_percent",
                   100.0 * (request->confidence > 0.0 ? request->confidence : 0.95), 12);
    bc_json_string(json, json->root, "prefer", prefer_word(request->prefer));
    bc_json_number(json, json->root, "parts_per_load",
                   result->parts_per_load > 0 ? (double)result->parts_per_load : NAN, 15);
    bc_json_string(json, json->root, "process_file", report->process_path);
    bc_json_string(json, json->root, "chamber_file", report->chamber_path);
    bc_json_number(json, json->root, "seed", (double)request->seed, 15);
    bc_json_number(json, json->root, "runs", (double)result->runs, 15);
    bc_json_number(json, json->root, "predicted_runs", (double)result->predicted_runs, 15);
    bc_json_string(json, json->root, "decisive_callout", request->problem->callouts->callout[result->decisive].name);
}

void bc_quote_json(const bc_quote_report *report, bc_json *json)
{
    const bc_quote_result *result = report->result;
    cJSON *found, *vain_ones;
    question_json(report, json);
    options_json(report, json);
    bc_standards_json(report, json);
    found = bc_json_array(json, json->root, "exceptions");
    vain_ones = bc_json_array(json, json->root, "not_found");
    for (size_t e = 0; e < result->exceptions; e++)
        exception_json(report, &result->exception[e],
                       bc_json_object(json, result->exception[e].found ? found : vain_ones, NULL), json);
    section_json("reasons", bc_add_reasons, report, json);
    bc_proof_json(json, result->proof.steps > 0 ? &result->proof : NULL, report->request->problem->minimum_nm);
    section_json("materials", bc_add_remarks, report, json);
    refused_json(result, json);
    section_json("missing", bc_add_missing, report, json);
    bc_findings_json(&report->check, NULL, json);
    bc_sources_json(&report->check, json);
    bc_cautions_json(1, &report->check, json);
}

bc_status bc_report_quote_json(const bc_quote_report *report, bc_text *out, bc_error *error)
{
    bc_json json;
    bc_json_open(&json);
    bc_quote_json(report, &json);
    return bc_json_close(&json, out, error);
}

static void found_json(const bc_quote_report *report, const bc_quote_found *found, bc_json *json)
{
    cJSON *row = bc_json_object(json, json->root, found->option != NULL ? "option" : "exception");
    if (found->option == NULL) {
        exception_json(report, found->exception, row, json);
        return;
    }
    option_figures_json(found->option, row, json);
    bc_json_bool(json, row, "forecast", found->forecast);
    stack_json(&found->option->stack, row, json);
}

bc_status bc_report_found_json(const bc_quote_report *report, const bc_quote_found *found, bc_text *out,
                               bc_error *error)
{
    bc_json json;
    char *line;
    bc_json_open(&json);
    found_json(report, found, &json);
    line = json.failed ? NULL : cJSON_PrintUnformatted(json.root);
    cJSON_Delete(json.root);
    if (line == NULL)
        return bc_fail_memory(error);
    bc_text_add(out, "%s\n", line);
    cJSON_free(line);
    return bc_text_end(out, error);
}

bc_status bc_report_found_text(const bc_quote_report *report, const bc_quote_found *found, bc_text *out,
                               bc_error *error)
{
    const bc_quote_option *option = found->option;
    if (option == NULL) {
        exception_text(report, found->exception, out);
        return bc_text_end(out, error);
    }
    bc_text_add(out, "  - %zu layer%s, %.1f nm, uses %.1f %% of the limit", option->stack.layers,
                option->stack.layers == 1 ? "" : "s", option->total_nm, 100.0 * option->limit_used);
    if (isfinite(option->yield) && found->forecast)
        bc_text_add(out, "; yield forecast as %.1f %%", 100.0 * option->yield);
    else if (isfinite(option->yield))
        bc_text_add(out, "; yield %.1f %% (%.1f to %.1f)", 100.0 * option->yield, 100.0 * option->yield_low,
                    100.0 * option->yield_high);
    bc_text_add(out, "\n");
    return bc_text_end(out, error);
}
