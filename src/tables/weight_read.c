/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "csv_file.h"
#include "escaped.h"
#include "grow.h"
#include "materials_store.h"
#include "place.h"
#include "weight_build.h"
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { WAVELENGTH_NM, WAVELENGTH_UM, ANGLE_DEG, WEIGHT, COLUMNS };

static const bc_csv_column columns[COLUMNS] = {
    {"wavelength_nm", false}, {"wavelength_um", false}, {"angle_deg", false}, {"weight", true}};
static const bc_csv_schema schema = {"wavelength_nm,weight", COLUMNS, columns};
static const bc_csv_range range_nm = {0.001, false, 1e9, 0, "a wavelength in nm from 0.001 to 1000000000"};
static const bc_csv_range range_um = {0.001, false, 1e9, 3, "a wavelength in um from 0.000001 to 1000000"};
static const bc_csv_range range_deg = {0.0, false, 90.0, 0, "an angle from the axis in degrees from 0 to 90"};
static const bc_csv_range range_weight = {0, false, 1e9, 0, "a weight from 0 to 1000000000"};

static bc_status check_columns(const bc_csv *csv, bc_error *error)
{
    const int columns_of_x =
        bc_csv_has(csv, WAVELENGTH_NM) + bc_csv_has(csv, WAVELENGTH_UM) + bc_csv_has(csv, ANGLE_DEG);
    if (columns_of_x != 1)
        return bc_fail(error, BC_ERROR_INPUT, "%s:%ld: found %s; expected a header such as %s", csv->path,
                       csv->header_line,
                       columns_of_x > 1 ? "more than one of wavelength_nm, wavelength_um and angle_deg"
                                        : "no column wavelength_nm, wavelength_um or angle_deg",
                       schema.example);
    if (csv->rows < 2)
        return bc_fail(error, BC_ERROR_INPUT, "%s:%ld: found a table of one row; expected at least two", csv->path,
                       csv->line[0]);
    return BC_OK;
}

static bc_status read_rows(const bc_csv *csv, bc_weight_factor *factor, bc_error *error)
{
    const bool um = bc_csv_has(csv, WAVELENGTH_UM);
    const size_t column = factor->angle ? ANGLE_DEG : um ? WAVELENGTH_UM : WAVELENGTH_NM;
    const bc_csv_range *range = factor->angle ? &range_deg : um ? &range_um : &range_nm;
    char shown[BC_ESCAPED_SIZE];
    bool any = false;
    bc_status status = BC_OK;
    for (size_t row = 0; status == BC_OK && row < csv->rows; row++) {
        status = bc_csv_number(csv, row, column, range, &factor->at[row], error);
        if (status == BC_OK && row > 0 && !(factor->at[row] > factor->at[row - 1]))
            return bc_csv_fail(csv, row, column, error, "%s above the '%s' of line %ld (%s rise)",
                               factor->angle ? "an angle" : "a wavelength",
                               bc_escaped(bc_csv_text(csv, row - 1, column), shown), csv->line[row - 1],
                               factor->angle ? "angles" : "wavelengths");
        if (status == BC_OK)
            status = bc_csv_number(csv, row, WEIGHT, &range_weight, &factor->relative[row], error);
        any = any || factor->relative[row] > 0.0;
    }
    if (status == BC_OK && !any)
        return bc_csv_fail(csv, 0, WEIGHT, error, "a weight above 0 in one row at least");
    return status;
}

bc_status bc_weight_read(const char *path, bc_weight_factor *factor, bc_error *error)
{
    bc_csv *csv = NULL;
    bc_status status = bc_csv_read(path, &schema, &csv, error);
    if (status != BC_OK)
        return status;
    *factor = (bc_weight_factor){.rows = csv->rows, .angle = bc_csv_has(csv, ANGLE_DEG)};
    status = check_columns(csv, error);
    if (status == BC_OK) {
        factor->at = calloc(csv->rows, 2 * sizeof(double));
        status = factor->at == NULL ? bc_fail_memory(error) : BC_OK;
    }
    if (status == BC_OK) {
        factor->relative = factor->at + csv->rows;
        status = read_rows(csv, factor, error);
    }
    bc_csv_free(csv);
    if (status != BC_OK) {
        free(factor->at);
        *factor = (bc_weight_factor){0};
    }
    return status;
}

static bc_status fail_unknown(const bc_materials *materials, const char *where, const char *name, bc_error *error)
{
    char shown[BC_ESCAPED_SIZE], folder[BC_ESCAPED_PATH_SIZE];
    return bc_fail(
        error, BC_ERROR_INPUT,
        "%s: found '%s'; expected photopic, scotopic, D65, A, D50, a product such as D65*photopic, or NAME "
        "for a NAME.csv with wavelength_nm,weight (of a cone of light: angle_deg,weight) in a folder of tables (the "
        "first: %s)",
        where, bc_escaped(name, shown),
        materials->folders == 0 ? "none" : bc_escaped_path(materials->folder[0], folder));
}

/* One name of a product: one that comes with the program, or the first table found. */
static bc_status find_factor(const bc_materials *materials, const char *name, const char *where,
                             bc_weight_factor *factor, bc_error *error)
{
    if (bc_weight_shipped_factor(name, factor))
        return BC_OK;
    for (size_t i = 0; bc_materials_has_name_letters(name) && i < materials->folders; i++) {
        char *path = NULL;
        struct stat info;
        bc_error inner = {0};
        bc_status status = BC_OK;
        if (asprintf(&path, "%s/%s.csv", materials->folder[i], name) < 0)
            return bc_fail_memory(error);
        const bool missing = bc_place_stat(path, &info) != 0 && (errno == ENOENT || errno == ENOTDIR);
        if (!missing)
            status = bc_weight_read(path, factor, &inner);
        free(path);
        if (missing)
            continue;
        return status == BC_OK            ? BC_OK
               : status == BC_ERROR_INPUT ? bc_fail(error, status, "%s: %s", where, inner.message)
                                          : bc_fail(error, status, "%s", inner.message);
    }
    return fail_unknown(materials, where, name, error);
}

static bc_status read_product(const bc_materials *materials, const char *where, bc_weight *weight, bc_error *error)
{
    const char *name = weight->name;
    double from_nm, to_nm;
    for (;;) {
        char one[BC_WEIGHT_NAME_SIZE];
        const size_t length = strcspn(name, "*");
        bc_status status;
        if (weight->factors == BC_WEIGHT_FACTORS)
            return bc_fail(error, BC_ERROR_INPUT, "%s: found '%s'; expected a product of at most %d weights", where,
                           weight->name, BC_WEIGHT_FACTORS);
        memcpy(one, name, length);
        one[length] = '\0';
        status = find_factor(materials, one, where, &weight->factor[weight->factors], error);
        if (status != BC_OK)
            return status;
        weight->factors++;
        if (weight->factor[weight->factors - 1].angle && (weight->factors > 1 || name[length] != '\0'))
            return bc_fail(error, BC_ERROR_INPUT,
                           "%s: found '%s'; expected one name: a weight over angle has no product", where,
                           weight->name);
        if (name[length] == '\0')
            break;
        name += length + 1;
    }
    bc_weight_range(weight, &from_nm, &to_nm);
    if (!(from_nm < to_nm))
        return bc_fail(error, BC_ERROR_INPUT, "%s: found '%s'; expected weights that have wavelengths in common", where,
                       weight->name);
    return BC_OK;
}

bc_status bc_materials_weight(bc_materials *materials, const char *name, const char *where, const bc_weight **out,
                              bc_error *error)
{
    bc_weight *weight;
    bc_status status;
    if (where == NULL)
        where = "weight";
    *out = bc_weight_shipped(name);
    for (size_t i = 0; *out == NULL && i < materials->weights; i++)
        if (strcmp(materials->weight[i]->name, name) == 0)
            *out = materials->weight[i];
    if (*out != NULL)
        return BC_OK;
    if (strlen(name) >= BC_WEIGHT_NAME_SIZE)
        return fail_unknown(materials, where, name, error);
    bc_weight **moved = bc_grow(materials->weight, &materials->weight_capacity, materials->weights, sizeof *moved);
    if (moved == NULL)
        return bc_fail_memory(error);
    materials->weight = moved;
    weight = calloc(1, sizeof *weight);
    if (weight == NULL)
        return bc_fail_memory(error);
    memcpy(weight->name, name, strlen(name) + 1);
    status = read_product(materials, where, weight, error);
    if (status != BC_OK) {
        bc_weight_free(weight);
        return status;
    }
    moved[materials->weights++] = weight;
    *out = weight;
    return BC_OK;
}
