/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "file.h"
#include "measured_steps.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_NM     100.0 /* below it no coating of this kind is measured: the unit is another */
#define MOST_NM      1e5
#define SWEEP_FROM   150.0
#define SWEEP_TO     3400.0
#define MOST_UM      60.0
#define FRACTION_TOP 1.5
#define FEW_POINTS   8  /* of which one above it is enough */
#define BEYOND_SHARE 20 /* of so many points one */
#define LOWEST       (-0.05)
#define HIGHEST      1.10

#define UM_TO_NM 3 /* as powers of ten */
#define PERCENT  (-2)

typedef struct range {
    double from, to;
} range;

static range range_of(const measured_points *points, bool wavelength)
{
    range all = {INFINITY, -INFINITY};
    for (size_t i = 0; i < points->count; i++) {
        const double value = wavelength ? points->point[i].wavelength : points->point[i].value;
        all.from = fmin(all.from, value);
        all.to = fmax(all.to, value);
    }
    return all;
}

static size_t stated_in(const measured_points *points)
{
    return (points->block.header == MEASURED_NONE ? points->block.from : points->block.header) + 1;
}

static bc_status tell_wavelength_unit(const measured_table *table, const measured_points *points,
                                      const bc_measured_options *options, bc_measured_file *file, bc_error *error)
{
    const measured_meaning *meaning = &points->choice.wavelength_meaning;
    const range all = range_of(points, true);
    char where[MEASURED_PLACE_SIZE];
    file->wavelength_unit_stated = BC_STATED_VALUES;
    if (options->wavelength_unit != BC_WAVELENGTH_UNTOLD) {
        file->wavelength_unit = options->wavelength_unit;
        file->wavelength_unit_stated = BC_STATED_OPTION;
    } else if (meaning->wavelength_unit != BC_WAVELENGTH_UNTOLD) {
        file->wavelength_unit = meaning->wavelength_unit;
        file->wavelength_unit_stated = BC_STATED_HEADER;
    } else if ((meaning->names_wavelength && all.from >= LEAST_NM) || (all.from >= SWEEP_FROM && all.to <= SWEEP_TO)) {
        file->wavelength_unit = BC_WAVELENGTH_NM;
    } else if (meaning->names_wavelength && all.to < MOST_UM) {
        file->wavelength_unit = BC_WAVELENGTH_UM;
    } else {
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%zu: %s: found numbers from %.6g to %.6g and no unit; expected --wavelength-unit nm or "
                       "--wavelength-unit um (wavenumbers in cm-1 are not read)",
                       table->path, stated_in(points),
                       bc_measured_place(table, &points->block, points->choice.wavelength[0], where), all.from, all.to);
    }
    return BC_OK;
}

/* No part reflects 150 %; one point alone may be a spike of the lamp. */
static bool is_beyond_fractions(const measured_points *points)
{
    size_t beyond = 0;
    for (size_t i = 0; i < points->count; i++)
        beyond += points->point[i].value > FRACTION_TOP;
    return beyond >= (points->count < FEW_POINTS ? 1 : 2) && BEYOND_SHARE * beyond >= points->count;
}

static bc_status refuse_other_unit(const measured_table *table, const measured_points *points,
                                   const bc_measured_options *options, bc_measured_file *file, bc_error *error)
{
    static const char *const names[] = {[BC_UNIT_PERCENT] = "percent", [BC_UNIT_FRACTION] = "fraction"};
    const measured_meaning *meaning = &points->choice.value_meaning;
    char where[MEASURED_PLACE_SIZE];
    if (meaning->unit == BC_UNIT_UNTOLD || meaning->unit == options->unit)
        return BC_OK;
    file->overruled = true;
    return options->overrule
               ? BC_OK
               : bc_fail(error, BC_ERROR_INPUT,
                         "%s:%zu: %s: found a header that says %s, and --unit %s; expected one unit (leave --unit out, "
                         "or add --overrule where the header is wrong)",
                         table->path, stated_in(points),
                         bc_measured_place(table, &points->block, points->choice.place[0], where), names[meaning->unit],
                         names[options->unit]);
}

static bc_status tell_unit(const measured_table *table, const measured_points *points,
                           const bc_measured_options *options, bc_measured_file *file, bc_error *error)
{
    const measured_meaning *meaning = &points->choice.value_meaning;
    const range all = range_of(points, false);
    char where[MEASURED_PLACE_SIZE];
    if (options->unit != BC_UNIT_UNTOLD) {
        file->unit = options->unit;
        file->unit_stated = BC_STATED_OPTION;
        return refuse_other_unit(table, points, options, file, error);
    } else if (options->signal != BC_SIGNAL_NOT) {
        file->unit = meaning->unit == BC_UNIT_PERCENT || points->percent ? BC_UNIT_PERCENT : BC_UNIT_FRACTION;
        file->unit_stated = meaning->unit == BC_UNIT_UNTOLD && !points->percent ? BC_STATED_NOT : BC_STATED_HEADER;
    } else if (meaning->unit != BC_UNIT_UNTOLD) {
        file->unit = meaning->unit;
        file->unit_stated = BC_STATED_HEADER;
    } else if (points->percent) {
        file->unit = BC_UNIT_PERCENT;
        file->unit_stated = BC_STATED_CELLS;
    } else if (is_beyond_fractions(points)) {
        file->unit = BC_UNIT_PERCENT;
        file->unit_stated = BC_STATED_VALUES;
    } else {
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%zu: %s: found values from %.6g to %.6g and no unit, which may be percent or fractions; "
                       "expected --unit percent or --unit fraction",
                       table->path, stated_in(points),
                       bc_measured_place(table, &points->block, points->choice.place[0], where), all.from, all.to);
    }
    return BC_OK;
}

static const char *stated_by(bc_stated stated)
{
    static const char *const words[] = {[BC_STATED_NOT] = "",
                                        [BC_STATED_OPTION] = "as the option says",
                                        [BC_STATED_HEADER] = "as the header says",
                                        [BC_STATED_CELLS] = "as the % says",
                                        [BC_STATED_VALUES] = "by the other values",
                                        [BC_STATED_WORDS] = "as the file says"};
    return words[stated];
}

static bc_status refuse_outside(const measured_table *table, const measured_points *points,
                                const bc_measured_file *file, bool signal, bc_error *error)
{
    char where[MEASURED_PLACE_SIZE], shown[BC_ESCAPED_SIZE];
    for (size_t i = 0; i < points->count; i++) {
        const measured_point *point = &points->point[i];
        const size_t column = point->scan % points->choice.count;
        const size_t wavelength = points->choice.wavelength[column];
        if (point->wavelength < LEAST_NM || point->wavelength > MOST_NM)
            return bc_fail(
                error, BC_ERROR_INPUT, "%s:%zu: %s: found '%s'; expected a wavelength in %s, %s, from 100 nm to 100 um",
                table->path, point->line + 1, bc_measured_place(table, &points->block, wavelength, where),
                bc_escaped(bc_measured_cell(table, point->line, wavelength), shown),
                file->wavelength_unit == BC_WAVELENGTH_NM ? "nm" : "um", stated_by(file->wavelength_unit_stated));
        if (!signal && (point->value < LOWEST || point->value > HIGHEST))
            return bc_fail(error, BC_ERROR_INPUT, "%s:%zu: %s: found '%s'; expected %s, %s, from %s with some noise",
                           table->path, point->line + 1, bc_measured_place(table, &points->block, point->place, where),
                           bc_escaped(bc_measured_cell(table, point->line, point->place), shown),
                           file->unit == BC_UNIT_PERCENT ? "percent" : "fractions", stated_by(file->unit_stated),
                           file->unit == BC_UNIT_PERCENT ? "0 to 100" : "0 to 1");
    }
    return BC_OK;
}

static bc_decimal find_decimal(const measured_table *table, const measured_points *points)
{
    const char sign = table->decimal == BC_DECIMAL_COMMA ? ',' : '.';
    for (size_t i = 0; i < points->count; i++) {
        const measured_point *point = &points->point[i];
        const size_t wavelength = points->choice.wavelength[point->scan % points->choice.count];
        if (strchr(bc_measured_cell(table, point->line, point->place), sign) != NULL ||
            strchr(bc_measured_cell(table, point->line, wavelength), sign) != NULL)
            return table->decimal;
    }
    return BC_DECIMAL_UNTOLD;
}

static bc_status describe_columns(const measured_table *table, const measured_points *points, bc_measured_file *file,
                                  bc_error *error)
{
    const measured_choice *choice = &points->choice;
    const measured_block *block = &points->block;
    const size_t names = block->header == MEASURED_NONE ? 0 : bc_measured_width(table, block->header);
    file->columns = names > block->width ? names : block->width;
    file->column = calloc(file->columns, sizeof *file->column);
    if (file->column == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < file->columns; i++) {
        file->column[i].header = bc_escaped_copy(bc_measured_header(table, block, i));
        if (file->column[i].header == NULL)
            return bc_fail_memory(error);
    }
    if (choice->uncertainty != MEASURED_NONE)
        file->column[choice->uncertainty].role = BC_ROLE_UNCERTAINTY;
    for (size_t i = 0; i < choice->count; i++) {
        file->column[choice->place[i]].role = BC_ROLE_VALUE;
        file->column[choice->wavelength[i]].role = BC_ROLE_WAVELENGTH;
    }
    return BC_OK;
}

static void describe(const measured_table *table, const measured_points *points, const bc_measured_options *options,
                     bc_measured_file *file)
{
    const measured_meaning *meaning = &points->choice.value_meaning;
    file->separator = table->separator;
    file->decimal = find_decimal(table, points);
    file->rows_left_out = points->left_out;
    file->counts = options->signal != BC_SIGNAL_NOT && meaning->about == ABOUT_RAW;
    file->header_line = points->block.header == MEASURED_NONE ? 0 : (long)points->block.header + 1;
    file->first_line = file->last_line = (long)points->point[0].line + 1;
    for (size_t i = 0; i < points->count; i++) {
        const long line = (long)points->point[i].line + 1;
        file->first_line = line < file->first_line ? line : file->first_line;
        file->last_line = line > file->last_line ? line : file->last_line;
    }
    if (options->quantity != NULL) {
        file->has_quantity = true;
        file->quantity = *options->quantity;
        file->quantity_stated = BC_STATED_OPTION;
    }
    if (meaning->names_quantity && !(options->overrule && options->quantity != NULL)) {
        file->has_quantity = true;
        file->quantity = meaning->quantity;
        file->quantity_stated = BC_STATED_HEADER;
    }
}

/* The numbers are read once to find their units, and again in these units, so that each is rounded once. */
static bc_status read_points(const measured_table *table, const bc_measured_options *options, bc_measured_file *file,
                             measured_points *points, bc_error *error)
{
    const measured_shifts as_written = {0, 0};
    measured_shifts shifts;
    bc_status status = bc_measured_gather(table, options, as_written, points, error);
    if (status == BC_OK)
        status = tell_wavelength_unit(table, points, options, file, error);
    if (status == BC_OK)
        status = tell_unit(table, points, options, file, error);
    if (status != BC_OK)
        return status;
    shifts.wavelength = file->wavelength_unit == BC_WAVELENGTH_UM ? UM_TO_NM : 0;
    shifts.value = file->unit == BC_UNIT_PERCENT ? PERCENT : 0;
    bc_measured_points_clear(points);
    status = bc_measured_gather(table, options, shifts, points, error);
    return status == BC_OK ? refuse_outside(table, points, file, options->signal != BC_SIGNAL_NOT, error) : status;
}

static bc_status read_table(const measured_table *table, const bc_measured_options *options, bc_measured_file *file,
                            bc_error *error)
{
    measured_points points = {0};
    bc_status status = read_points(table, options, file, &points, error);
    if (status == BC_OK)
        describe(table, &points, options, file);
    if (status == BC_OK)
        status = bc_measured_conditions(table, &points, options, file, error);
    if (status == BC_OK)
        status = describe_columns(table, &points, file, error);
    if (status == BC_OK)
        status = bc_measured_merge(table, &points, file, error);
    if (status == BC_OK)
        status = bc_measured_settings(table, &points, options, file, error);
    bc_measured_points_clear(&points);
    return status;
}

bc_status bc_measured_file_read(const char *path, const bc_measured_options *options, bc_measured_file *file,
                                bc_error *error)
{
    static const bc_measured_options by_the_file = {0};
    char shown[BC_ESCAPED_PATH_SIZE];
    char *bytes = NULL;
    size_t length = 0;
    measured_lines lines = {0};
    measured_table table = {0};
    *file = (bc_measured_file){0};
    options = options == NULL ? &by_the_file : options;
    bc_status status = bc_file_read(path, &bytes, &length, error);
    if (status == BC_OK)
        status = bc_measured_cut(bc_escaped_path(path, shown), bytes, length, &lines, error);
    if (status == BC_OK)
        bc_sha256(bytes, length, file->sha256);
    free(bytes);
    if (status == BC_OK)
        status = bc_measured_lay_out(shown, &lines, options, &table, error);
    if (status == BC_OK)
        status = read_table(&table, options, file, error);
    bc_measured_table_clear(&table);
    bc_measured_lines_clear(&lines);
    if (status != BC_OK)
        bc_measured_file_clear(file);
    return status;
}

void bc_measured_file_clear(bc_measured_file *file)
{
    for (size_t i = 0; file->column != NULL && i < file->columns; i++)
        free(file->column[i].header);
    free(file->column);
    free(file->wavelength_nm);
    free(file->value);
    free(file->repeats);
    free(file->line);
    free(file->missing_nm);
    free(file->missing_line);
    free(file->deviation_of_mean);
    free(file->uncertainty);
    *file = (bc_measured_file){0};
}
