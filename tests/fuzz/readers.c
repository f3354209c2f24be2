/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"
#include <bloomcoat/callout_words.h>
#include <bloomcoat/chamber.h>
#include <bloomcoat/process.h>
#include <bloomcoat/profile.h>
#include <bloomcoat/reference.h>
#include <bloomcoat/report.h>
#include <bloomcoat/request.h>
#include <bloomcoat/stack.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define HALF_TURN 1.5707963267948966

static bool is_between(double value, double one, double other)
{
    return value >= fmin(one, other) && value <= fmax(one, other);
}

static void expect_rows(const bc_dispersion *table)
{
    double nm = 0.0, n = 0.0, k = 0.0;
    for (size_t row = 0; row < bc_dispersion_rows(table); row++) {
        const double nm_before = nm, n_before = n, k_before = k;
        double middle, n_there, k_there;
        bc_dispersion_row(table, row, &nm, &n, &k);
        fuzz_expect(nm > nm_before && isfinite(nm), "rising wavelengths");
        fuzz_expect(n > 0.0 && isfinite(n) && k >= 0.0 && isfinite(k), "n > 0 and k >= 0");
        if (row == 0)
            continue;
        middle = nm_before + (nm - nm_before) / 2.0;
        fuzz_expect(bc_dispersion_index(table, 1, &middle, &n_there, &k_there, NULL) == BC_OK, "an index between rows");
        fuzz_expect(is_between(n_there, n_before, n) && is_between(k_there, k_before, k), "no overshoot");
    }
}

/* What the report writes of a table is read as the same table. */
static void expect_back(const bc_dispersion *table)
{
    bc_text text = {0};
    bc_error error = {0};
    bc_dispersion *again = NULL;
    fuzz_expect(bc_report_material_csv(table, &text, &error) == BC_OK, "a table can be written");
    fuzz_set_file((const uint8_t *)text.data, text.length);
    fuzz_expect(bc_dispersion_read(FUZZ_PATH, "again", &again, &error) == BC_OK, error.message);
    fuzz_expect(bc_dispersion_rows(again) == bc_dispersion_rows(table), "as many rows");
    for (size_t row = 0; row < bc_dispersion_rows(table); row++) {
        double was[3], is[3];
        bc_dispersion_row(table, row, &was[0], &was[1], &was[2]);
        bc_dispersion_row(again, row, &is[0], &is[1], &is[2]);
        fuzz_expect(memcmp(was, is, sizeof was) == 0, "the same figures");
    }
    bc_dispersion_free(again);
    bc_text_clear(&text);
}

void fuzz_dispersion(const uint8_t *bytes, size_t size)
{
    bc_dispersion *table = NULL;
    bc_error error = {0};
    bc_status status;
    fuzz_set_file(bytes, size);
    status = bc_dispersion_read(FUZZ_PATH, "table", &table, &error);
    if (status != BC_OK) {
        fuzz_expect_refusal(status, &error);
        return;
    }
    fuzz_expect(bc_dispersion_rows(table) >= 2, "two rows");
    expect_rows(table);
    if (fuzz_hash(bytes, size) % 4 == 0)
        expect_back(table);
    bc_dispersion_free(table);
}

void fuzz_stack(const uint8_t *bytes, size_t size)
{
    bc_materials *materials = fuzz_materials(bytes, size);
    bc_stack stack = {0};
    bc_error error = {0};
    bc_status status;
    fuzz_set_file(bytes, size);
    status = bc_stack_read(FUZZ_PATH, materials, &stack, &error);
    if (status != BC_OK) {
        fuzz_expect_refusal(status, &error);
    } else {
        fuzz_expect(stack.incident.dispersion != NULL && stack.substrate.dispersion != NULL, "two ends");
        for (size_t layer = 0; layer < stack.layers; layer++)
            fuzz_expect(stack.layer[layer].material.dispersion != NULL && stack.layer[layer].thickness_nm > 0.0 &&
                            isfinite(stack.layer[layer].thickness_nm) &&
                            fabs(bc_dispersion_gradient(stack.layer[layer].material.dispersion)) <= 0.5,
                        "layers with a material and a thickness");
        fuzz_expect(isfinite(bc_stack_total_nm(&stack)), "a thickness in all");
        bc_stack_clear(&stack);
    }
    bc_materials_free(materials);
}

static void expect_callout(const bc_callout *callout)
{
    fuzz_expect(memchr(callout->name, '\0', sizeof callout->name) != NULL &&
                    memchr(callout->substrate, '\0', sizeof callout->substrate) != NULL,
                "names that end");
    fuzz_expect((unsigned)callout->quantity <= BC_A && (unsigned)callout->statistic <= BC_AVERAGE &&
                    (unsigned)callout->sense <= BC_AT_LEAST && (unsigned)callout->polarization <= BC_POL_EACH &&
                    (unsigned)callout->scope <= BC_SCOPE_PART,
                "words that are known");
    fuzz_expect(callout->sense == BC_AT_MOST ? callout->limit > 0.0 : callout->limit < 1.0, "a limit that can be used");
    if (callout->colour != BC_NO_COLOUR)
        fuzz_expect((unsigned)callout->colour <= BC_ELLIPSE_XY && callout->limit <= 2.0 &&
                        fabs(callout->target) <= 2.0 && callout->weight != NULL && callout->sense == BC_AT_MOST &&
                        callout->quantity != BC_A,
                    "a colour that R or T can have");
    if (bc_callout_is_ellipse(callout))
        fuzz_expect(callout->limit == 0.01 && callout->ellipse.half_axis[0] > 0.0 &&
                        callout->ellipse.half_axis[1] > 0.0 && fabs(callout->ellipse.turn_rad) < 3.15,
                    "an ellipse");
    if (callout->colour == BC_NO_COLOUR)
        fuzz_expect(callout->limit >= 0.0 && callout->limit <= 1.0, "a limit from 0 to 100 percent");
    fuzz_expect(callout->weight == NULL || callout->statistic == BC_AVERAGE, "a weight of an average");
    fuzz_expect(callout->cone_rad >= 0.0 && callout->aoi_to_rad + callout->cone_rad < HALF_TURN,
                "a cone of light that meets the surface");
    fuzz_expect(callout->from_nm > 0.0 && callout->from_nm <= callout->to_nm && isfinite(callout->to_nm), "a band");
    fuzz_expect(callout->aoi_from_rad >= 0.0 && callout->aoi_from_rad <= callout->aoi_to_rad &&
                    callout->aoi_to_rad < HALF_TURN,
                "angles below 90 degrees");
    fuzz_expect(callout->line > 0, "a line");
}

static bool have_same_ellipse(const bc_callout *one, const bc_callout *other)
{
    bool same = fabs(one->ellipse.turn_rad - other->ellipse.turn_rad) < 1e-9;
    for (int k = 0; k < 2; k++)
        same = same && fabs(one->ellipse.centre[k] - other->ellipse.centre[k]) < 1e-8 &&
               fabs(one->ellipse.half_axis[k] - other->ellipse.half_axis[k]) < 1e-8;
    return same;
}

static bool have_same_weight(const bc_callout *one, const bc_callout *other)
{
    if (one->weight == NULL || other->weight == NULL)
        return one->weight == other->weight;
    return bc_weight_is_sum(one->weight) == bc_weight_is_sum(other->weight) &&
           strcmp(bc_weight_name(one->weight), bc_weight_name(other->weight)) == 0;
}

/* What the report writes of callouts is read as the same callouts. */
static void expect_callouts_back(const bc_callouts *callouts, unsigned assumptions, bc_materials *materials)
{
    bc_callouts again = {0};
    bc_text file = {0};
    bc_error error = {0};
    fuzz_expect(bc_report_callouts_csv(callouts, assumptions, &file, &error) == BC_OK, "a file");
    fuzz_set_file((const uint8_t *)file.data, file.length);
    fuzz_expect(bc_callouts_read(FUZZ_PATH, materials, &again, &error) == BC_OK, error.message);
    fuzz_expect(again.count == callouts->count, "as many rows");
    for (size_t i = 0; i < again.count; i++) {
        const bc_callout *one = &callouts->callout[i], *other = &again.callout[i];
        fuzz_expect(fabs(one->limit - other->limit) <= 1e-10 * one->limit && one->from_nm == other->from_nm &&
                        one->to_nm == other->to_nm && fabs(one->aoi_from_rad - other->aoi_from_rad) < 1e-9 &&
                        fabs(one->aoi_to_rad - other->aoi_to_rad) < 1e-9 && one->quantity == other->quantity &&
                        one->statistic == other->statistic && one->sense == other->sense &&
                        one->polarization == other->polarization && one->scope == other->scope &&
                        strcmp(one->substrate, other->substrate) == 0,
                    "the same callout");
        fuzz_expect(one->colour == other->colour && one->illuminant == other->illuminant &&
                        one->observer == other->observer && fabs(one->target - other->target) < 1e-12 &&
                        have_same_ellipse(one, other),
                    "the same colour");
        fuzz_expect(have_same_weight(one, other), "the same weight");
        fuzz_expect(fabs(one->cone_rad - other->cone_rad) < 1e-9 && one->cone_weight == other->cone_weight,
                    "the same cone");
    }
    bc_text_clear(&file);
    bc_callouts_clear(&again);
}

void fuzz_callouts(const uint8_t *bytes, size_t size)
{
    bc_materials *materials = fuzz_materials(bytes, size);
    bc_callouts callouts = {0};
    bc_error error = {0};
    bc_status status;
    fuzz_set_file(bytes, size);
    status = bc_callouts_read(FUZZ_PATH, materials, &callouts, &error);
    if (status != BC_OK) {
        fuzz_expect_refusal(status, &error);
    } else {
        fuzz_expect(callouts.count > 0, "one row at least");
        for (size_t row = 0; row < callouts.count; row++)
            expect_callout(&callouts.callout[row]);
        expect_callouts_back(&callouts, 0, materials);
        bc_callouts_clear(&callouts);
    }
    bc_materials_free(materials);
}

static bool is_runs(double runs)
{
    return runs == 0.0 || (runs >= 2.0 && runs <= 1e6);
}

static void expect_process_row(const bc_process_row *row)
{
    fuzz_expect(memchr(row->material, '\0', sizeof row->material) != NULL && row->material[0] != '\0', "a material");
    fuzz_expect(row->has_rate ? row->rate_nm_per_s > 0.0 && isfinite(row->rate_nm_per_s) : row->rate_nm_per_s == 0.0,
                "a rate above 0");
    fuzz_expect(row->tooling > 0.01 && isfinite(row->tooling), "a tooling above 0.01");
    fuzz_expect(row->thickness_sigma >= 0.0 && row->thickness_sigma <= 1.0, "a sigma from 0 to 1");
    fuzz_expect(fabs(row->run_thickness_sigma) <= 0.5, "a bias within a half");
    fuzz_expect(row->index_sigma >= 0.0 && row->index_sigma <= 1.0, "an index sigma from 0 to 1");
    fuzz_expect(fabs(row->index_gradient) <= 0.5, "an index gradient within a half");
    fuzz_expect(row->minimum_nm >= 0.0 && isfinite(row->minimum_nm), "a minimum");
    fuzz_expect(is_runs(row->runs.counted) && is_runs(row->runs.tooling) && is_runs(row->runs.thickness_sigma) &&
                    is_runs(row->runs.run_thickness_sigma) && is_runs(row->runs.index_sigma),
                "no runs, or 2 and more");
}

/* What is read of a text is a callout that a file could hold, and reads back from the file that is written of it. */
void fuzz_drawing(const uint8_t *bytes, size_t size)
{
    bc_callouts callouts = {0};
    bc_error error = {0};
    unsigned assumptions = 0;
    bc_materials *materials = NULL;
    char *text = malloc(size + 1);
    fuzz_expect(text != NULL, "memory");
    memcpy(text, bytes, size);
    text[size] = '\0';
    if (bc_callouts_parse(text, &callouts, &assumptions, &error) != BC_OK) {
        char *excerpt = strstr(error.message, "\n    ");
        fuzz_expect(callouts.count == 0 && error.status == BC_ERROR_INPUT,
                    "a refusal of the input that leaves nothing");
        fuzz_expect(excerpt == NULL || strrchr(error.message, '^') != NULL, "a caret below the text");
    } else {
        fuzz_expect(callouts.count > 0, "a callout");
        fuzz_expect(bc_materials_alloc(&materials, NULL) == BC_OK, "memory");
        expect_callouts_back(&callouts, assumptions, materials);
    }
    bc_callouts_clear(&callouts);
    bc_materials_free(materials);
    free(text);
}

void fuzz_process(const uint8_t *bytes, size_t size)
{
    bc_materials *materials = fuzz_materials(bytes, size);
    bc_process process = {0};
    bc_error error = {0};
    bc_status status;
    fuzz_set_file(bytes, size);
    status = bc_process_read(FUZZ_PATH, materials, &process, &error);
    if (status != BC_OK) {
        fuzz_expect_refusal(status, &error);
    } else {
        for (size_t row = 0; row < process.rows; row++) {
            const bc_process_row resolved = bc_process_for(&process, process.row[row].material);
            expect_process_row(&process.row[row]);
            expect_process_row(&resolved);
        }
        bc_process_clear(&process);
    }
    bc_materials_free(materials);
}

void fuzz_chamber(const uint8_t *bytes, size_t size)
{
    bc_chamber chamber = {0};
    bc_error error = {0};
    bc_status status;
    fuzz_set_file(bytes, size);
    status = bc_chamber_read(FUZZ_PATH, &chamber, &error);
    if (status != BC_OK) {
        fuzz_expect_refusal(status, &error);
        return;
    }
    fuzz_expect(!chamber.has_load_diameter || chamber.load_diameter_mm > 0.0, "a load diameter above 0");
    fuzz_expect(chamber.part_pitch_extra_mm >= 0.0 && chamber.pump_down_min >= 0.0 && chamber.heat_min >= 0.0 &&
                    chamber.cool_vent_min >= 0.0 && chamber.between_layers_s >= 0.0,
                "nothing below 0");
    fuzz_expect(isfinite(chamber.load_diameter_mm + chamber.part_pitch_extra_mm + chamber.pump_down_min +
                         chamber.heat_min + chamber.cool_vent_min + chamber.between_layers_s),
                "finite figures");
}

void fuzz_request(const uint8_t *bytes, size_t size)
{
    bc_request request;
    bc_error error = {0};
    bc_status status;
    fuzz_set_file(bytes, size);
    status = bc_request_read(FUZZ_PATH, &request, &error);
    if (status != BC_OK) {
        fuzz_expect_refusal(status, &error);
        return;
    }
    fuzz_expect(request.surfaces <= BC_REQUEST_SURFACES && request.surfaces <= request.entries, "surfaces in bounds");
    for (size_t i = 0; i < request.entries; i++) {
        const bc_request_entry *entry = &request.entry[i];
        fuzz_expect(entry->value[0] != '\0' && entry->line > 0, "a value from a line");
        fuzz_expect(entry->surface <= request.surfaces, "a surface that there is");
        fuzz_expect(strcmp(entry->key, "quantity") != 0 || strtol(entry->value, NULL, 10) > 0, "a quantity above 0");
    }
    bc_request_clear(&request);
}

void fuzz_profile(const uint8_t *bytes, size_t size)
{
    bc_profile profile = {0};
    bc_error error = {0};
    bc_status status;
    fuzz_set_file(bytes, size);
    status = bc_profile_read(FUZZ_PATH, &profile, &error);
    if (status != BC_OK) {
        fuzz_expect_refusal(status, &error);
        return;
    }
    fuzz_expect(profile.rows >= 2 && profile.at[0] == 0.0, "two rows, from the vertex");
    for (size_t row = 1; row < profile.rows; row++) {
        const double middle = profile.at[row - 1] + (profile.at[row] - profile.at[row - 1]) / 2.0;
        double factor;
        fuzz_expect(profile.at[row] > profile.at[row - 1] && isfinite(profile.at[row]), "from the vertex outwards");
        fuzz_expect(profile.percent[row] > 0.0 && isfinite(profile.percent[row]), "a thickness");
        fuzz_expect(bc_profile_factor(&profile, middle, &factor, &error) == BC_OK, "a factor between rows");
        fuzz_expect(factor > 0.0 && isfinite(factor), "a factor above 0");
    }
    bc_profile_clear(&profile);
}

void fuzz_reference(const uint8_t *bytes, size_t size)
{
    bc_reference reference = {0};
    bc_error error = {0};
    bc_status status;
    fuzz_set_file(bytes, size);
    status = bc_reference_read(FUZZ_PATH, &reference, &error);
    if (status != BC_OK) {
        fuzz_expect_refusal(status, &error);
        return;
    }
    fuzz_expect(reference.count >= 2 && reference.path != NULL, "two rows of a file");
    fuzz_expect(reference.quantity == BC_R || reference.quantity == BC_T, "R or T");
    for (size_t row = 0; row < reference.count; row++) {
        const double *nm = reference.wavelength_nm, *value = reference.value;
        fuzz_expect(row == 0 || nm[row] > nm[row - 1], "rising wavelengths");
        fuzz_expect(value[row] > 0.0 && value[row] <= 1.0, "a value from 0 to 100 percent");
        fuzz_expect(reference.uncertainty == NULL ||
                        (reference.uncertainty[row] >= 0.0 && reference.uncertainty[row] <= 1.0),
                    "an uncertainty from 0 to 100 percent");
        if (row == 0)
            continue;
        const double middle = nm[row - 1] + (nm[row] - nm[row - 1]) / 2.0;
        double between, uncertainty;
        fuzz_expect(bc_reference_at(&reference, 1, &middle, &between, &uncertainty, &error) == BC_OK,
                    "a value between rows");
        fuzz_expect(is_between(between, value[row - 1] - 1e-12, value[row] + 1e-12) ||
                        is_between(between, value[row] - 1e-12, value[row - 1] + 1e-12),
                    "no overshoot");
        fuzz_expect(uncertainty >= 0.0 && uncertainty <= 1.0, "an uncertainty between rows");
    }
    bc_reference_clear(&reference);
}
