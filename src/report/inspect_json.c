/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/inspect_words.h"
#include "internal/numbers.h"
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

static void column_json(const bc_measured_file *file, const char *name, cJSON *into, bc_json *json)
{
    cJSON *object, *columns;
    if (file == NULL)
        return;
    object = bc_json_object(json, into, name);
    bc_json_string(json, object, "unit", file->counts ? "counts" : bc_measured_unit_word(file->unit));
    bc_json_string(json, object, "unit_stated", bc_stated_word(file->unit_stated));
    bc_json_string(json, object, "wavelength_unit", bc_wavelength_unit_word(file->wavelength_unit));
    bc_json_string(json, object, "wavelength_unit_stated", bc_stated_word(file->wavelength_unit_stated));
    bc_json_number(json, object, "scans", (double)file->scans, 15);
    bc_json_number(json, object, "rows_left_out", (double)file->rows_left_out, 15);
    bc_json_numbers(json, object, "missing_nm", file->missing, file->missing_nm, 1.0);
    bc_json_number(json, object, "header_line", file->header_line == 0 ? NAN : (double)file->header_line, 15);
    bc_json_number(json, object, "first_line", (double)file->first_line, 15);
    bc_json_number(json, object, "last_line", (double)file->last_line, 15);
    columns = bc_json_array(json, object, "columns");
    for (size_t i = 0; i < file->columns; i++)
        if (file->column[i].role == BC_ROLE_VALUE)
            bc_json_number(json, columns, NULL, (double)i + 1.0, 15);
}

static const char *condition_word(bc_stated stated)
{
    return stated == BC_STATED_NOT ? "assumed" : bc_stated_word(stated);
}

static void measured_json(const bc_inspect_report *report, size_t which, cJSON *into, bc_json *json)
{
    const bc_witness_source *source = &report->source[which];
    const bc_inspect_setup *setup = report->setup;
    cJSON *object = bc_json_object(json, into, "measured");
    bc_json_string(json, object, "path", source->path);
    bc_json_string(json, object, "quantity_stated", source->quantity_stated);
    column_json(source->R, "R", object, json);
    column_json(source->T, "T", object, json);
    bc_json_string(json, object, "substrate", setup->design->substrate.name);
    bc_json_string(json, object, "back", bc_back_word(setup->back.kind));
    bc_json_number(json, object, "aoi_deg", bc_degrees(setup->aoi_rad), 12);
    bc_json_string(json, object, "polarization", bc_polarization_word(setup->polarization));
    bc_json_string(json, object, "aoi_stated", condition_word(report->aoi_stated));
    bc_json_string(json, object, "polarization_stated", condition_word(report->polarization_stated));
    bc_json_bool(json, object, "overruled",
                 (source->R != NULL && source->R->overruled) || (source->T != NULL && source->T->overruled));
    bc_json_number(json, object, "uncertainty_percent", 100.0 * setup->uncertainty, 12);
    bc_json_number(json, object, "wavelength_uncertainty_nm", setup->wavelength_uncertainty_nm, 12);
    bc_json_number(json, object, "scale_uncertainty_percent", 100.0 * setup->scale_uncertainty, 12);
    bc_json_number(json, object, "coverage_factor", setup->coverage_factor, 12);
    bc_json_number(json, object, "confidence", setup->confidence, 12);
}

/* Expanded uncertainties by source. */
static void parts_json(const double *part, double by, const char *name, cJSON *row, bc_json *json)
{
    cJSON *object = bc_json_object(json, row, name);
    for (size_t p = 0; p < BC_PARTS; p++)
        bc_json_number(json, object, bc_part_word((bc_uncertainty_part)p), by * part[p], 12);
}

static void finding_json(const bc_inspect_report *report, const bc_inspect_finding *finding, cJSON *array,
                         bc_json *json)
{
    const bc_callout *callout = finding->callout;
    const double uncertainty = report->setup->coverage_factor * hypot(finding->random, finding->systematic);
    cJSON *row = bc_json_object(json, array, NULL);
    bc_json_string(json, row, "name", callout->name);
    bc_json_string(json, row, "verdict", bc_conformity_word(finding->verdict));
    bc_json_string(json, row, "reason", finding->reason == BC_DECIDED ? NULL : bc_reason_word(finding->reason));
    bc_json_string(json, row, "text", finding->text[0] == '\0' ? NULL : finding->text);
    bc_json_string(json, row, "quantity", bc_quantity_word(callout->quantity));
    bc_json_string(json, row, "statistic", bc_statistic_word(callout));
    bc_json_string(json, row, "weight", bc_weight_word(callout));
    bc_json_string(json, row, "sense", bc_sense_word(callout->sense));
    bc_json_string(json, row, "scope", bc_scope_word(callout->scope));
    bc_amount_json(json, row, "value", callout, finding->value);
    bc_amount_json(json, row, "uncertainty", callout, uncertainty);
    parts_json(finding->part, report->setup->coverage_factor * 100.0, "uncertainty_parts_percent", row, json);
    bc_amount_json(json, row, "limit", callout, callout->limit);
    bc_colour_of_json(json, row, callout);
    bc_json_number(json, row, "limit_used", finding->limit_used, 12);
    bc_json_number(json, row, "probability", finding->probability, 12);
    bc_json_number(json, row, "excess_probability", finding->excess_probability, 12);
    bc_amount_json(json, row, "margin", callout, finding->margin);
    bc_json_number(json, row, "at_nm", callout->statistic == BC_EXTREME ? finding->at_nm : NAN, 12);
    bc_json_number(json, row, "from_nm", callout->from_nm, 12);
    bc_json_number(json, row, "to_nm", callout->to_nm, 12);
    bc_json_number(json, row, "covered_from_nm", finding->covered_from_nm, 12);
    bc_json_number(json, row, "covered_to_nm", finding->covered_to_nm, 12);
    bc_json_number(json, row, "samples", (double)finding->samples, 15);
    bc_json_number(json, row, "predicted_percent", 100.0 * finding->predicted, 12);
    bc_json_number(json, row, "predicted_uncertainty_percent",
                   100.0 * report->setup->coverage_factor * finding->predicted_uncertainty, 12);
    bc_json_bool(json, row, "angle_corrected", finding->angle_corrected);
    bc_json_bool(json, row, "back_removed", finding->back_removed);
    bc_json_bool(json, row, "from_fit", finding->from_fit);
    bc_json_number(json, row, "doubt_nm", finding->doubt_nm, 12);
    bc_json_string(json, row, "judged_on", finding->judged == BC_JUDGED_NOT ? NULL : bc_judged_word(finding->judged));
    bc_json_string(json, row, "points_because",
                   finding->points_because == BC_POINTS_NOT ? NULL : bc_points_word(finding->points_because));
}

static void layers_json(const bc_inspect_result *result, cJSON *into, bc_json *json)
{
    cJSON *array = bc_json_array(json, into, "layers");
    for (size_t i = result->layers; i-- > 0;) {
        const bc_layer_estimate *layer = &result->layer[i];
        cJSON *row = bc_json_object(json, array, NULL);
        bc_json_string(json, row, "material", result->fitted.layer[i].material.name);
        bc_json_number(json, row, "design_nm", layer->design_nm, 15);
        bc_json_number(json, row, "fitted_nm", layer->fitted_nm, 12);
        bc_json_number(json, row, "uncertainty_nm", BC_COVERAGE * layer->sigma_nm, 12);
        parts_json(layer->part_nm, BC_COVERAGE, "uncertainty_parts_nm", row, json);
        bc_json_bool(json, row, "known", layer->known);
        bc_json_bool(json, row, "off", layer->off);
        bc_json_number(json, row, "group", layer->group == SIZE_MAX ? NAN : (double)layer->group, 15);
    }
}

static void groups_json(const bc_inspect_result *result, cJSON *into, bc_json *json)
{
    cJSON *array = bc_json_array(json, into, "groups");
    for (size_t i = 0; i < result->groups; i++) {
        const bc_layer_group *group = &result->group[i];
        cJSON *row = bc_json_object(json, array, NULL);
        cJSON *layers = bc_json_array(json, row, "layers");
        cJSON *weights = bc_json_array(json, row, "weights");
        for (size_t j = group->count; j-- > 0;) {
            bc_json_number(json, layers, NULL, (double)bc_layer_number(result->layers, group->layer[j]), 15);
            bc_json_number(json, weights, NULL, group->weight[j], 15);
        }
        bc_json_number(json, row, "at_nm", group->at_nm, 12);
        bc_json_number(json, row, "design_optical_nm", group->design_optical_nm, 12);
        bc_json_number(json, row, "optical_nm", group->optical_nm, 12);
        bc_json_number(json, row, "uncertainty_nm", BC_COVERAGE * group->sigma_nm, 12);
    }
}

static void materials_json(const bc_inspect_result *result, cJSON *into, bc_json *json)
{
    cJSON *array = bc_json_array(json, into, "materials");
    for (size_t i = 0; i < result->materials; i++) {
        const bc_material_found *material = &result->material[i];
        const bool known = isfinite(material->factor_sigma);
        cJSON *row = bc_json_object(json, array, NULL);
        bc_json_string(json, row, "material", material->material.name);
        bc_json_number(json, row, "factor", known ? material->factor : NAN, 12);
        bc_json_number(json, row, "factor_uncertainty", BC_COVERAGE * material->factor_sigma, 12);
        bc_json_bool(json, row, "off", material->off);
        bc_json_number(json, row, "dn", material->dn, 12);
        bc_json_number(json, row, "dn_uncertainty", BC_COVERAGE * material->dn_sigma, 12);
        bc_json_number(json, row, "tooling_factor", material->tooling_known ? material->tooling : NAN, 15);
        bc_json_number(json, row, "next_tooling_factor", material->next_tooling, 15);
    }
}

static void overlay_json(const bc_overlay *overlay, const bc_noise *noise, const char *name, const char *quantity,
                         cJSON *into, bc_json *json)
{
    cJSON *object = bc_json_object(json, into, name);
    bc_json_string(json, object, "quantity", quantity);
    bc_json_numbers(json, object, "wavelength_nm", overlay->count, overlay->wavelength_nm, 1.0);
    bc_json_numbers(json, object, "measured_percent", overlay->count, overlay->measured, 100.0);
    bc_json_numbers(json, object, "design_percent", overlay->count, overlay->design, 100.0);
    bc_json_numbers(json, object, "fitted_percent", overlay->count, overlay->fitted, 100.0);
    bc_json_number(json, object, "rms_percent", 100.0 * overlay->rms, 12);
    bc_json_number(json, object, "rms_fitted_percent", 100.0 * overlay->rms_fitted, 12);
    bc_json_number(json, object, "worst_percent", 100.0 * overlay->worst, 12);
    bc_json_number(json, object, "worst_nm", overlay->worst_nm, 12);
    bc_json_number(json, object, "offset_percent", 100.0 * overlay->offset, 12);
    bc_json_number(json, object, "noise_percent", 100.0 * noise->rms, 12);
    bc_json_string(json, object, "noise_from", bc_noise_word(noise->source));
}

static void overlays_json(const bc_inspect_result *result, cJSON *into, bc_json *json)
{
    const bool both = result->R.count > 0 && result->T.count > 0;
    if (result->R.count > 0)
        overlay_json(&result->R, &result->noise_R, "overlay", "R", into, json);
    if (result->T.count > 0)
        overlay_json(&result->T, &result->noise_T, both ? "overlay_T" : "overlay", "T", into, json);
}

static void outliers_json(const bc_inspect_result *result, cJSON *into, bc_json *json)
{
    cJSON *array = bc_json_array(json, into, "outliers");
    for (size_t i = 0; i < result->outliers; i++) {
        const bc_outlier *outlier = &result->outlier[i];
        cJSON *row = bc_json_object(json, array, NULL);
        bc_json_string(json, row, "quantity", bc_quantity_word(outlier->quantity));
        bc_json_number(json, row, "wavelength_nm", outlier->wavelength_nm, 12);
        bc_json_number(json, row, "measured_percent", 100.0 * outlier->value, 12);
        bc_json_number(json, row, "away_percent", 100.0 * outlier->away, 12);
    }
}

static void hypotheses_json(const bc_inspect_result *result, cJSON *into, bc_json *json)
{
    static const char *const kind[] = {[BC_AS_SAID] = "as said", [BC_R_FOR_T] = "R for T"};
    cJSON *array = bc_json_array(json, into, "hypotheses");
    for (size_t i = 0; i < result->hypotheses; i++) {
        const bc_hypothesis *hypothesis = &result->hypothesis[i];
        cJSON *row = bc_json_object(json, array, NULL);
        bc_json_string(json, row, "kind", kind[hypothesis->kind]);
        bc_json_number(json, row, "rms_percent", 100.0 * hypothesis->rms, 12);
        bc_json_bool(json, row, "fits", hypothesis->fits);
        bc_json_bool(json, row, "best", i == result->explained_by);
    }
}

static void absorption_json(const bc_absorption *absorption, cJSON *into, bc_json *json)
{
    static const char *const shape[] = {[BC_ABSORPTION_NONE] = "none",
                                        [BC_ABSORPTION_BELOW] = "below",
                                        [BC_ABSORPTION_ABOVE] = "above",
                                        [BC_ABSORPTION_EVERYWHERE] = "everywhere"};
    cJSON *object = bc_json_object(json, into, "absorption");
    bc_json_bool(json, object, "judged", absorption->judged);
    bc_json_string(json, object, "shape", absorption->judged ? shape[absorption->shape] : NULL);
    bc_json_number(json, object, "most_percent", absorption->judged ? 100.0 * absorption->most : NAN, 12);
    bc_json_number(json, object, "most_nm", absorption->judged ? absorption->most_nm : NAN, 12);
    bc_json_number(json, object, "edge_nm", absorption->judged ? absorption->edge_nm : NAN, 12);
}

/* Why the verdict is held; null where it is not. */
static void evidence_json(const bc_inspect_report *report, size_t which, cJSON *into, bc_json *json)
{
    static const char *const kind[] = {[BC_HELD_INSTRUMENT] = "instrument",
                                       [BC_HELD_CONSTANT] = "constant",
                                       [BC_HELD_IMPOSSIBLE] = "impossible values",
                                       [BC_HELD_EMPTY] = "no signal",
                                       [BC_HELD_UNIT] = "unit",
                                       [BC_HELD_WITNESS] = "wrong witness"};
    const bc_evidence *evidence = &report->result[which].evidence;
    const bool held = evidence->held != BC_HELD_NOT;
    bc_json_string(json, into, "held", held ? kind[evidence->held] : NULL);
    bc_json_string(json, into, "held_text", held ? evidence->text : NULL);
    bc_json_bool(json, into, "uncertainty_given", bc_uncertainty_given(report));
}

/* As in the reports of a check: the callout that decides and its substrate. */
static void decisive_json(const bc_inspect_report *report, const bc_inspect_result *result, cJSON *into, bc_json *json)
{
    cJSON *item;
    if (result->count == 0) {
        bc_json_string(json, into, "decisive", NULL);
        return;
    }
    item = bc_json_object(json, into, "decisive");
    bc_json_string(json, item, "name", result->finding[result->decisive].callout->name);
    bc_json_string(json, item, "substrate", report->setup->design->substrate.name);
}

static void gain_json(const bc_next_gain *gain, bool corrected, cJSON *object, bc_json *json)
{
    const double seen = gain->weighed ? 1.0 : NAN;
    bc_json_bool(json, object, "corrected", corrected);
    bc_json_number(json, object, "limit_used_as_it_was", seen * gain->used_as_it_was, 12);
    bc_json_number(json, object, "limit_used_corrected", seen * gain->used_corrected, 12);
    bc_json_number(json, object, "rms_as_it_was_percent", seen * 100.0 * gain->rms_as_it_was, 12);
    bc_json_number(json, object, "rms_corrected_percent", seen * 100.0 * gain->rms_corrected, 12);
    bc_json_number(json, object, "better", seen * gain->better, 12);
}

static void next_json(const bc_inspect_result *result, cJSON *into, bc_json *json)
{
    cJSON *object = bc_json_object(json, into, "next_run");
    bc_json_string(json, object, "because", bc_next_word(result->next_because));
    gain_json(&result->next_gain, result->corrected, object, json);
    gain_json(&result->tooling_gain, result->tooling_corrected, bc_json_object(json, object, "tooling"), json);
}

void bc_witness_json(const bc_inspect_report *report, size_t which, cJSON *into, bc_json *json)
{
    const bc_inspect_result *result = &report->result[which];
    cJSON *array;
    bc_json_string(json, into, "verdict", bc_conformity_word(result->verdict));
    evidence_json(report, which, into, json);
    decisive_json(report, result, into, json);
    bc_json_string(json, into, "quantity", result->R.count > 0 ? "R" : "T");
    bc_json_number(json, into, "rms_percent", 100.0 * result->rms, 12);
    bc_json_number(json, into, "rms_fitted_percent", 100.0 * bc_main_overlay(result)->rms_fitted, 12);
    bc_json_number(json, into, "scale_percent", 100.0 * (result->scale - 1.0), 12);
    bc_json_number(json, into, "scale_uncertainty_percent", BC_COVERAGE * 100.0 * result->scale_sigma, 12);
    bc_cause_json(result, into, json);
    bc_json_bool(json, into, "good_fit", result->good_fit);
    layers_json(result, into, json);
    groups_json(result, into, json);
    materials_json(result, into, json);
    array = bc_json_array(json, into, "callouts");
    for (size_t i = 0; i < result->count; i++)
        finding_json(report, &result->finding[i], array, json);
    overlays_json(result, into, json);
    bc_inspect_colours_json(report, which, into, json);
    bc_json_number(json, into, "outside", (double)result->outside, 15);
    outliers_json(result, into, json);
    hypotheses_json(result, into, json);
    absorption_json(&result->absorption, into, json);
    next_json(result, into, json);
    measured_json(report, which, into, json);
}
