/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "csv_file.h"
#include "escaped.h"
#include <bloomcoat/stack.h>
#include <string.h>

enum { ROLE, MATERIAL, THICKNESS_NM, QUARTER_WAVES, AT_NM, FIXED, GRADIENT, COLUMNS };

static const bc_csv_column columns[COLUMNS] = {
    {"role", true},   {"material", true}, {"thickness_nm", false},           {"quarter_waves", false},
    {"at_nm", false}, {"fixed", false},   {"index_gradient_percent", false},
};
static const bc_csv_schema schema = {"role,material,thickness_nm", COLUMNS, columns};

enum { INCIDENT, LAYER, SUBSTRATE, ROLES };

static const char *const roles[ROLES] = {"incident", "layer", "substrate"};
static const char *const answers[] = {"yes", "no"};

#define THICKNESS_MOST 1e6

static const bc_csv_range range_thickness = {0, true, THICKNESS_MOST, 0,
                                             "a thickness in nm above 0 and at most 1000000 (1 mm) per layer"};
static const bc_csv_range range_quarter_waves = {0, true, 1e6, 0,
                                                 "a number of quarter waves above 0 and at most 1000000"};
static const bc_csv_range range_at = {0.001, false, 1e9, 0, "a wavelength in nm from 0.001 to 1000000000"};

static const bc_csv_range range_gradient = {
    -0.5, false, 0.5, -2,
    "the index at the layer's outer side less that at its substrate side, in percent of their average, from -50 to 50"};

/* A stack being read: the file, and which row is which end. */
typedef struct stack_reader {
    const bc_csv *csv;
    bc_materials *materials;
    size_t end[ROLES]; /* row of the incident medium and of the substrate, or NOWHERE */
} stack_reader;

#define NOWHERE ((size_t)-1)

static bool is_given(const bc_csv *csv, size_t row, size_t column)
{
    return bc_csv_text(csv, row, column)[0] != '\0';
}

static bc_status check_columns(const bc_csv *csv, bc_error *error)
{
    const char *missing = NULL;
    if (!bc_csv_has(csv, THICKNESS_NM) && !bc_csv_has(csv, QUARTER_WAVES))
        missing = "thickness_nm (or quarter_waves and at_nm)";
    else if (bc_csv_has(csv, QUARTER_WAVES) && !bc_csv_has(csv, AT_NM))
        missing = "at_nm, the wavelength that quarter_waves are meant at";
    else if (bc_csv_has(csv, AT_NM) && !bc_csv_has(csv, QUARTER_WAVES))
        missing = "quarter_waves, which at_nm belongs to";
    if (missing == NULL)
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT, "%s:%ld: found a header without %s; expected a header such as %s", csv->path,
                   csv->header_line, missing, schema.example);
}

/* Find both ends, whatever their place. */
static bc_status find_ends(stack_reader *reader, bc_error *error)
{
    const bc_csv *csv = reader->csv;
    reader->end[INCIDENT] = reader->end[SUBSTRATE] = NOWHERE;
    for (size_t row = 0; row < csv->rows; row++) {
        size_t role = LAYER;
        if (strcmp(bc_csv_text(csv, row, ROLE), "film") == 0) /* older files */
            continue;
        bc_status status = bc_csv_choice(csv, row, ROLE, ROLES, roles, &role, error);
        if (status != BC_OK)
            return status;
        if (role == LAYER)
            continue;
        if (reader->end[role] != NOWHERE)
            return bc_csv_fail(csv, row, ROLE, error, "one row of this role (it is in line %ld already)",
                               csv->line[reader->end[role]]);
        reader->end[role] = row;
    }
    for (size_t role = INCIDENT; role < ROLES; role++)
        if (role != LAYER && reader->end[role] == NOWHERE)
            return bc_fail(
                error, BC_ERROR_INPUT,
                "%s: found no row with the role '%s'; expected 'incident' at one end, 'substrate' at the other "
                "and the layers between them",
                csv->path, roles[role]);
    return BC_OK;
}

/* Nothing may stand outside the two ends. */
static bc_status check_order(const stack_reader *reader, bc_error *error)
{
    size_t incident = reader->end[INCIDENT], substrate = reader->end[SUBSTRATE];
    size_t first = incident < substrate ? incident : substrate;
    size_t last = incident < substrate ? substrate : incident;
    size_t outside = first > 0 ? 0 : last + 1;
    if (first == 0 && last + 1 == reader->csv->rows)
        return BC_OK;
    return bc_csv_fail(reader->csv, outside, ROLE, error,
                       "layers only between the two ends, which are 'incident' in line %ld and 'substrate' in line %ld",
                       reader->csv->line[incident], reader->csv->line[substrate]);
}

static bc_status find_material(const stack_reader *reader, size_t row, bc_medium *medium, bc_error *error)
{
    char where[BC_CSV_WHERE_SIZE];
    return bc_medium_find(reader->materials, bc_csv_text(reader->csv, row, MATERIAL),
                          bc_csv_where(reader->csv, row, MATERIAL, where), medium, error);
}

static bc_status read_fixed(const bc_csv *csv, size_t row, bool *fixed, bc_error *error)
{
    size_t answer = 1;
    if (is_given(csv, row, FIXED)) {
        bc_status status = bc_csv_choice(csv, row, FIXED, 2, answers, &answer, error);
        if (status != BC_OK)
            return status;
    }
    *fixed = answer == 0;
    return BC_OK;
}

/* An empty cell says nothing: a process may. */
static bc_status read_gradient(const stack_reader *reader, size_t row, bc_layer *layer, bc_error *error)
{
    double gradient = 0;
    bc_status status = BC_OK;
    if (!is_given(reader->csv, row, GRADIENT))
        return BC_OK;
    status = bc_csv_number(reader->csv, row, GRADIENT, &range_gradient, &gradient, error);
    return status == BC_OK ? bc_materials_graded(reader->materials, layer->material.dispersion, gradient,
                                                 &layer->material.dispersion, error)
                           : status;
}

static bc_status read_end(const stack_reader *reader, size_t role, bc_medium *medium, bc_error *error)
{
    static const size_t empty[] = {THICKNESS_NM, QUARTER_WAVES, AT_NM};
    size_t row = reader->end[role];
    bool fixed;
    for (size_t i = 0; i < sizeof empty / sizeof empty[0]; i++)
        if (is_given(reader->csv, row, empty[i]))
            return bc_csv_fail(reader->csv, row, empty[i], error, "an empty cell: the %s has no thickness",
                               role == INCIDENT ? "incident medium" : "substrate");
    if (is_given(reader->csv, row, GRADIENT))
        return bc_csv_fail(reader->csv, row, GRADIENT, error, "an empty cell: only layers have an index gradient");
    bc_status status = read_fixed(reader->csv, row, &fixed, error);
    return status == BC_OK ? find_material(reader, row, medium, error) : status;
}

/* thickness = quarter_waves * at_nm / (4 n(at_nm)) */
static bc_status read_quarter_waves(const stack_reader *reader, size_t row, bc_layer *layer, bc_error *error)
{
    const bc_csv *csv = reader->csv;
    char where[BC_CSV_WHERE_SIZE];
    double quarter_waves = 0, at_nm = 0, n = 1;
    bc_error inner = {0};
    if (!is_given(csv, row, AT_NM))
        return bc_csv_fail(csv, row, AT_NM, error, "the wavelength in nm that the quarter waves are meant at");
    bc_status status = bc_csv_number(csv, row, QUARTER_WAVES, &range_quarter_waves, &quarter_waves, error);
    if (status == BC_OK)
        status = bc_csv_number(csv, row, AT_NM, &range_at, &at_nm, error);
    if (status != BC_OK)
        return status;
    if (bc_dispersion_index(layer->material.dispersion, 1, &at_nm, &n, NULL, &inner) != BC_OK)
        return bc_fail(error, inner.status, "%s: %s", bc_csv_where(csv, row, AT_NM, where), inner.message);
    layer->thickness_nm = quarter_waves * at_nm / (4 * n);
    if (!(layer->thickness_nm > 0 && layer->thickness_nm <= THICKNESS_MOST))
        return bc_csv_fail(csv, row, QUARTER_WAVES, error,
                           "a layer above 0 and at most 1000000 nm (1 mm) thick at %s nm",
                           bc_csv_text(csv, row, AT_NM));
    return BC_OK;
}

static bc_status read_thickness(const stack_reader *reader, size_t row, bc_layer *layer, bc_error *error)
{
    const bc_csv *csv = reader->csv;
    bool nm = is_given(csv, row, THICKNESS_NM), quarter_waves = is_given(csv, row, QUARTER_WAVES);
    char shown[BC_ESCAPED_SIZE];
    if (nm && quarter_waves)
        return bc_csv_fail(csv, row, QUARTER_WAVES, error,
                           "an empty cell, since thickness_nm is '%s': a layer has one or the other",
                           bc_escaped(bc_csv_text(csv, row, THICKNESS_NM), shown));
    if (quarter_waves)
        return read_quarter_waves(reader, row, layer, error);
    if (is_given(csv, row, AT_NM))
        return bc_csv_fail(csv, row, AT_NM, error, "an empty cell, since quarter_waves is empty too");
    if (!nm)
        return bc_csv_fail(csv, row, bc_csv_has(csv, THICKNESS_NM) ? THICKNESS_NM : QUARTER_WAVES, error, "%s%s",
                           range_thickness.expected,
                           bc_csv_has(csv, QUARTER_WAVES) ? ", or quarter_waves and at_nm" : "");
    return bc_csv_number(csv, row, THICKNESS_NM, &range_thickness, &layer->thickness_nm, error);
}

static bc_status read_layers(const stack_reader *reader, bc_stack *stack, bc_error *error)
{
    for (size_t i = 0; i < stack->layers; i++) {
        size_t row = i + 1;
        bc_layer *layer = &stack->layer[stack->from_substrate ? stack->layers - 1 - i : i];
        bc_status status = find_material(reader, row, &layer->material, error);
        if (status == BC_OK)
            status = read_thickness(reader, row, layer, error);
        if (status == BC_OK)
            status = read_fixed(reader->csv, row, &layer->fixed, error);
        if (status == BC_OK)
            status = read_gradient(reader, row, layer, error);
        if (status != BC_OK)
            return status;
    }
    return BC_OK;
}

static bc_status read_rows(stack_reader *reader, bc_stack *stack, bc_error *error)
{
    bc_status status = check_columns(reader->csv, error);
    if (status == BC_OK)
        status = find_ends(reader, error);
    if (status == BC_OK)
        status = check_order(reader, error);
    if (status == BC_OK)
        status = bc_stack_alloc(reader->csv->rows - 2, stack, error);
    if (status != BC_OK)
        return status;
    stack->from_substrate = reader->end[SUBSTRATE] == 0;
    status = read_end(reader, INCIDENT, &stack->incident, error);
    if (status == BC_OK)
        status = read_layers(reader, stack, error);
    if (status == BC_OK)
        status = read_end(reader, SUBSTRATE, &stack->substrate, error);
    return status;
}

bc_status bc_stack_read(const char *path, bc_materials *materials, bc_stack *stack, bc_error *error)
{
    bc_csv *csv = NULL;
    *stack = (bc_stack){0};
    bc_status status = bc_csv_read(path, &schema, &csv, error);
    if (status != BC_OK)
        return status;
    stack_reader reader = {.csv = csv, .materials = materials};
    status = read_rows(&reader, stack, error);
    memcpy(stack->sha256, csv->sha256, sizeof csv->sha256);
    bc_csv_free(csv);
    if (status != BC_OK)
        bc_stack_clear(stack);
    return status;
}
