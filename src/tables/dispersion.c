/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "arena.h"
#include "dispersion_build.h"
#include "escaped.h"
#include "number.h"
#include "print.h"
#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

void bc_dispersion_free(bc_dispersion *dispersion)
{
    if (dispersion == NULL)
        return;
    if (dispersion->base != NULL) {
        free(dispersion);
        return;
    }
    for (size_t i = 0; i < dispersion->notes; i++) {
        free(dispersion->note[i].key);
        free(dispersion->note[i].text);
    }
    free(dispersion->note);
    if (dispersion->n_curve != NULL)
        gsl_interp_free(dispersion->n_curve);
    if (dispersion->k_curve != NULL)
        gsl_interp_free(dispersion->k_curve);
    free(dispersion->memory);
    free(dispersion->path);
    free(dispersion);
}

static void layout(bc_arena *arena, bc_dispersion *dispersion, size_t values)
{
    dispersion->wavelength_nm = bc_arena_take(arena, values, sizeof(double));
    dispersion->n = bc_arena_take(arena, values, sizeof(double));
    dispersion->k = bc_arena_take(arena, values, sizeof(double));
}

/* A dispersion called `name` with arrays of `values` zeros. */
static bc_status make(const char *name, size_t values, bc_dispersion **out, bc_error *error)
{
    bc_arena arena = {0};
    char shown[BC_ESCAPED_SIZE];
    if (strlen(name) >= BC_NAME_SIZE)
        return bc_fail(error, BC_ERROR_INPUT, "material: found the name '%s' of %zu bytes; expected at most %d",
                       bc_escaped(name, shown), strlen(name), BC_NAME_SIZE - 1);
    bc_dispersion *dispersion = calloc(1, sizeof *dispersion);
    if (dispersion == NULL)
        return bc_fail_memory(error);
    memcpy(dispersion->name, name, strlen(name) + 1);
    layout(&arena, dispersion, values);
    bc_status status = bc_arena_open(&arena, error);
    if (status != BC_OK) {
        free(dispersion);
        return status;
    }
    layout(&arena, dispersion, values);
    dispersion->memory = arena.memory;
    *out = dispersion;
    return BC_OK;
}

static bc_status check_index(const char *name, double n, double k, bc_error *error)
{
    char shown[BC_ESCAPED_SIZE], text[BC_NUMBER_SIZE];
    bc_escaped(name, shown);
    if (!(n > 0 && n <= BC_INDEX_MOST))
        return bc_fail(error, BC_ERROR_INPUT, "material '%s': found n = %s; expected n above 0 and at most %.0f", shown,
                       bc_number_format(n, text), BC_INDEX_MOST);
    if (!(k >= 0 && k <= BC_INDEX_MOST))
        return bc_fail(error, BC_ERROR_INPUT, "material '%s': found k = %s; expected k from 0 to %.0f (N = n - ik)",
                       shown, bc_number_format(k, text), BC_INDEX_MOST);
    return BC_OK;
}

bc_status bc_dispersion_constant(const char *name, double n, double k, bc_dispersion **out, bc_error *error)
{
    bc_status status = check_index(name, n, k, error);
    if (status == BC_OK)
        status = make(name, 1, out, error);
    if (status != BC_OK)
        return status;
    (*out)->n[0] = n;
    (*out)->k[0] = k;
    (*out)->absorbs = k > 0;
    return BC_OK;
}

static bc_status check_wavelength(const char *name, size_t row, const double *wavelength_nm, bc_error *error)
{
    char shown[BC_ESCAPED_SIZE], text[BC_NUMBER_SIZE], before[BC_NUMBER_SIZE];
    double wavelength = wavelength_nm[row];
    bc_escaped(name, shown);
    if (!(wavelength >= BC_WAVELENGTH_LEAST && wavelength <= BC_WAVELENGTH_MOST))
        return bc_fail(error, BC_ERROR_INPUT,
                       "material '%s': found wavelength %s nm in row %zu; expected one from 0.001 to 1000000000 nm",
                       shown, bc_number_format(wavelength, text), row + 1);
    if (row > 0 && !(wavelength > wavelength_nm[row - 1]))
        return bc_fail(
            error, BC_ERROR_INPUT,
            "material '%s': found wavelength %s nm in row %zu; expected more than the %s nm of the row before", shown,
            bc_number_format(wavelength, text), row + 1, bc_number_format(wavelength_nm[row - 1], before));
    return BC_OK;
}

/* The curve through one column. Two rows are joined by their chord, which is what the cubic would be there. */
static bc_status fit(const bc_dispersion *dispersion, const double *value, gsl_interp **curve, bc_error *error)
{
    const gsl_interp_type *type = dispersion->rows < 3 ? gsl_interp_linear : gsl_interp_steffen;
    gsl_set_error_handler_off(); /* GSL would abort the program when memory runs out */
    *curve = gsl_interp_alloc(type, dispersion->rows);
    if (*curve == NULL || gsl_interp_init(*curve, dispersion->wavelength_nm, value, dispersion->rows) != GSL_SUCCESS)
        return bc_fail_memory(error);
    return BC_OK;
}

bc_status bc_dispersion_table(const char *name, size_t rows, const double *wavelength_nm, const double *n,
                              const double *k, bc_dispersion **out, bc_error *error)
{
    bc_dispersion *dispersion = NULL;
    bc_status status = BC_OK;
    char shown[BC_ESCAPED_SIZE];
    if (rows < 2)
        return bc_fail(error, BC_ERROR_INPUT, "material '%s': found %zu rows; expected at least two",
                       bc_escaped(name, shown), rows);
    for (size_t i = 0; i < rows && status == BC_OK; i++) {
        status = check_wavelength(name, i, wavelength_nm, error);
        if (status == BC_OK)
            status = check_index(name, n[i], k == NULL ? 0 : k[i], error);
    }
    if (status == BC_OK)
        status = make(name, rows, &dispersion, error);
    if (dispersion == NULL)
        return status;
    dispersion->rows = rows;
    memcpy(dispersion->wavelength_nm, wavelength_nm, rows * sizeof(double));
    memcpy(dispersion->n, n, rows * sizeof(double));
    for (size_t i = 0; k != NULL && i < rows; i++) {
        dispersion->k[i] = k[i];
        dispersion->absorbs = dispersion->absorbs || k[i] > 0;
    }
    status = fit(dispersion, dispersion->n, &dispersion->n_curve, error);
    if (status == BC_OK && dispersion->absorbs)
        status = fit(dispersion, dispersion->k, &dispersion->k_curve, error);
    if (status != BC_OK) {
        bc_dispersion_free(dispersion);
        return status;
    }
    *out = dispersion;
    return BC_OK;
}

/* No more digits than it takes to see on which side of the range it lies. */
static void print_asked(const bc_dispersion *dispersion, double wavelength_nm, char asked[BC_NUMBER_SIZE])
{
    for (int digits = 6; digits <= 17; digits++) {
        double read;
        bc_print(asked, BC_NUMBER_SIZE, "%.*g", digits, wavelength_nm);
        read = bc_number_read(asked, NULL);
        if (read < dispersion->wavelength_nm[0] || read > dispersion->wavelength_nm[dispersion->rows - 1])
            return;
    }
}

static bc_status fail_range(const bc_dispersion *dispersion, double wavelength_nm, bc_error *error)
{
    char name[BC_ESCAPED_SIZE], path[BC_ESCAPED_PATH_SIZE];
    char asked[BC_NUMBER_SIZE], from[BC_NUMBER_SIZE], to[BC_NUMBER_SIZE];
    print_asked(dispersion, wavelength_nm, asked);
    return bc_fail(
        error, BC_ERROR_INPUT,
        "table '%s'%s%s%s: found wavelength %s nm asked for; expected one from %s to %s nm, the range of the "
        "table: beyond it the index is not known; a narrower band, or a table of your own that reaches further "
        "(--tables), helps",
        bc_escaped(dispersion->name, name), dispersion->path == NULL ? "" : " (",
        dispersion->path == NULL ? "" : bc_escaped_path(dispersion->path, path), dispersion->path == NULL ? "" : ")",
        asked, bc_number_format(dispersion->wavelength_nm[0], from),
        bc_number_format(dispersion->wavelength_nm[dispersion->rows - 1], to));
}

/* One column at one wavelength inside the table. Rounding may put the cubic an ulp outside the two neighbouring rows;
 * it is put back, so that k never turns negative. */
static double read_curve(const gsl_interp *curve, const bc_dispersion *dispersion, const double *value, double x)
{
    size_t last = dispersion->rows - 1;
    size_t row = gsl_interp_bsearch(dispersion->wavelength_nm, x, 0, last);
    double result = value[row];
    if (x >= dispersion->wavelength_nm[last])
        return value[last];
    gsl_interp_eval_e(curve, dispersion->wavelength_nm, value, x, NULL, &result);
    return fmin(fmax(result, fmin(value[row], value[row + 1])), fmax(value[row], value[row + 1]));
}

bc_status bc_dispersion_index(const bc_dispersion *dispersion, size_t count, const double *wavelength_nm, double *n_out,
                              double *k_out, bc_error *error)
{
    if (dispersion == NULL)
        return bc_fail(error, BC_ERROR_INPUT,
                       "a medium has no dispersion (NULL); expected one, as bc_medium_find() sets");
    size_t last = dispersion->rows == 0 ? 0 : dispersion->rows - 1;
    for (size_t i = 0; i < count; i++) {
        double wavelength = wavelength_nm[i];
        if (dispersion->rows != 0 &&
            !(wavelength >= dispersion->wavelength_nm[0] && wavelength <= dispersion->wavelength_nm[last]))
            return fail_range(dispersion, wavelength, error);
        n_out[i] = dispersion->n_curve == NULL ? dispersion->n[0]
                                               : read_curve(dispersion->n_curve, dispersion, dispersion->n, wavelength);
        if (k_out != NULL)
            k_out[i] = dispersion->k_curve == NULL
                           ? dispersion->k[0]
                           : read_curve(dispersion->k_curve, dispersion, dispersion->k, wavelength);
    }
    return BC_OK;
}

bc_status bc_dispersion_graded(const bc_dispersion *of, double gradient, bc_dispersion **out, bc_error *error)
{
    char shown[BC_ESCAPED_SIZE];
    if (!(fabs(gradient) <= BC_GRADIENT_MOST))
        return bc_fail(
            error, BC_ERROR_INPUT, "material '%s': found an index gradient of %g %%; expected one from %g to %g %%",
            bc_escaped(of->name, shown), 100.0 * gradient, -100.0 * BC_GRADIENT_MOST, 100.0 * BC_GRADIENT_MOST);
    *out = malloc(sizeof **out);
    if (*out == NULL)
        return bc_fail_memory(error);
    **out = *of;
    (*out)->gradient = gradient;
    (*out)->base = bc_dispersion_base(of);
    return BC_OK;
}

double bc_dispersion_gradient(const bc_dispersion *dispersion)
{
    return dispersion->gradient;
}

void bc_dispersion_keep_gradient(bc_dispersion *dispersion, const bc_dispersion *of)
{
    dispersion->gradient = of->gradient;
}

bool bc_dispersion_states_gradient(const bc_dispersion *dispersion)
{
    return dispersion->base != NULL || dispersion->gradient != 0.0;
}

const bc_dispersion *bc_dispersion_base(const bc_dispersion *dispersion)
{
    return dispersion->base != NULL ? dispersion->base : dispersion;
}

const char *bc_dispersion_name(const bc_dispersion *dispersion)
{
    return dispersion->name;
}

const char *bc_dispersion_path(const bc_dispersion *dispersion)
{
    return dispersion->path;
}

const char *bc_dispersion_sha256(const bc_dispersion *dispersion)
{
    return dispersion->path == NULL ? NULL : dispersion->sha256;
}

bool bc_dispersion_is_constant(const bc_dispersion *dispersion)
{
    return dispersion->rows == 0;
}

bool bc_dispersion_absorbs(const bc_dispersion *dispersion)
{
    return dispersion->absorbs;
}

void bc_dispersion_range(const bc_dispersion *dispersion, double *from_nm, double *to_nm)
{
    *from_nm = dispersion->rows == 0 ? 0 : dispersion->wavelength_nm[0];
    *to_nm = dispersion->rows == 0 ? INFINITY : dispersion->wavelength_nm[dispersion->rows - 1];
}

size_t bc_dispersion_rows(const bc_dispersion *dispersion)
{
    return dispersion->rows;
}

void bc_dispersion_row(const bc_dispersion *dispersion, size_t row, double *wavelength_nm, double *n, double *k)
{
    *wavelength_nm = dispersion->wavelength_nm[row];
    *n = dispersion->n[row];
    *k = dispersion->k[row];
}

const char *bc_dispersion_note(const bc_dispersion *dispersion, const char *key)
{
    for (size_t i = 0; i < dispersion->notes; i++)
        if (strcmp(dispersion->note[i].key, key) == 0)
            return dispersion->note[i].text;
    return NULL;
}

double bc_dispersion_note_number(const bc_dispersion *dispersion, const char *key)
{
    const char *note = bc_dispersion_note(dispersion, key);
    char *end;
    double value;
    if (note == NULL)
        return NAN;
    value = bc_number_read(note, &end);
    return end == note ? NAN : value;
}
