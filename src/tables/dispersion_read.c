/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "csv_file.h"
#include "dispersion_build.h"
#include "escaped.h"
#include "grow.h"
#include <stdlib.h>
#include <string.h>

enum { WAVELENGTH_NM, WAVELENGTH_UM, N, K, COLUMNS };

static const bc_csv_column columns[COLUMNS] = {
    {"wavelength_nm", false},
    {"wavelength_um", false},
    {"n", true},
    {"k", false},
};
static const bc_csv_schema schema = {"wavelength_nm,n,k", COLUMNS, columns};

static const bc_csv_range range_nm = {BC_WAVELENGTH_LEAST, false, BC_WAVELENGTH_MOST, 0,
                                      "a wavelength in nm from 0.001 to 1000000000"};
static const bc_csv_range range_um = {BC_WAVELENGTH_LEAST, false, BC_WAVELENGTH_MOST, 3,
                                      "a wavelength in um from 0.000001 to 1000000"};
static const bc_csv_range range_n = {0, true, BC_INDEX_MOST, 0, "a refractive index n above 0 and at most 10000"};
static const bc_csv_range range_k = {0, false, BC_INDEX_MOST, 0,
                                     "an extinction coefficient k from 0 to 10000 (N = n - ik)"};

static bc_status check_columns(const bc_csv *csv, bc_error *error)
{
    bool nm = bc_csv_has(csv, WAVELENGTH_NM), um = bc_csv_has(csv, WAVELENGTH_UM);
    if (nm && um)
        return bc_fail(
            error, BC_ERROR_INPUT,
            "%s:%ld: column %zu (wavelength_um): found both wavelength_nm and wavelength_um; expected one of "
            "them",
            csv->path, csv->header_line, csv->position[WAVELENGTH_UM] + 1);
    if (!nm && !um)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%ld: found a header without wavelength_nm (or wavelength_um); expected a header such as %s",
                       csv->path, csv->header_line, schema.example);
    if (csv->rows < 2)
        return bc_fail(
            error, BC_ERROR_INPUT,
            "%s:%ld: found a table of one row; expected at least two (a constant index is written in place of "
            "the material's name)",
            csv->path, csv->line[0]);
    return BC_OK;
}

static bc_status read_row(const bc_csv *csv, size_t row, double *wavelength_nm, double *n, double *k, bc_error *error)
{
    bool um = bc_csv_has(csv, WAVELENGTH_UM);
    size_t column = um ? WAVELENGTH_UM : WAVELENGTH_NM;
    char shown[BC_ESCAPED_SIZE];
    bc_status status = bc_csv_number(csv, row, column, um ? &range_um : &range_nm, &wavelength_nm[row], error);
    if (status != BC_OK)
        return status;
    if (row > 0 && !(wavelength_nm[row] > wavelength_nm[row - 1]))
        return bc_csv_fail(csv, row, column, error, "a wavelength above the '%s' of line %ld (wavelengths rise)",
                           bc_escaped(bc_csv_text(csv, row - 1, column), shown), csv->line[row - 1]);
    status = bc_csv_number(csv, row, N, &range_n, &n[row], error);
    if (status == BC_OK && bc_csv_has(csv, K))
        status = bc_csv_number(csv, row, K, &range_k, &k[row], error);
    return status;
}

static bc_status read_rows(const bc_csv *csv, const char *name, bc_dispersion **out, bc_error *error)
{
    double *values = calloc(csv->rows, 3 * sizeof(double));
    bc_status status = BC_OK;
    if (values == NULL)
        return bc_fail_memory(error);
    double *n = values + csv->rows, *k = n + csv->rows;
    for (size_t row = 0; row < csv->rows && status == BC_OK; row++)
        status = read_row(csv, row, values, n, k, error);
    if (status == BC_OK)
        status = bc_dispersion_table(name, csv->rows, values, n, k, out, error);
    free(values);
    return status;
}

/* The length of the key at the start of a comment `key: text`; 0 when it is another kind of comment. */
static size_t key_length(const char *comment)
{
    size_t length = strspn(comment, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-");
    return comment[length] == ':' ? length : 0;
}

/* A spreadsheet that saved the table again has filled the comment up with commas. */
static size_t trimmed_length(const char *text)
{
    size_t length = strlen(text);
    while (length > 0 && (text[length - 1] == ',' || text[length - 1] == ' '))
        length--;
    return length;
}

static bc_status keep_note(bc_dispersion *dispersion, const char *comment, size_t key, bc_error *error)
{
    const char *text = comment + key + 1 + strspn(comment + key + 1, " \t");
    char *plain = strndup(text, trimmed_length(text));
    bc_note *note = &dispersion->note[dispersion->notes++];
    note->key = strndup(comment, key);
    note->text = plain == NULL ? NULL : bc_escaped_copy(plain);
    free(plain);
    return note->key == NULL || note->text == NULL ? bc_fail_memory(error) : BC_OK;
}

static bc_status keep_notes(bc_dispersion *dispersion, const bc_csv *csv, bc_error *error)
{
    if (csv->comments == 0)
        return BC_OK;
    dispersion->note = calloc(csv->comments, sizeof *dispersion->note);
    if (dispersion->note == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < csv->comments; i++) {
        const char *comment = csv->text + csv->comment[i];
        size_t key = key_length(comment);
        bc_status status = key == 0 ? BC_OK : keep_note(dispersion, comment, key, error);
        if (status != BC_OK)
            return status;
    }
    return BC_OK;
}

static bc_status keep_origin(bc_dispersion *dispersion, const bc_csv *csv, const char *path, bc_error *error)
{
    memcpy(dispersion->sha256, csv->sha256, sizeof csv->sha256);
    dispersion->path = strdup(path);
    if (dispersion->path == NULL)
        return bc_fail_memory(error);
    return keep_notes(dispersion, csv, error);
}

bc_status bc_dispersion_read(const char *path, const char *name, bc_dispersion **out, bc_error *error)
{
    bc_csv *csv = NULL;
    bc_dispersion *dispersion = NULL;
    bc_status status = bc_csv_read(path, &schema, &csv, error);
    if (status != BC_OK)
        return status;
    status = check_columns(csv, error);
    if (status == BC_OK)
        status = read_rows(csv, name, &dispersion, error);
    if (dispersion != NULL)
        status = keep_origin(dispersion, csv, path, error);
    bc_csv_free(csv);
    if (status != BC_OK) {
        bc_dispersion_free(dispersion);
        return status;
    }
    *out = dispersion;
    return BC_OK;
}
