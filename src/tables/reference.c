/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "csv_file.h"
#include <bloomcoat/reference.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_interp.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { WAVELENGTH_NM, WAVELENGTH_UM, R_PERCENT, T_PERCENT, UNCERTAINTY, COLUMNS };

static const bc_csv_column columns[COLUMNS] = {{"wavelength_nm", false},
                                               {"wavelength_um", false},
                                               {"R_percent", false},
                                               {"T_percent", false},
                                               {"uncertainty_percent", false}};
static const bc_csv_schema schema = {"wavelength_nm,R_percent", COLUMNS, columns};

#define PERCENT (-2) /* as a power of ten */

/* A reference that reflects less is none: whatever is divided by it is noise. */
static const bc_csv_range ranges[COLUMNS] = {
    [WAVELENGTH_NM] = {100, false, 1e5, 0, "a wavelength in nm from 100 to 100000"},
    [WAVELENGTH_UM] = {100, false, 1e5, 3, "a wavelength in um from 0.1 to 100"},
    [R_PERCENT] = {1e-4, false, 1, PERCENT, "a reflectance in percent from 0.01 to 100"},
    [T_PERCENT] = {1e-4, false, 1, PERCENT, "a transmittance in percent from 0.01 to 100"},
    [UNCERTAINTY] = {0, false, 1, PERCENT, "an uncertainty in percent (absolute, expanded) from 0 to 100"},
};

static bc_status check_pair(const bc_csv *csv, size_t one, size_t other, bc_error *error)
{
    const bool both = bc_csv_has(csv, one);
    if (both != bc_csv_has(csv, other))
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT,
                   "%s:%ld: found a header with %s %s and %s; expected one of them, such as '%s'", csv->path,
                   csv->header_line, both ? "both" : "neither", columns[one].name, columns[other].name, schema.example);
}

static bc_status read_row(const bc_csv *csv, size_t row, bc_reference *reference, bc_error *error)
{
    const size_t axis = bc_csv_has(csv, WAVELENGTH_UM) ? WAVELENGTH_UM : WAVELENGTH_NM;
    const size_t values = reference->quantity == BC_T ? T_PERCENT : R_PERCENT;
    bc_status status = bc_csv_number(csv, row, axis, &ranges[axis], &reference->wavelength_nm[row], error);
    if (status == BC_OK && row > 0 && !(reference->wavelength_nm[row] > reference->wavelength_nm[row - 1]))
        status = bc_csv_fail(csv, row, axis, error, "a wavelength above that of line %ld (wavelengths rise)",
                             csv->line[row - 1]);
    if (status == BC_OK)
        status = bc_csv_number(csv, row, values, &ranges[values], &reference->value[row], error);
    if (status == BC_OK && reference->uncertainty != NULL)
        status = bc_csv_number(csv, row, UNCERTAINTY, &ranges[UNCERTAINTY], &reference->uncertainty[row], error);
    return status;
}

static bc_status read_rows(const bc_csv *csv, bc_reference *reference, bc_error *error)
{
    const bool states = bc_csv_has(csv, UNCERTAINTY);
    bc_status status = check_pair(csv, WAVELENGTH_NM, WAVELENGTH_UM, error);
    if (status == BC_OK)
        status = check_pair(csv, R_PERCENT, T_PERCENT, error);
    if (status == BC_OK && csv->rows < 2)
        status = bc_fail(error, BC_ERROR_INPUT, "%s: found 1 row; expected two at least, over the range of the scan",
                         csv->path);
    if (status != BC_OK)
        return status;
    reference->quantity = bc_csv_has(csv, T_PERCENT) ? BC_T : BC_R;
    reference->path = strdup(csv->path);
    reference->wavelength_nm = calloc(csv->rows, sizeof *reference->wavelength_nm);
    reference->value = calloc(csv->rows, sizeof *reference->value);
    reference->uncertainty = states ? calloc(csv->rows, sizeof *reference->uncertainty) : NULL;
    if (reference->path == NULL || reference->wavelength_nm == NULL || reference->value == NULL ||
        (states && reference->uncertainty == NULL))
        return bc_fail_memory(error);
    for (size_t row = 0; status == BC_OK && row < csv->rows; row++)
        status = read_row(csv, row, reference, error);
    reference->count = csv->rows;
    return status;
}

bc_status bc_reference_read(const char *path, bc_reference *reference, bc_error *error)
{
    bc_csv *csv = NULL;
    bc_status status;
    *reference = (bc_reference){0};
    status = bc_csv_read(path, &schema, &csv, error);
    if (status != BC_OK)
        return status;
    status = read_rows(csv, reference, error);
    memcpy(reference->sha256, csv->sha256, sizeof csv->sha256);
    bc_csv_free(csv);
    if (status != BC_OK)
        bc_reference_clear(reference);
    return status;
}

void bc_reference_clear(bc_reference *reference)
{
    free(reference->wavelength_nm);
    free(reference->value);
    free(reference->uncertainty);
    free(reference->path);
    *reference = (bc_reference){0};
}

static bc_status interpolate(const bc_reference *reference, const gsl_interp_type *type, const double *rows,
                             size_t count, const double *wavelength_nm, double *out, bc_error *error)
{
    const size_t last = reference->count - 1;
    gsl_set_error_handler_off();
    gsl_interp *curve = gsl_interp_alloc(type, reference->count);
    bool failed = curve == NULL || gsl_interp_init(curve, reference->wavelength_nm, rows, reference->count) != 0;
    for (size_t i = 0; !failed && i < count; i++) {
        const double at = fmin(fmax(wavelength_nm[i], reference->wavelength_nm[0]), reference->wavelength_nm[last]);
        failed = gsl_interp_eval_e(curve, reference->wavelength_nm, rows, at, NULL, &out[i]) != 0;
    }
    if (curve != NULL)
        gsl_interp_free(curve);
    return failed ? bc_fail_memory(error) : BC_OK;
}

bc_status bc_reference_at(const bc_reference *reference, size_t count, const double *wavelength_nm, double *value,
                          double *uncertainty, bc_error *error)
{
    const double from = reference->wavelength_nm[0], to = reference->wavelength_nm[reference->count - 1];
    for (size_t i = 0; i < count; i++)
        if (!(wavelength_nm[i] >= from * (1.0 - 1e-9) && wavelength_nm[i] <= to * (1.0 + 1e-9)))
            return bc_fail(error, BC_ERROR_INPUT,
                           "%s: found a reference from %.6g to %.6g nm; expected it to reach %.6g nm, as the scan does",
                           reference->path == NULL ? "reference" : reference->path, from, to, wavelength_nm[i]);
    bc_status status = interpolate(reference, reference->count < 3 ? gsl_interp_linear : gsl_interp_steffen,
                                   reference->value, count, wavelength_nm, value, error);
    if (uncertainty == NULL || status != BC_OK)
        return status;
    if (reference->uncertainty == NULL) {
        for (size_t i = 0; i < count; i++)
            uncertainty[i] = 0.0;
        return BC_OK;
    }
    return interpolate(reference, gsl_interp_linear, reference->uncertainty, count, wavelength_nm, uncertainty, error);
}
