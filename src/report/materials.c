/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/json.h"
#include "internal/numbers.h"
#include "internal/table.h"
#include "number.h"
#include <bloomcoat/weight.h>

#define SHOWN_ROWS 12

/* n and k at `wanted_nm`, or at the middle of the table when it does not reach there. */
typedef struct index_at {
    double nm, n, k;
} index_at;

static index_at look_up(const bc_dispersion *material, double wanted_nm)
{
    index_at at = {wanted_nm, 0.0, 0.0};
    double from_nm, to_nm;
    bc_dispersion_range(material, &from_nm, &to_nm);
    if (wanted_nm < from_nm || wanted_nm > to_nm)
        at.nm = (from_nm + to_nm) / 2.0;
    (void)bc_dispersion_index(material, 1, &at.nm, &at.n, &at.k, NULL); /* inside the range it cannot fail */
    return at;
}

/* The notes of a table in the order they are shown. */
static const char *const note_keys[] = {"kind",    "source",    "doi",           "formula",      "note",
                                        "caution", "process_c", "max_process_c", "density_g_cm3"};
#define NOTE_KEYS (sizeof note_keys / sizeof note_keys[0])

static const char *or_dash(const char *note)
{
    return note == NULL ? "-" : note;
}

static void add_glasses(size_t glasses, const char *const *glass, bc_text *out)
{
    bc_text words = {0};
    if (glasses == 0)
        return;
    bc_text_add(out, "\n%zu optical glasses by six-digit code, from published coefficients:\n", glasses);
    for (size_t i = 0; i < glasses; i++)
        bc_text_add(&words, "%s%s", i == 0 ? "" : " ", glass[i]);
    bc_text_wrap_gathered(out, 2, &words);
    bc_text_add(out, "Of any other code the index is estimated from nd and Vd, and that is said.\n");
}

static void add_weight(bc_text *words, const bc_weight *weight)
{
    double from_nm = 0.0, to_nm = 0.0;
    bc_weight_range(weight, &from_nm, &to_nm);
    bc_text_add(words, "%s%s %g..%g %s", words->length == 0 ? "" : ", ", bc_weight_name(weight), from_nm, to_nm,
                bc_weight_is_of_angle(weight) ? "deg" : "nm");
}

static void add_weights(size_t weights, const bc_weight *const *weight, bc_text *out)
{
    bc_text words = {0};
    const bc_weight *shipped;
    for (size_t i = 0; (shipped = bc_weight_listed(i)) != NULL; i++)
        add_weight(&words, shipped);
    bc_text_add(out, "\nWeights that come with the program, for the column 'weight' of callouts:\n");
    bc_text_wrap_gathered(out, 2, &words);
    for (size_t i = 0; i < weights; i++)
        add_weight(&words, weight[i]);
    if (weights > 0)
        bc_text_add(out, "Weights in the folders of tables:\n");
    bc_text_wrap_gathered(out, 2, &words);
    bc_text_add(out, "A product is written D65*photopic; NAME.csv with a column weight is one, too.\n");
}

static void add_all_sources(size_t count, const bc_dispersion *const *material, bc_text *out)
{
    bc_text_add(out, "\nSources:\n");
    for (size_t i = 0; i < count; i++) {
        const char *name = bc_dispersion_name(material[i]);
        bc_text_add(out, "  %s: ", name);
        bc_text_wrap(out, 2 + bc_text_width(name) + 2, 4, or_dash(bc_dispersion_note(material[i], "source")));
    }
}

bc_status bc_report_materials_text(size_t count, const bc_dispersion *const *material, size_t glasses,
                                   const char *const *glass, size_t weights, const bc_weight *const *weight,
                                   double at_nm, bc_text *out, bc_error *error)
{
    static const char *const heading[] = {"name", "kind", "range nm", "n", "at nm"};
    bc_table table = {.columns = 5, .right = {false, false, true, true, true}};
    bc_table_row(&table);
    for (size_t column = 0; column < table.columns; column++)
        bc_table_cell(&table, column, "%s", heading[column]);
    for (size_t i = 0; i < count; i++) {
        const index_at at = look_up(material[i], at_nm);
        double from_nm, to_nm;
        bc_dispersion_range(material[i], &from_nm, &to_nm);
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%s", bc_dispersion_name(material[i]));
        bc_table_cell(&table, 1, "%s", or_dash(bc_dispersion_note(material[i], "kind")));
        bc_table_cell(&table, 2, "%g..%g", from_nm, to_nm);
        bc_table_cell(&table, 3, "%.4f", at.n);
        bc_table_cell(&table, 4, "%g", at.nm);
    }
    bc_table_write(&table, out);
    bc_text_add(out,
                "\nn is given at %g nm, or at the middle of a table that does not reach there.\n"
                "One material by its name shows its notes and rows.\n",
                at_nm);
    add_all_sources(count, material, out);
    add_glasses(glasses, glass, out);
    add_weights(weights, weight, out);
    return bc_text_end(out, error);
}

static void add_head(bc_json *json, cJSON *object, const bc_dispersion *material, double at_nm)
{
    const index_at at = look_up(material, at_nm);
    double from_nm, to_nm;
    bc_dispersion_range(material, &from_nm, &to_nm);
    bc_json_string(json, object, "name", bc_dispersion_name(material));
    bc_json_bool(json, object, "constant", bc_dispersion_is_constant(material));
    for (size_t i = 0; i < NOTE_KEYS; i++)
        bc_json_string(json, object, note_keys[i], bc_dispersion_note(material, note_keys[i]));
    bc_json_string(json, object, "table", bc_dispersion_path(material));
    bc_json_number(json, object, "from_nm", from_nm, 12);
    bc_json_number(json, object, "to_nm", to_nm, 12);
    bc_json_number(json, object, "rows", (double)bc_dispersion_rows(material), 12);
    bc_json_number(json, object, "at_nm", at.nm, 12);
    bc_json_number(json, object, "n", at.n, 12);
    bc_json_number(json, object, "k", at.k, 12);
}

bc_status bc_report_materials_json(size_t count, const bc_dispersion *const *material, size_t glasses,
                                   const char *const *glass, size_t weights, const bc_weight *const *weight,
                                   double at_nm, bc_text *out, bc_error *error)
{
    const bc_weight *shipped;
    bc_json json;
    cJSON *array;
    bc_json_open(&json);
    array = bc_json_array(&json, json.root, "glasses");
    for (size_t i = 0; i < glasses; i++)
        bc_json_string(&json, array, NULL, glass[i]);
    array = bc_json_array(&json, json.root, "weights");
    for (size_t i = 0; (shipped = bc_weight_listed(i)) != NULL; i++)
        bc_json_string(&json, array, NULL, bc_weight_name(shipped));
    for (size_t i = 0; i < weights; i++)
        bc_json_string(&json, array, NULL, bc_weight_name(weight[i]));
    array = bc_json_array(&json, json.root, "materials");
    for (size_t i = 0; i < count; i++)
        add_head(&json, bc_json_object(&json, array, NULL), material[i], at_nm);
    return bc_json_close(&json, out, error);
}

bc_status bc_report_material_json(const bc_dispersion *material, double at_nm, bc_text *out, bc_error *error)
{
    bc_json json;
    cJSON *rows;
    bc_json_open(&json);
    add_head(&json, json.root, material, at_nm);
    rows = bc_json_array(&json, json.root, "table_rows");
    for (size_t row = 0; row < bc_dispersion_rows(material) && !json.failed; row++) {
        cJSON *object = bc_json_object(&json, rows, NULL);
        double wavelength_nm, n, k;
        bc_dispersion_row(material, row, &wavelength_nm, &n, &k);
        bc_json_number(&json, object, "wavelength_nm", wavelength_nm, 15);
        bc_json_number(&json, object, "n", n, 15);
        bc_json_number(&json, object, "k", k, 15);
    }
    return bc_json_close(&json, out, error);
}

static void rows_text(const bc_dispersion *material, bc_text *out)
{
    bc_table table = {.columns = 3, .right = {true, true, true}, .indent = 2};
    const size_t rows = bc_dispersion_rows(material);
    const size_t shown = rows < SHOWN_ROWS ? rows : SHOWN_ROWS;
    bc_table_row(&table);
    bc_table_cell(&table, 0, "wavelength_nm");
    bc_table_cell(&table, 1, "n");
    bc_table_cell(&table, 2, "k");
    for (size_t i = 0; i < shown; i++) {
        double wavelength_nm, n, k;
        bc_dispersion_row(material, shown < 2 ? 0 : i * (rows - 1) / (shown - 1), &wavelength_nm, &n, &k);
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%.10g", wavelength_nm);
        bc_table_cell(&table, 1, "%.6f", n);
        bc_table_cell(&table, 2, "%.4g", k);
    }
    bc_text_add(out, "\n%zu of its %zu rows:\n", shown, rows);
    bc_table_write(&table, out);
}

static void note_text(const char *key, const char *note, bc_text *out)
{
    if (note == NULL)
        return;
    bc_text_add(out, "  %-9s ", key);
    bc_text_wrap(out, 12, 12, note);
}

bc_status bc_report_material_text(const bc_dispersion *material, double at_nm, bc_text *out, bc_error *error)
{
    const index_at at = look_up(material, at_nm);
    bc_text_add(out, "%s\n", bc_dispersion_name(material));
    for (size_t i = 0; i < NOTE_KEYS; i++)
        note_text(note_keys[i], bc_dispersion_note(material, note_keys[i]), out);
    if (!bc_dispersion_is_constant(material)) {
        double from_nm, to_nm;
        bc_dispersion_range(material, &from_nm, &to_nm);
        bc_text_add(out, "  range     %g..%g nm\n", from_nm, to_nm);
    } else {
        bc_text_add(out, "  range     every wavelength: a constant, no dispersion\n");
    }
    if (bc_dispersion_path(material) != NULL) {
        bc_text_add(out, "  table     ");
        bc_text_add_plain(out, bc_dispersion_path(material));
        bc_text_add(out, "\n");
    }
    bc_text_add(out, "  index     n %.6f, k %.4g at %g nm%s\n", at.n, at.k, at.nm,
                at.nm == at_nm ? "" : ", the middle of its range");
    if (!bc_dispersion_is_constant(material))
        rows_text(material, out);
    return bc_text_end(out, error);
}

bc_status bc_report_material_csv(const bc_dispersion *material, bc_text *out, bc_error *error)
{
    char number[BC_NUMBER_SIZE];
    if (bc_dispersion_is_constant(material))
        return bc_fail(error, BC_ERROR_INPUT, "'%s' is a constant index; it has no table to write",
                       bc_dispersion_name(material));
    for (size_t i = 0; i < NOTE_KEYS; i++)
        if (bc_dispersion_note(material, note_keys[i]) != NULL)
            bc_text_add(out, "# %s: %s\n", note_keys[i], bc_dispersion_note(material, note_keys[i]));
    bc_text_add(out, "wavelength_nm,n,k\n");
    for (size_t row = 0; row < bc_dispersion_rows(material) && !out->failed; row++) {
        double wavelength_nm, n, k;
        bc_dispersion_row(material, row, &wavelength_nm, &n, &k);
        bc_text_add(out, "%s,", bc_number_format(wavelength_nm, number));
        bc_text_add(out, "%s,", bc_number_format(n, number));
        bc_text_add(out, "%s\n", bc_number_format(k, number));
    }
    return bc_text_end(out, error);
}
