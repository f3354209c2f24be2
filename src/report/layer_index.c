/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/json.h"
#include "internal/numbers.h"
#include "internal/table.h"
#include "print.h"
#include <bloomcoat/version.h>
#include <math.h>
#include <string.h>

#define SHOWN_ROWS 9
#define CLOSE      10.0 /* in QAICc: exp(-CLOSE / 2) is below 1 % */
#define STRONG     0.9  /* a correlation worth a sentence */

static const char *const n_word[BC_N_MODELS] = {
    [BC_N_CONSTANT] = "constant",
    [BC_N_CAUCHY_2] = "Cauchy, two terms",
    [BC_N_CAUCHY_3] = "Cauchy, three terms",
    [BC_N_SELLMEIER_1] = "Sellmeier, one term",
    [BC_N_SELLMEIER_2] = "Sellmeier, two terms",
};
static const char *const k_word[BC_K_MODELS] = {[BC_K_NONE] = "no absorption",
                                                [BC_K_EXPONENTIAL] = "exponential edge",
                                                [BC_K_POWER] = "power of the wavelength",
                                                [BC_K_BENT] = "exponential edge, bent"};
static const char *const shape_word[BC_LAYER_SHAPES] = {
    [BC_LAYER_HOMOGENEOUS] = "homogeneous", [BC_LAYER_GRADED] = "graded", [BC_LAYER_ROUGH] = "rough top"};

/* The two arguments of "%c %g". */
#define SIGNED(value) (value) < 0.0 ? '-' : '+', fabs(value)

static void formula_words(const bc_layer_index_result *result, bc_text *out)
{
    const double *c = result->n_coefficient, *k = result->k_coefficient;
    switch (result->chosen.n) {
    case BC_N_CONSTANT:
        bc_text_add(out, "n = %.6g", c[0]);
        break;
    case BC_N_CAUCHY_2:
        bc_text_add(out, "n = %.7g %c %.6g / x^2", c[0], SIGNED(c[1]));
        break;
    case BC_N_CAUCHY_3:
        bc_text_add(out, "n = %.7g %c %.6g / x^2 %c %.6g / x^4", c[0], SIGNED(c[1]), SIGNED(c[2]));
        break;
    case BC_N_SELLMEIER_1:
        bc_text_add(out, "n^2 = 1 + %.7g x^2 / (x^2 - %.6g^2)", c[0], c[1]);
        break;
    case BC_N_SELLMEIER_2:
    case BC_N_MODELS:
        bc_text_add(out, "n^2 = 1 + %.7g x^2 / (x^2 - %.6g^2) + %.6g x^2 / (x^2 - %.6g^2)", c[0], c[1], c[2], c[3]);
        break;
    }
    switch (result->chosen.k) {
    case BC_K_NONE:
    case BC_K_MODELS:
        bc_text_add(out, ", k = 0");
        break;
    case BC_K_EXPONENTIAL:
        bc_text_add(out, ", k = %.4g exp(%.4g (1/x - 1/%.4g))", k[0], k[1], k[2]);
        break;
    case BC_K_BENT:
        bc_text_add(out, ", k = %.4g exp(%.4g u %c %.4g u^2), u = 1/x - 1/%.4g", k[0], k[1], SIGNED(k[3]), k[2]);
        break;
    case BC_K_POWER:
        bc_text_add(out, ", k = %.4g (%.4g / x)^%.4g", k[0], k[2], k[1]);
        break;
    }
    bc_text_add(out, ", x in um");
}

static double expanded(const bc_layer_index_report *report, double sigma)
{
    return report->setup->coverage_factor * sigma;
}

static void scans_text(const bc_layer_index_report *report, bc_text *out)
{
    const bc_layer_index_result *result = report->result;
    for (size_t c = 0; c < result->curves; c++) {
        const bc_layer_curve *curve = &result->curve[c];
        const bc_layer_scan *scan = &report->setup->scan[curve->scan];
        bc_text_add(out, "  %s at %g deg, %s, %zu points from %g to %g nm: ", bc_quantity_word(curve->quantity),
                    bc_degrees(scan->aoi_rad), bc_polarization_word(scan->polarization), curve->count,
                    curve->wavelength_nm[0], curve->wavelength_nm[curve->count - 1]);
        bc_text_add_plain(out, report->path[curve->scan]);
        bc_text_add(out, "\n    on %s%s\n", scan->substrate.name,
                    scan->back == BC_BACK_NONE ? ", back not seen" : ", back uncoated and seen");
    }
}

static void thickness_text(const bc_layer_index_report *report, bc_text *out)
{
    const bc_layer_index_result *result = report->result;
    for (size_t p = 0; p < result->pieces; p++) {
        bc_text_add(out, "Thickness");
        if (result->pieces > 1)
            bc_text_add(out, " of piece %zu", p + 1);
        bc_text_add(out, ": %.2f nm +- %.2f (k = %g)\n", result->thickness_nm[p],
                    expanded(report, result->thickness_sigma_nm[p]), report->setup->coverage_factor);
    }
}

static void rows_text(const bc_layer_index_report *report, bc_text *out)
{
    const bc_layer_index_result *result = report->result;
    bc_table table = {.columns = 5, .right = {true, true, true, true, true}, .indent = 2};
    static const char *const heading[] = {"nm", "n", "+-", "k", "+-"};
    bc_table_row(&table);
    for (size_t column = 0; column < table.columns; column++)
        bc_table_cell(&table, column, "%s", heading[column]);
    for (size_t i = 0; i < SHOWN_ROWS; i++) {
        const size_t row = i * (result->count - 1) / (SHOWN_ROWS - 1);
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%.1f", result->wavelength_nm[row]);
        bc_table_cell(&table, 1, "%.4f", result->n[row]);
        bc_table_cell(&table, 2, "%.4f", expanded(report, result->n_sigma[row]));
        bc_table_cell(&table, 3, "%.2g", result->k[row]);
        bc_table_cell(&table, 4, "%.1g", expanded(report, result->k_sigma[row]));
    }
    bc_table_write(&table, out);
}

static void model_text(const bc_layer_index_result *result, bc_text *words)
{
    const double next = result->next_model.criterion - result->chosen.criterion;
    bc_text_add(words, "Model: %s; %s. ", n_word[result->chosen.n], k_word[result->chosen.k]);
    formula_words(result, words);
    bc_text_add(words, ".");
    if (!isfinite(result->next_model.criterion))
        return;
    bc_text_add(words, " Next: %s; %s (criterion %.1f higher%s).", n_word[result->next_model.n],
                k_word[result->next_model.k], next, next < CLOSE ? "; the scans hardly prefer one" : "");
}

static void shape_text(const bc_layer_index_report *report, bc_text *words)
{
    const bc_layer_index_result *result = report->result;
    const double gain = result->homogeneous_criterion - result->chosen.criterion;
    if (result->chosen.shape == BC_LAYER_GRADED)
        bc_text_add(words,
                    "The layer is inhomogeneous: its index %s by %.2f %% +- %.2f %% from the substrate to the top "
                    "(criterion %.1f lower than that of a homogeneous layer). The table has the average.",
                    result->gradient > 0.0 ? "rises" : "falls", 100.0 * fabs(result->gradient),
                    100.0 * expanded(report, result->gradient_sigma), gain);
    else if (result->chosen.shape == BC_LAYER_ROUGH)
        bc_text_add(words,
                    "The layer has a rough top: a sheet of %.1f nm +- %.1f of half its density (criterion %.1f lower "
                    "than that of a smooth layer).",
                    result->rough_nm, expanded(report, result->rough_sigma_nm), gain);
    else
        bc_text_add(words, "Neither a gradient of the index nor a rough top is seen.");
}

static void order_text(const bc_layer_index_result *result, bc_text *words)
{
    const double gap = result->other_criterion - result->chosen.criterion;
    bc_text_add(words, "Fringes within the range: %.2f. ", result->fringes);
    if (isnan(result->other_thickness_nm))
        bc_text_add(words, "No other order of interference fits at all.");
    else if (gap < CLOSE)
        bc_text_add(words,
                    "CAUTION: %.1f nm fits nearly as well (criterion %.1f higher). The order of interference is not "
                    "certain: measure a wider range, another angle, or T beside R.",
                    result->other_thickness_nm, gap);
    else
        bc_text_add(words, "The next order of interference, %.1f nm, is excluded (criterion %.3g higher).",
                    result->other_thickness_nm, gap);
}

static void knowledge_text(const bc_layer_index_result *result, bc_text *words)
{
    if (result->fringes < 1.0)
        bc_text_add(words,
                    "There is less than one fringe within the range: thickness and index are known mainly by their "
                    "product. A thicker layer or a wider range separates them. ");
    if (fabs(result->correlation) > STRONG)
        bc_text_add(words,
                    "Thickness and index are bound together (correlation %.2f): a layer that is thicker and lower in "
                    "index fits almost as well. Measure T beside R, or a second thickness, to separate them.",
                    result->correlation);
}

/* Internal absorption 4 pi k d / wavelength as large as the noise of one point. */
static void absorption_text(const bc_layer_index_result *result, bc_text *words)
{
    const size_t last = result->count - 1;
    const double seen = result->noise * result->wavelength_nm[last / 2] / (4.0 * M_PI * result->thickness_nm[0]);
    if (result->chosen.k != BC_K_NONE && result->k[last] < seen)
        bc_text_add(words,
                    "A k below about %.0e does not rise above the noise of a point; there the table follows the model.",
                    seen);
}

static void residual_text(const bc_layer_index_result *result, bc_text *words)
{
    bc_text_add(words, "Residual: %.4f %% rms, %.2f times the noise (%.4f %%).", 100.0 * result->residual,
                result->misfit, 100.0 * result->noise);
    if (result->misfit > 2.0)
        bc_text_add(words,
                    " That is more than noise: the layer, the substrate's table or the instrument is not as modelled. "
                    "The uncertainties are enlarged accordingly.");
}

bc_status bc_report_layer_index_text(const bc_layer_index_report *report, bc_text *out, bc_error *error)
{
    const bc_layer_index_result *result = report->result;
    bc_text words[7] = {{0}};
    bc_text_add(out, "Index of one layer\n\n");
    scans_text(report, out);
    bc_text_add(out, "\n");
    thickness_text(report, out);
    bc_text_add(out, "\n");
    rows_text(report, out);
    bc_text_add(out, "\n");
    model_text(result, &words[0]);
    shape_text(report, &words[1]);
    order_text(result, &words[2]);
    knowledge_text(result, &words[3]);
    residual_text(result, &words[4]);
    absorption_text(result, &words[5]);
    bc_text_add(&words[6],
                "For the process file: the index of this layer is known to %.4f (one standard deviation, in the "
                "middle of the range). index_sigma is how much it differs from run to run: inspect several runs.",
                result->n_sigma[result->count / 2]);
    for (size_t w = 0; w < sizeof words / sizeof *words; w++) {
        const bool any = words[w].data != NULL;
        bc_text_wrap_gathered(out, 0, &words[w]);
        if (any)
            bc_text_add(out, "\n");
    }
    bc_text_add(out, "The table holds for layers made as this one was, from %.1f to %.1f nm.\n",
                result->wavelength_nm[0], result->wavelength_nm[result->count - 1]);
    return bc_text_end(out, error);
}

static void model_json(bc_json *json, cJSON *parent, const char *name, const bc_layer_model *model)
{
    cJSON *object = bc_json_object(json, parent, name);
    bc_json_string(json, object, "n_model", n_word[model->n]);
    bc_json_string(json, object, "k_model", k_word[model->k]);
    bc_json_string(json, object, "shape", shape_word[model->shape]);
    bc_json_number(json, object, "parameters", (double)model->parameters, 15);
    bc_json_number(json, object, "criterion", model->criterion, 12);
    bc_json_number(json, object, "thickness_nm", model->thickness_nm, 12);
}

static void scans_json(const bc_layer_index_report *report, bc_json *json)
{
    cJSON *scans = bc_json_array(json, json->root, "scans");
    for (size_t c = 0; c < report->result->curves; c++) {
        const bc_layer_curve *curve = &report->result->curve[c];
        const bc_layer_scan *scan = &report->setup->scan[curve->scan];
        cJSON *object = bc_json_object(json, scans, NULL);
        bc_json_string(json, object, "measured_file", report->path[curve->scan]);
        bc_json_string(json, object, "quantity", bc_quantity_word(curve->quantity));
        bc_json_number(json, object, "aoi_deg", bc_degrees(scan->aoi_rad), 12);
        bc_json_string(json, object, "polarization", bc_polarization_word(scan->polarization));
        bc_json_string(json, object, "substrate", scan->substrate.name);
        bc_json_number(json, object, "piece", (double)(scan->piece + 1), 15);
        bc_json_number(json, object, "points", (double)curve->count, 15);
    }
}

bc_status bc_report_layer_index_json(const bc_layer_index_report *report, bc_text *out, bc_error *error)
{
    const bc_layer_index_result *result = report->result;
    bc_text formula = {0};
    bc_json json;
    cJSON *rows, *pieces;
    bc_json_open(&json);
    scans_json(report, &json);
    bc_json_number(&json, json.root, "coverage_factor", report->setup->coverage_factor, 12);
    pieces = bc_json_array(&json, json.root, "pieces");
    for (size_t p = 0; p < result->pieces; p++) {
        cJSON *object = bc_json_object(&json, pieces, NULL);
        bc_json_number(&json, object, "thickness_nm", result->thickness_nm[p], 12);
        bc_json_number(&json, object, "thickness_uncertainty_nm", expanded(report, result->thickness_sigma_nm[p]), 6);
    }
    model_json(&json, json.root, "model", &result->chosen);
    model_json(&json, json.root, "next_model", &result->next_model);
    formula_words(result, &formula);
    bc_json_string(&json, json.root, "formula", formula.data);
    bc_text_clear(&formula);
    bc_json_number(&json, json.root, "gradient_percent", 100.0 * result->gradient, 9);
    bc_json_number(&json, json.root, "gradient_uncertainty_percent", 100.0 * expanded(report, result->gradient_sigma),
                   6);
    bc_json_number(&json, json.root, "rough_top_nm", result->rough_nm, 9);
    bc_json_number(&json, json.root, "rough_top_uncertainty_nm", expanded(report, result->rough_sigma_nm), 6);
    bc_json_number(&json, json.root, "other_thickness_nm", result->other_thickness_nm, 9);
    bc_json_number(&json, json.root, "other_criterion", result->other_criterion, 12);
    bc_json_number(&json, json.root, "fringes", result->fringes, 6);
    bc_json_number(&json, json.root, "correlation", result->correlation, 6);
    bc_json_number(&json, json.root, "residual_percent", 100.0 * result->residual, 9);
    bc_json_number(&json, json.root, "noise_percent", 100.0 * result->noise, 9);
    bc_json_number(&json, json.root, "misfit", result->misfit, 6);
    rows = bc_json_array(&json, json.root, "covariance");
    for (size_t a = 0; a < BC_LAYER_COVARIANCE && !json.failed; a++) {
        cJSON *object = bc_json_object(&json, rows, NULL);
        bc_json_numbers(&json, object, "row", BC_LAYER_COVARIANCE, result->covariance[a], 1.0);
    }
    rows = bc_json_array(&json, json.root, "table_rows");
    for (size_t i = 0; i < result->count && !json.failed; i++) {
        cJSON *object = bc_json_object(&json, rows, NULL);
        bc_json_number(&json, object, "wavelength_nm", result->wavelength_nm[i], 12);
        bc_json_number(&json, object, "n", result->n[i], 12);
        bc_json_number(&json, object, "n_uncertainty", expanded(report, result->n_sigma[i]), 6);
        bc_json_number(&json, object, "k", result->k[i], 12);
        bc_json_number(&json, object, "k_uncertainty", expanded(report, result->k_sigma[i]), 6);
    }
    return bc_json_close(&json, out, error);
}

/* In comments: the table itself is read for n and k. */
static void add_covariance(const bc_layer_index_result *result, bc_text *out)
{
    bc_text_add(out, "# covariance (standard, k = 1), a row each for the thickness in nm, then n, then k at");
    for (size_t p = 0; p < BC_LAYER_POINTS; p++)
        bc_text_add(out, "%s %.6g", p == 0 ? "" : ",", result->wavelength_nm[bc_layer_point(result, p)]);
    bc_text_add(out, " nm:\n");
    for (size_t a = 0; a < BC_LAYER_COVARIANCE; a++) {
        bc_text_add(out, "#");
        for (size_t b = 0; b < BC_LAYER_COVARIANCE; b++)
            bc_text_add(out, " %.3g", result->covariance[a][b]);
        bc_text_add(out, "\n");
    }
}

bc_status bc_report_layer_index_table(const bc_layer_index_report *report, bc_text *out, bc_error *error)
{
    const bc_layer_index_result *result = report->result;
    const size_t last = result->count - 1;
    bc_text_add(out, "# kind: layer\n# source: measured by the shop (");
    for (size_t c = 0; c < result->curves; c++) {
        bc_text_add(out, "%s%s ", c > 0 ? ", " : "", bc_quantity_word(result->curve[c].quantity));
        bc_text_add_plain(out, report->path[result->curve[c].scan]);
    }
    bc_text_add(out, "), fitted by bloomcoat index %s\n# range: %.6g to %.6g nm, as measured\n# formula: ", BC_VERSION,
                result->wavelength_nm[0], result->wavelength_nm[last]);
    formula_words(result, out);
    bc_text_add(out, "\n# note: one layer of %.2f nm +- %.2f on %s", result->thickness_nm[0],
                expanded(report, result->thickness_sigma_nm[0]), report->setup->scan[0].substrate.name);
    if (result->chosen.shape == BC_LAYER_GRADED)
        bc_text_add(out, ", graded: n at the top %+.2f %% against n at the substrate; the table has the average",
                    100.0 * result->gradient);
    bc_text_add(out, "\n# uncertainty: expanded, k = %g: n", report->setup->coverage_factor);
    for (size_t i = 0; i <= last; i += last / 4)
        bc_text_add(out, "%s +-%.2g at %.6g nm", i > 0 ? "," : "", expanded(report, result->n_sigma[i]),
                    result->wavelength_nm[i]);
    bc_text_add(out, "; k");
    for (size_t i = 0; i <= last; i += last / 4)
        bc_text_add(out, "%s +-%.1g at %.6g nm", i > 0 ? "," : "", expanded(report, result->k_sigma[i]),
                    result->wavelength_nm[i]);
    bc_text_add(out, "; correlation of n with thickness %.3f\n", result->correlation);
    add_covariance(result, out);
    bc_text_add(out, "wavelength_nm,n,k\n");
    for (size_t i = 0; i <= last; i++)
        bc_text_add(out, "%.4f,%.6f,%.4g\n", result->wavelength_nm[i], result->n[i], result->k[i]);
    return bc_text_end(out, error);
}
