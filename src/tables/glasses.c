/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "glasses.h"
#include "csv_file.h"
#include "dispersion_build.h"
#include "number.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TERMS     3
#define STEP      1.004 /* from one row of the table to the next: the cubic between them is within 1e-6 of the formula */
#define ROWS_MOST 1600

enum { CODE, COEFFICIENTS, FROM_UM, TO_UM, ND, VD, COLUMNS };

static const bc_csv_column columns[COLUMNS] = {{"code", true},  {"coefficients", true}, {"from_um", true},
                                               {"to_um", true}, {"nd", false},          {"vd", false}};
static const bc_csv_schema schema = {"code,coefficients,from_um,to_um", COLUMNS, columns};
static const bc_csv_range range_um = {0.05, false, 50.0, 0, "a wavelength in um from 0.05 to 50"};

bool bc_glasses_is_code(const char *name)
{
    return strlen(name) == 6 && strspn(name, "0123456789") == 6;
}

static bc_status read_coefficients(const bc_csv *csv, size_t row, double coefficient[2 * TERMS], bc_error *error)
{
    const char *text = bc_csv_text(csv, row, COEFFICIENTS);
    for (size_t i = 0; i < 2 * TERMS; i++) {
        char *end;
        coefficient[i] = bc_number_read(text, &end);
        if (end == text || !isfinite(coefficient[i]) || (*end != ' ' && *end != '\0') ||
            (*end == '\0') != (i == 2 * TERMS - 1))
            return bc_csv_fail(csv, row, COEFFICIENTS, error, "six numbers B1 C1 B2 C2 B3 C3 with a blank between");
        text = end + strspn(end, " ");
    }
    return BC_OK;
}

/* NAN where there is a pole. */
static double index_at(const double coefficient[2 * TERMS], double um)
{
    double square = 1.0;
    for (size_t i = 0; i < TERMS; i++)
        square += coefficient[2 * i] * um * um / (um * um - coefficient[2 * i + 1]);
    return square > 0.0 ? sqrt(square) : NAN;
}

/* The file's `# key: text` lines hold for every glass in it. */
static bc_status add_notes(bc_dispersion *table, const bc_csv *csv, const char *path, bc_error *error)
{
    static const char *const keys[] = {"source", "doi", "note"};
    enum { KEYS = sizeof keys / sizeof keys[0] };
    table->note = calloc(KEYS + 1, sizeof *table->note);
    table->path = strdup(path);
    if (table->note == NULL || table->path == NULL)
        return bc_fail_memory(error);
    memcpy(table->sha256, csv->sha256, sizeof csv->sha256);
    table->note[table->notes++] = (bc_note){strdup("kind"), strdup("substrate")};
    for (size_t i = 0; i < csv->comments; i++) {
        const char *comment = csv->text + csv->comment[i];
        for (size_t k = 0; k < KEYS; k++) {
            const size_t length = strlen(keys[k]);
            if (strncmp(comment, keys[k], length) == 0 && comment[length] == ':' && table->notes <= KEYS)
                table->note[table->notes++] =
                    (bc_note){strdup(keys[k]), strdup(comment + length + 1 + strspn(comment + length + 1, " "))};
        }
    }
    for (size_t i = 0; i < table->notes; i++)
        if (table->note[i].key == NULL || table->note[i].text == NULL)
            return bc_fail_memory(error);
    return BC_OK;
}

static bc_status make_table(const bc_csv *csv, size_t row, const char *path, bc_dispersion **out, bc_error *error)
{
    double coefficient[2 * TERMS], nm[ROWS_MOST], n[ROWS_MOST], from_um = 0.0, to_um = 0.0;
    size_t rows = 0;
    bc_status status = read_coefficients(csv, row, coefficient, error);
    if (status == BC_OK)
        status = bc_csv_number(csv, row, FROM_UM, &range_um, &from_um, error);
    if (status == BC_OK)
        status = bc_csv_number(csv, row, TO_UM, &range_um, &to_um, error);
    if (status == BC_OK && !(to_um > from_um * STEP))
        status = bc_csv_fail(csv, row, TO_UM, error, "a wavelength above from_um");
    if (status != BC_OK)
        return status;
    for (double um = from_um; um < to_um / sqrt(STEP) && rows < ROWS_MOST - 1; um *= STEP, rows++) {
        nm[rows] = 1000.0 * um;
        n[rows] = index_at(coefficient, um);
    }
    nm[rows] = 1000.0 * to_um;
    n[rows++] = index_at(coefficient, to_um);
    for (size_t i = 0; i < rows; i++)
        if (!(n[i] > 1.0 && n[i] < 10.0))
            return bc_csv_fail(csv, row, COEFFICIENTS, error, "an index between 1 and 10 from from_um to to_um");
    status = bc_dispersion_table(bc_csv_text(csv, row, CODE), rows, nm, n, NULL, out, error);
    return status == BC_OK ? add_notes(*out, csv, path, error) : status;
}

bc_status bc_glasses_find(const char *path, const char *code, bc_dispersion **out, bc_error *error)
{
    bc_csv *csv = NULL;
    bc_status status = bc_csv_read(path, &schema, &csv, error);
    *out = NULL;
    if (status != BC_OK)
        return status;
    for (size_t row = 0; status == BC_OK && row < csv->rows && *out == NULL; row++)
        if (strcmp(bc_csv_text(csv, row, CODE), code) == 0)
            status = make_table(csv, row, path, out, error);
    bc_csv_free(csv);
    if (status != BC_OK) {
        bc_dispersion_free(*out);
        *out = NULL;
    }
    return status;
}

bc_status bc_glasses_each(const char *path, bc_status (*add)(void *context, const char *code, bc_error *error),
                          void *context, bc_error *error)
{
    bc_csv *csv = NULL;
    bc_status status = bc_csv_read(path, &schema, &csv, error);
    if (status != BC_OK)
        return status;
    for (size_t row = 0; status == BC_OK && row < csv->rows; row++)
        status = bc_glasses_is_code(bc_csv_text(csv, row, CODE))
                     ? add(context, bc_csv_text(csv, row, CODE), error)
                     : bc_csv_fail(csv, row, CODE, error, "a six-digit code");
    bc_csv_free(csv);
    return status;
}
