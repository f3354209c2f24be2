/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "csv_file.h"
#include "internal/process_columns.h"
#include <stdlib.h>
#include <string.h>

static const bc_csv_column columns[BC_PROCESS_COLUMNS] = {
    {"material", true},
    {"rate_nm_per_s", false},
    {"tooling_factor", false},
    {"thickness_sigma_percent", false},
    {"run_thickness_sigma_percent", false},
    {"index_sigma", false},
    {"minimum_nm", false},
    {"process_c", false},
    {"index_gradient_percent", false},
    {"runs", false},
    {"tooling_factor_runs", false},
    {"thickness_sigma_runs", false},
    {"run_thickness_sigma_runs", false},
    {"index_sigma_runs", false},
};
static const bc_csv_schema schema = {
    "material,rate_nm_per_s,tooling_factor,thickness_sigma_percent,run_thickness_sigma_percent,index_sigma,minimum_nm,"
    "process_c,runs",
    BC_PROCESS_COLUMNS, columns};

#define ALL_OTHERS "*"

#define PERCENT (-2) /* as a power of ten */
#define A_NUMBER_OF_RUNS                                                                                               \
    {                                                                                                                  \
        2, false, 1e6, 0, "the number of runs it was learned from, from 2 to 1000000"                                  \
    }

static const bc_csv_range ranges[BC_PROCESS_COLUMNS] = {
    [BC_PROCESS_RATE] = {0, true, 1e6, 0, "a rate in nm per second above 0 and at most 1000000"},
    [BC_PROCESS_TOOLING] =
        {0.01, true, 100, 0,
         "thickness on the part divided by thickness at the monitor, above 0.01 and at most 100 (1 when they are "
         "alike)"},
    [BC_PROCESS_THICKNESS_SIGMA] = {0, false, 1, PERCENT,
                                    "the standard deviation of one layer's thickness in percent, from 0 to 100"},
    [BC_PROCESS_RUN_THICKNESS_SIGMA] =
        {-0.5, false, 0.5, PERCENT,
         "the standard deviation in percent of the thickness error that all layers of a run share, from -50 "
         "to 50"},
    [BC_PROCESS_INDEX_SIGMA] = {0, false, 1, 0, "the standard deviation of the material's index n, from 0 to 1"},
    [BC_PROCESS_MINIMUM] = {0, false, 1e6, 0,
                            "the thinnest layer the chamber can control in nm, from 0 to 1000000 (1 mm)"},
    [BC_PROCESS_C] = {-273.15, false, 5000, 0, "how hot the part is while it is coated, in degrees Celsius up to 5000"},
    [BC_PROCESS_GRADIENT] = {-0.5, false, 0.5, PERCENT,
                             "the index at a layer's outer side less that at its substrate side, in percent of their "
                             "average, from -50 to 50"},
    [BC_PROCESS_RUNS] = A_NUMBER_OF_RUNS,
    [BC_PROCESS_TOOLING_RUNS] = A_NUMBER_OF_RUNS,
    [BC_PROCESS_THICKNESS_SIGMA_RUNS] = A_NUMBER_OF_RUNS,
    [BC_PROCESS_RUN_THICKNESS_SIGMA_RUNS] = A_NUMBER_OF_RUNS,
    [BC_PROCESS_INDEX_SIGMA_RUNS] = A_NUMBER_OF_RUNS,
};

static double *value_of(bc_process_row *row, size_t column)
{
    double *const value[BC_PROCESS_COLUMNS] = {
        [BC_PROCESS_RATE] = &row->rate_nm_per_s,
        [BC_PROCESS_TOOLING] = &row->tooling,
        [BC_PROCESS_THICKNESS_SIGMA] = &row->thickness_sigma,
        [BC_PROCESS_RUN_THICKNESS_SIGMA] = &row->run_thickness_sigma,
        [BC_PROCESS_INDEX_SIGMA] = &row->index_sigma,
        [BC_PROCESS_MINIMUM] = &row->minimum_nm,
        [BC_PROCESS_C] = &row->process_c,
        [BC_PROCESS_GRADIENT] = &row->index_gradient,
        [BC_PROCESS_RUNS] = &row->runs.counted,
        [BC_PROCESS_TOOLING_RUNS] = &row->runs.tooling,
        [BC_PROCESS_THICKNESS_SIGMA_RUNS] = &row->runs.thickness_sigma,
        [BC_PROCESS_RUN_THICKNESS_SIGMA_RUNS] = &row->runs.run_thickness_sigma,
        [BC_PROCESS_INDEX_SIGMA_RUNS] = &row->runs.index_sigma,
    };
    return value[column];
}

/* NULL: a number of runs, which is given where it is not 0. */
static bool *flag_of(bc_process_row *row, size_t column)
{
    bool *const flag[BC_PROCESS_RUNS] = {
        [BC_PROCESS_RATE] = &row->has_rate,
        [BC_PROCESS_TOOLING] = &row->has_tooling,
        [BC_PROCESS_THICKNESS_SIGMA] = &row->has_thickness_sigma,
        [BC_PROCESS_RUN_THICKNESS_SIGMA] = &row->has_run_thickness_sigma,
        [BC_PROCESS_INDEX_SIGMA] = &row->has_index_sigma,
        [BC_PROCESS_MINIMUM] = &row->has_minimum,
        [BC_PROCESS_C] = &row->has_process_c,
        [BC_PROCESS_GRADIENT] = &row->has_index_gradient,
    };
    return column < BC_PROCESS_RUNS ? flag[column] : NULL;
}

const char *bc_process_column_name(size_t column)
{
    return columns[column].name;
}

int bc_process_column_power(size_t column)
{
    return -ranges[column].shift;
}

double bc_process_value(const bc_process_row *row, size_t column)
{
    bc_process_row copy = *row;
    return *value_of(&copy, column);
}

bool bc_process_is_given(const bc_process_row *row, size_t column)
{
    bc_process_row copy = *row;
    const bool *flag = flag_of(&copy, column);
    return flag == NULL ? *value_of(&copy, column) > 0.0 : *flag;
}

/* A row without a value. */
static bc_process_row neutral_row(void)
{
    return (bc_process_row){.tooling = 1};
}

static const bc_process_row *find_row(const bc_process *process, const char *material)
{
    for (size_t i = 0; i < process->rows; i++)
        if (strcmp(process->row[i].material, material) == 0)
            return &process->row[i];
    return NULL;
}

/* `process` holds the rows before this one. */
static bc_status read_material(const bc_csv *csv, size_t row, bc_materials *materials, const bc_process *process,
                               char material[BC_NAME_SIZE], bc_error *error)
{
    const char *name = bc_csv_text(csv, row, BC_PROCESS_MATERIAL);
    char where[BC_CSV_WHERE_SIZE];
    const bc_dispersion *dispersion = NULL;
    bool all_others = strcmp(name, ALL_OTHERS) == 0;
    if (name[0] == '\0')
        return bc_csv_fail(csv, row, BC_PROCESS_MATERIAL, error,
                           "a material's name, or '" ALL_OTHERS "' for all others");
    const bc_process_row *before = find_row(process, name);
    if (before != NULL)
        return bc_csv_fail(csv, row, BC_PROCESS_MATERIAL, error, "one row for %s (it is in line %ld already)",
                           all_others ? "all others" : "each material", before->line);
    bc_status status = all_others
                           ? BC_OK
                           : bc_materials_find(materials, name, bc_csv_where(csv, row, BC_PROCESS_MATERIAL, where),
                                               &dispersion, error);
    if (status == BC_OK)
        memcpy(material, name, strlen(name) + 1); /* found, so no longer than a material's name can be */
    return status;
}

/* The column of the runs that a figure is known by; BC_PROCESS_COLUMNS: it has none. */
static size_t runs_of(size_t figure)
{
    return figure == BC_PROCESS_TOOLING               ? BC_PROCESS_TOOLING_RUNS
           : figure == BC_PROCESS_THICKNESS_SIGMA     ? BC_PROCESS_THICKNESS_SIGMA_RUNS
           : figure == BC_PROCESS_RUN_THICKNESS_SIGMA ? BC_PROCESS_RUN_THICKNESS_SIGMA_RUNS
           : figure == BC_PROCESS_INDEX_SIGMA         ? BC_PROCESS_INDEX_SIGMA_RUNS
                                                      : BC_PROCESS_COLUMNS;
}

/* Figures of the row itself that say no runs of their own. */
static void share_runs(bc_process_row *row)
{
    for (size_t figure = BC_PROCESS_TOOLING; figure <= BC_PROCESS_INDEX_SIGMA; figure++)
        if (bc_process_is_given(row, figure) && !bc_process_is_given(row, runs_of(figure)))
            *value_of(row, runs_of(figure)) = row->runs.counted;
}

static bc_status read_values(const bc_csv *csv, size_t row, bc_process_row *out, bc_error *error)
{
    for (size_t column = BC_PROCESS_RATE; column < BC_PROCESS_COLUMNS; column++) {
        if (bc_csv_text(csv, row, column)[0] == '\0')
            continue;
        bc_status status = bc_csv_number(csv, row, column, &ranges[column], value_of(out, column), error);
        if (status != BC_OK)
            return status;
        if (flag_of(out, column) != NULL)
            *flag_of(out, column) = true;
    }
    share_runs(out);
    return BC_OK;
}

static void note_given(bc_process *process, const bc_process_row *row)
{
    process->has_rate = process->has_rate || row->has_rate;
    process->has_tooling = process->has_tooling || row->has_tooling;
    process->has_thickness_sigma = process->has_thickness_sigma || row->has_thickness_sigma;
    process->has_run_thickness_sigma = process->has_run_thickness_sigma || row->has_run_thickness_sigma;
    process->has_index_sigma = process->has_index_sigma || row->has_index_sigma;
    process->has_minimum = process->has_minimum || row->has_minimum;
    process->has_process_c = process->has_process_c || row->has_process_c;
    process->has_index_gradient = process->has_index_gradient || row->has_index_gradient;
}

static bc_status read_rows(const bc_csv *csv, bc_materials *materials, bc_process *process, bc_error *error)
{
    process->row = calloc(csv->rows, sizeof *process->row);
    if (process->row == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < csv->rows; i++) {
        bc_process_row row = neutral_row();
        row.line = csv->line[i];
        bc_status status = read_material(csv, i, materials, process, row.material, error);
        if (status == BC_OK)
            status = read_values(csv, i, &row, error);
        if (status != BC_OK)
            return status;
        note_given(process, &row);
        process->row[process->rows++] = row;
    }
    return BC_OK;
}

bc_status bc_process_read(const char *path, bc_materials *materials, bc_process *process, bc_error *error)
{
    bc_csv *csv = NULL;
    *process = (bc_process){0};
    bc_status status = bc_csv_read(path, &schema, &csv, error);
    if (status != BC_OK)
        return status;
    status = read_rows(csv, materials, process, error);
    memcpy(process->sha256, csv->sha256, sizeof csv->sha256);
    bc_csv_free(csv);
    if (status != BC_OK)
        bc_process_clear(process);
    return status;
}

void bc_process_clear(bc_process *process)
{
    free(process->row);
    *process = (bc_process){0};
}

/* Values of `over` replace those of `row`, with the runs they are known by. */
static void overlay(bc_process_row *row, const bc_process_row *over)
{
    for (size_t column = BC_PROCESS_RATE; column < BC_PROCESS_COLUMNS; column++) {
        if (!bc_process_is_given(over, column))
            continue;
        *value_of(row, column) = bc_process_value(over, column);
        if (flag_of(row, column) != NULL)
            *flag_of(row, column) = true;
        if (runs_of(column) != BC_PROCESS_COLUMNS)
            *value_of(row, runs_of(column)) = 0.0;
    }
    row->line = over->line;
}

bc_process_row bc_process_for(const bc_process *process, const char *material)
{
    bc_process_row merged = neutral_row();
    const char *const names[] = {ALL_OTHERS, material};
    for (size_t i = 0; i < 2 && process != NULL; i++) {
        const bc_process_row *row = find_row(process, names[i]);
        if (row != NULL)
            overlay(&merged, row);
    }
    memcpy(merged.material, material, strnlen(material, BC_NAME_SIZE - 1)); /* the rest of it is zero */
    return merged;
}

bc_status bc_process_grade(const bc_process *process, bc_materials *materials, const bc_dispersion **layer,
                           bc_error *error)
{
    const bc_process_row row = bc_process_for(process, bc_dispersion_name(*layer));
    if (row.index_gradient == 0.0 || bc_dispersion_states_gradient(*layer))
        return BC_OK;
    return bc_materials_graded(materials, *layer, row.index_gradient, layer, error);
}

bc_status bc_process_copy(const bc_process *from, size_t more, bc_process *to, bc_error *error)
{
    const size_t rows = from == NULL ? 0 : from->rows;
    *to = from == NULL ? (bc_process){0} : *from;
    to->sha256[0] = '\0';
    to->row = calloc(rows + more + 1, sizeof *to->row);
    if (to->row == NULL) {
        to->rows = 0;
        return bc_fail_memory(error);
    }
    if (rows > 0)
        memcpy(to->row, from->row, rows * sizeof *from->row);
    return BC_OK;
}

bc_process_row *bc_process_own_row(bc_process *process, const char *material)
{
    for (size_t i = 0; i < process->rows; i++)
        if (strcmp(process->row[i].material, material) == 0)
            return &process->row[i];
    process->row[process->rows] = bc_process_for(process, material);
    return &process->row[process->rows++];
}
