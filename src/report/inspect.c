/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/acceptance.h"
#include "internal/inspect_words.h"
#include "internal/numbers.h"
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define SMALLEST_OFFSET 5e-5 /* that is reported, a fraction */

static const char *const scope_of_back[] = {[BC_BACK_NONE] = "none (ground or blackened: the front alone is seen)",
                                            [BC_BACK_UNCOATED] = "uncoated",
                                            [BC_BACK_SAME] = "coated as the front",
                                            [BC_BACK_OWN] = "coated with a stack of its own"};

static void add_columns(const bc_measured_file *file, bc_text *lines)
{
    size_t count = 0, some = 0;
    for (size_t i = 0; i < file->columns; i++)
        count += file->column[i].role == BC_ROLE_VALUE;
    bc_text_add(lines, ", column%s", count > 1 ? "s" : "");
    for (size_t i = 0; i < file->columns; i++) {
        const char *header = file->column[i].header;
        if (file->column[i].role == BC_ROLE_VALUE)
            bc_text_add(lines, "%s %zu%s%s%s", some++ == 0 ? "" : ",", i + 1, header[0] == '\0' ? "" : " '", header,
                        header[0] == '\0' ? "" : "'");
    }
}

static void add_source(const bc_witness_source *source, const bc_measured_file *file, const char *quantity,
                       bc_text *lines)
{
    const bool stated_in_file = file->quantity_stated != BC_STATED_NOT || source->quantity_stated == NULL;
    bc_text_add(lines, "%s: %zu wavelengths, %.6g to %.6g nm, lines %ld to %ld", quantity, file->count,
                file->wavelength_nm[0], file->wavelength_nm[file->count - 1], file->first_line, file->last_line);
    add_columns(file, lines);
    bc_text_add(lines, "; %s (%s), %s (%s), %s (%s)", quantity,
                stated_in_file ? bc_stated_word(file->quantity_stated) : source->quantity_stated,
                file->counts ? "counts" : bc_measured_unit_word(file->unit),
                file->counts && file->unit_stated == BC_STATED_NOT ? "divided by the reference"
                                                                   : bc_stated_word(file->unit_stated),
                bc_wavelength_unit_word(file->wavelength_unit), bc_stated_word(file->wavelength_unit_stated));
    if (file->scans > 1)
        bc_text_add(lines, "; the mean of %zu scans", file->scans);
    if (file->averaged_nm > 0.0)
        bc_text_add(lines, "; neighbours within %.3g nm averaged", file->averaged_nm);
    if (file->rows_left_out > 0)
        bc_text_add(lines, "; %zu row%s at the ends without a value left out", file->rows_left_out,
                    file->rows_left_out == 1 ? "" : "s");
    for (size_t i = 0; i < file->missing; i++)
        bc_text_add(lines, "%s %.6g nm (line %ld)", i == 0 ? "; no value at" : ",", file->missing_nm[i],
                    file->missing_line[i]);
    bc_text_add(lines, ".\n");
}

void bc_add_source(bc_text *lines, const bc_witness_source *source)
{
    if (source->R != NULL)
        add_source(source, source->R, "R", lines);
    if (source->T != NULL)
        add_source(source, source->T, "T", lines);
}

static void source_text(const bc_witness_source *source, bc_text *out)
{
    bc_text lines = {0};
    bc_text_add(out, "Measured ");
    bc_text_add_plain(out, source->path);
    bc_text_add(out, "\n");
    bc_add_source(&lines, source);
    bc_add_lines(out, &lines);
}

void bc_add_conditions(bc_text *lines, const bc_inspect_report *report)
{
    static const char *const light[] = {
        [BC_POL_UNPOLARIZED] = "unpolarized", [BC_POL_S] = "s", [BC_POL_P] = "p", [BC_POL_EACH] = "s and p"};
    const bc_inspect_setup *setup = report->setup;
    bc_text_add(lines, "Taken as measured on %s at %.4g degrees, %s; back: %s", setup->design->substrate.name,
                bc_degrees(setup->aoi_rad), light[setup->polarization], scope_of_back[setup->back.kind]);
    if (setup->back.kind != BC_BACK_NONE && setup->back.substrate_mm > 0.0)
        bc_text_add(lines, ", glass %g mm thick", setup->back.substrate_mm);
    bc_text_add(lines, ".\n");
    bc_add_known(lines, report);
    if (setup->uncertainty > 0.0)
        bc_text_add(lines, "Uncertainty of the measurement: %.4g %% (absolute, expanded, k = %g).\n",
                    100.0 * setup->uncertainty, setup->coverage_factor);
    bc_text_add(lines, "Of its wavelengths: %.3g nm; of its scale of R: %.3g %% of the value (expanded, k = %g).\n",
                setup->wavelength_uncertainty_nm, 100.0 * setup->scale_uncertainty, setup->coverage_factor);
    bc_add_correction(lines, report);
}

static void conditions_text(const bc_inspect_report *report, bc_text *out)
{
    bc_text lines = {0};
    bc_add_conditions(&lines, report);
    bc_add_lines(out, &lines);
}

static void finding_row(const bc_inspect_report *report, const bc_inspect_finding *finding, bc_table *table)
{
    const bc_callout *callout = finding->callout;
    const double uncertainty = report->setup->coverage_factor * hypot(finding->random, finding->systematic);
    char quantity[BC_PRINTED_SIZE];
    bc_text verdict = {0};
    bc_table_row(table);
    bc_table_cell(table, 0, "%s", callout->name);
    bc_print_quantity(quantity, callout);
    bc_table_cell(table, 1, "%s", quantity);
    BC_NUMBER_CELL(table, 2, "%.4f", 100.0 * finding->value);
    BC_NUMBER_CELL(table, 3, "%.4f", 100.0 * uncertainty);
    bc_table_cell(table, 4, "%s %.6g%s", bc_sense_word(callout->sense), 100.0 * callout->limit,
                  callout->colour == BC_NO_COLOUR ? "" : " (no %)");
    BC_NUMBER_CELL(table, 5, "%.3f", finding->limit_used);
    BC_NUMBER_CELL(table, 6, "%.3f", finding->probability);
    BC_NUMBER_CELL(table, 7, "%.1f",
                   callout->statistic == BC_EXTREME ? finding->at_nm : NAN); /* an average is nowhere */
    bc_add_verdict(&verdict, finding->verdict, report->color);
    bc_table_cell(table, 8, "%s", verdict.failed ? "" : verdict.data);
    table->failed = table->failed || verdict.failed;
    bc_text_clear(&verdict);
}

static void remarks(const bc_inspect_finding *finding, double coverage, bc_text *lines)
{
    const char *name = finding->callout->name;
    if (finding->text[0] != '\0')
        bc_text_add(lines, "\"%s\": %s\n", name, finding->text);
    if (finding->angle_corrected)
        bc_text_add(lines, "\"%s\": corrected to the callout's angle, by %.2g %% at most.\n", name,
                    100.0 * finding->largest_correction);
    if (finding->back_removed)
        bc_text_add(lines, "\"%s\": the share of the uncoated back was taken out.\n", name);
    bc_add_judged(lines, finding);
    bc_add_parts(lines, finding, coverage);
}

/* Whether a row is undecided only because something else was measured. */
static bool from_fit_would_help(const bc_inspect_report *report, const bc_inspect_result *result)
{
    for (size_t i = 0; i < result->count; i++)
        if (result->finding[i].reason >= BC_UNDECIDED_QUANTITY)
            return result->good_fit && !report->setup->from_fit;
    return false;
}

void bc_fill_judged(const bc_inspect_report *report, const bc_inspect_result *result, bc_table *table)
{
    static const char *const heading[] = {"callout", "quantity", "value %", "+- %", "limit %",
                                          "used",    "P",        "at nm",   ""};
    *table = (bc_table){.columns = sizeof heading / sizeof heading[0],
                        .right = {false, false, true, true, false, true, true, true, false}};
    bc_table_row(table);
    for (size_t column = 0; column < table->columns; column++)
        bc_table_cell(table, column, "%s", heading[column]);
    for (size_t i = 0; i < result->count; i++)
        finding_row(report, &result->finding[i], table);
}

void bc_add_judged_words(bc_text *lines, const bc_inspect_report *report, const bc_inspect_result *result)
{
    bc_text_add(lines,
                "+-: expanded uncertainty (k = %g) at that point. P: probability that the true value meets the limit; "
                "accepted from %.4g up.\n",
                report->setup->coverage_factor, report->setup->confidence);
    for (size_t i = 0; i < result->count; i++)
        remarks(&result->finding[i], report->setup->coverage_factor, lines);
    if (from_fit_would_help(report, result))
        bc_text_add(lines, "With --from-fit such rows are judged on the stack fitted to the scan.\n");
    bc_add_inspect_colours(lines, report, result);
}

static void findings_text(const bc_inspect_report *report, const bc_inspect_result *result, bc_text *out)
{
    bc_table table;
    bc_text lines = {0};
    bc_text_add(out, "Verdict: ");
    bc_add_verdict(out, result->verdict, report->color);
    bc_text_add(out, "\n");
    bc_add_beside(&lines, report);
    bc_add_lines(out, &lines);
    if (result->count == 0) {
        bc_text_wrap(out, 0, 0, BC_NO_CALLOUTS);
        return;
    }
    bc_fill_judged(report, result, &table);
    bc_table_write(&table, out);
    bc_add_judged_words(&lines, report, result);
    bc_add_lines(out, &lines);
}

static void layer_row(const bc_inspect_result *result, size_t i, bc_table *table)
{
    const bc_layer_estimate *layer = &result->layer[i];
    bc_table_row(table);
    bc_table_cell(table, 0, "%zu", bc_layer_number(result->layers, i));
    bc_table_cell(table, 1, "%s", result->fitted.layer[i].material.name);
    bc_table_cell(table, 2, "%.2f", layer->design_nm);
    if (layer->known) {
        bc_table_cell(table, 3, "%.2f", layer->fitted_nm);
        bc_table_cell(table, 4, "%.2g", BC_COVERAGE * layer->sigma_nm);
        bc_table_cell(table, 5, "%+.1f", 100.0 * (layer->fitted_nm / layer->design_nm - 1.0));
    } else {
        bc_table_cell(table, 3, "not known");
    }
    bc_table_cell(table, 6, "%s", layer->off ? "<- off" : "");
}

bool bc_fill_fitted(const bc_inspect_result *result, bc_table *table)
{
    static const char *const heading[] = {"layer", "material", "design nm", "fitted nm", "+- nm", "change %", ""};
    *table = (bc_table){.columns = 7, .right = {true, false, true, true, true, true, false}, .indent = 2};
    if (result->layers == 0 || !result->good_fit)
        return false;
    bc_table_row(table);
    for (size_t column = 0; column < table->columns; column++)
        bc_table_cell(table, column, "%s", heading[column]);
    for (size_t i = result->layers; i-- > 0;)
        layer_row(result, i, table);
    return true;
}

void bc_add_fitted_words(bc_text *lines, const bc_inspect_result *result)
{
    bc_text_add(lines, "Layer 1 is next to the substrate; +- is the expanded uncertainty (k = 2).\n");
    bc_add_layer_parts(lines, result);
    for (size_t i = 0; i < result->groups; i++)
        bc_add_group(lines, result, &result->group[i]);
}

static void layers_text(const bc_inspect_result *result, bc_text *out)
{
    bc_table table;
    bc_text lines = {0};
    if (!bc_fill_fitted(result, &table))
        return;
    bc_table_write(&table, out);
    bc_add_fitted_words(&lines, result);
    bc_add_lines(out, &lines);
}

static void add_overlay(const bc_overlay *overlay, const bc_noise *noise, const char *name, bc_text *lines)
{
    static const char *const source[] = {[BC_NOISE_UNKNOWN] = "not known, taken as none",
                                         [BC_NOISE_REPEATS] = "by the repeated scans",
                                         [BC_NOISE_SCAN] = "by the differences within the scan",
                                         [BC_NOISE_ROUNDING] = "by the last digit written"};
    if (overlay->count == 0)
        return;
    bc_text_add(lines,
                "%s differs from the design by %.4f %% rms (most: %+.4f %% at %.1f nm), from the fitted stack by %.4f "
                "%% rms.",
                name, 100.0 * overlay->rms, 100.0 * overlay->worst, overlay->worst_nm, 100.0 * overlay->rms_fitted);
    if (fabs(overlay->offset) >= SMALLEST_OFFSET) {
        const double sigmas = fabs(overlay->offset) / overlay->offset_prior;
        bc_text_add(lines, " The whole scan is fitted %+.4f %% off, %.2g times its standard uncertainty%s.",
                    100.0 * overlay->offset, sigmas, sigmas > 2.0 ? ": more than the uncertainty given explains" : "");
    }
    bc_text_add(lines, " Noise: %.2g %% (%s).\n", 100.0 * noise->rms, source[noise->source]);
}

void bc_add_comparison(bc_text *lines, const bc_inspect_result *result)
{
    add_overlay(&result->R, &result->noise_R, "R", lines);
    add_overlay(&result->T, &result->noise_T, "T", lines);
    bc_add_outliers(lines, result);
    if (result->outside > 0)
        bc_text_add(lines, "%zu wavelengths lie beyond a table of the stack and were not compared.\n", result->outside);
    bc_add_absorption(lines, &result->absorption);
}

void bc_add_tooling(bc_text *lines, const bc_inspect_result *result)
{
    for (size_t i = 0; i < result->materials && result->good_fit; i++) {
        const bc_material_found *material = &result->material[i];
        if (material->next_tooling == material->tooling)
            continue;
        bc_text_add(lines, "%s: thickness on the part is %.2f %% off what was asked; tooling %.4f%s becomes %.4f.\n",
                    material->material.name, 100.0 * (material->next_tooling / material->tooling - 1.0),
                    material->tooling, material->tooling_known ? "" : " (assumed)", material->next_tooling);
    }
}

static void run_text(const bc_inspect_report *report, const bc_inspect_result *result, bc_text *out)
{
    bc_text lines = {0};
    bc_text_add(&lines, "What the run did: ");
    bc_add_run(&lines, result);
    bc_add_hypotheses(&lines, result);
    bc_add_lines(out, &lines);
    layers_text(result, out);
    bc_text_add(out, "\n");
    bc_add_comparison(&lines, result);
    bc_add_tooling(&lines, result);
    bc_add_gain(&lines, result);
    if (report->next_process_path != NULL)
        bc_text_add(&lines, "%s: %s\n",
                    result->tooling_corrected ? "Process with the new tooling" : "Process, its tooling unchanged",
                    report->next_process_path);
    if (report->next_stack_path != NULL)
        bc_text_add(&lines, "%s: %s\n",
                    result->corrected ? "Corrected stack for the next run, tooling factors unchanged"
                                      : "Stack for the next run, not corrected",
                    report->next_stack_path);
    if (report->next_stack_path != NULL && report->next_process_path != NULL && result->corrected &&
        result->tooling_corrected)
        bc_text_add(&lines, "Use one of the two, not both: each corrects the run by itself.\n");
    if (report->next_refused)
        bc_text_add(&lines, "Nothing was written for the next run: the fit does not explain the scan.\n");
    bc_add_lines(out, &lines);
}

/* Index data and cautions. */
static void ends_text(const bc_inspect_report *report, bc_text *out)
{
    const size_t callouts = report->setup->callouts == NULL ? 0 : report->setup->callouts->count;
    bc_finding *finding = calloc(callouts + 1, sizeof *finding);
    bc_check_result result;
    if (finding == NULL) {
        out->failed = true;
        return;
    }
    const bc_check_report media = bc_inspect_media(report, &result, finding);
    bc_sources_text(&media, out);
    bc_text_add(out, "\n");
    bc_cautions_text(1, &media, out);
    free(finding);
}

static void heading_text(const bc_inspect_report *report, bc_text *out)
{
    bc_heading_text(&(const bc_check_report){.stack_path = report->stack_path,
                                             .callouts_path = report->callouts_path,
                                             .stack = report->setup->design},
                    out);
    if (report->process_path != NULL) {
        bc_text_add(out, "Process ");
        bc_text_add_plain(out, report->process_path);
        bc_text_add(out, "\n");
    }
}

bc_status bc_report_inspect_text(const bc_inspect_report *report, bc_text *out, bc_error *error)
{
    heading_text(report, out);
    if (report->lot != NULL) {
        conditions_text(report, out);
        bc_text_add(out, "\n");
        bc_lot_text(report, out);
    } else {
        source_text(&report->source[0], out);
        conditions_text(report, out);
        bc_text_add(out, "\n");
        findings_text(report, &report->result[0], out);
        bc_text_add(out, "\n");
        run_text(report, &report->result[0], out);
    }
    bc_text_add(out, "\n");
    bc_acceptance_text(report, out);
    ends_text(report, out);
    return bc_text_end(out, error);
}

static void copies_json(const bc_inspect_report *report, bc_json *json)
{
    cJSON *array = bc_json_array(json, json->root, "copies");
    for (size_t i = 0; i < report->copies; i++) {
        cJSON *row = bc_json_object(json, array, NULL);
        bc_json_string(json, row, "path", report->copy[i].path);
        bc_json_string(json, row, "of", report->copy[i].of);
    }
}

bc_status bc_report_inspect_json(const bc_inspect_report *report, bc_text *out, bc_error *error)
{
    const size_t callouts = report->setup->callouts == NULL ? 0 : report->setup->callouts->count;
    bc_finding *finding = calloc(callouts + 1, sizeof *finding);
    bc_check_result result;
    bc_json json;
    bc_json_open(&json);
    json.failed = json.failed || finding == NULL;
    if (report->lot != NULL)
        bc_lot_json(report, &json);
    else
        bc_witness_json(report, 0, json.root, &json);
    bc_correction_json(report, &json);
    bc_runs_json(report->runs, &json);
    copies_json(report, &json);
    bc_acceptance_json(report->plan, &json);
    bc_json_string(&json, json.root, "stack", report->stack_path);
    bc_json_string(&json, json.root, "callouts_file", report->callouts_path);
    bc_json_string(&json, json.root, "process_file", report->process_path);
    bc_json_string(&json, json.root, "next_stack", report->next_stack_path);
    bc_json_string(&json, json.root, "next_process", report->next_process_path);
    bc_json_number(&json, json.root, "total_nm", bc_stack_total_nm(report->setup->design), 15);
    if (finding != NULL) {
        const bc_check_report media = bc_inspect_media(report, &result, finding);
        bc_sources_json(&media, &json);
        bc_cautions_json(1, &media, &json);
    }
    free(finding);
    return bc_json_close(&json, out, error);
}
