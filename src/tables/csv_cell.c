/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "csv_file.h"
#include "escaped.h"
#include "nearest.h"
#include "number.h"
#include "print.h"
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

bool bc_csv_has(const bc_csv *csv, size_t column)
{
    return csv->position[column] != BC_CSV_ABSENT;
}

const char *bc_csv_text(const bc_csv *csv, size_t row, size_t column)
{
    if (!bc_csv_has(csv, column))
        return "";
    return csv->text + csv->cell[row * csv->width + csv->position[column]];
}

const char *bc_csv_where(const bc_csv *csv, size_t row, size_t column, char out[BC_CSV_WHERE_SIZE])
{
    if (bc_csv_has(csv, column))
        snprintf(out, BC_CSV_WHERE_SIZE, "%s:%ld: column %zu (%s)", csv->path, csv->line[row],
                 csv->position[column] + 1, csv->schema->column[column].name);
    else
        snprintf(out, BC_CSV_WHERE_SIZE, "%s:%ld", csv->path, csv->line[row]);
    return out;
}

static bc_status fail_cell(const bc_csv *csv, size_t row, size_t column, bc_error *error, const char *remark,
                           const char *expected)
{
    char where[BC_CSV_WHERE_SIZE], shown[BC_ESCAPED_SIZE];
    return bc_fail(error, BC_ERROR_INPUT, "%s: found '%s'%s; expected %s", bc_csv_where(csv, row, column, where),
                   bc_escaped(bc_csv_text(csv, row, column), shown), remark, expected);
}

bc_status bc_csv_fail(const bc_csv *csv, size_t row, size_t column, bc_error *error, const char *format, ...)
{
    char expected[BC_ERROR_SIZE];
    va_list arguments;
    va_start(arguments, format);
    bc_print_list(expected, sizeof expected, format, arguments);
    va_end(arguments);
    return fail_cell(csv, row, column, error, "", expected);
}

bc_status bc_csv_number(const bc_csv *csv, size_t row, size_t column, const bc_csv_range *range, double *value,
                        bc_error *error)
{
    double number = 0;
    bc_number_status read = bc_number_parse(bc_csv_text(csv, row, column), range->shift, &number);
    if (read != BC_NUMBER_OK)
        return fail_cell(csv, row, column, error, bc_number_remark(read), range->expected);
    if (number < range->smallest || (range->above && number <= range->smallest) || number > range->largest)
        return fail_cell(csv, row, column, error, "", range->expected);
    *value = number + 0.0; /* no negative zero */
    return BC_OK;
}

bc_status bc_csv_choice(const bc_csv *csv, size_t row, size_t column, size_t count, const char *const *word,
                        size_t *choice, bc_error *error)
{
    char all[256] = "";
    const char *nearest = NULL;
    const char *text = bc_csv_text(csv, row, column);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(text, word[i]) == 0) {
            *choice = i;
            return BC_OK;
        }
        size_t used = strlen(all);
        snprintf(all + used, sizeof all - used, "%s'%s'", i == 0 ? "" : i + 1 == count ? " or " : ", ", word[i]);
    }
    if (bc_nearest(text, count, word, 1, &nearest) == 1)
        return bc_csv_fail(csv, row, column, error, "%s (perhaps '%s')", all, nearest);
    return bc_csv_fail(csv, row, column, error, "%s", all);
}
