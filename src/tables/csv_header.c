/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "csv_steps.h"
#include "escaped.h"
#include "nearest.h"
#include <stdio.h>
#include <string.h>
#include <strings.h>

#define LIST_SIZE 512

static const char *header_cell(const bc_csv *csv, size_t place)
{
    return csv->text + csv->cell[place];
}

/* Append `word` to a list that is shown; a list too long for its room ends early. */
static void list(char *text, const char *word)
{
    size_t used = strlen(text);
    snprintf(text + used, LIST_SIZE - used, "%s%s", used == 0 ? "" : ", ", word);
}

static bc_status fail_unknown(const bc_csv *csv, size_t place, bc_error *error)
{
    const char *names[BC_CSV_COLUMNS_MOST];
    const char *nearest = NULL;
    char shown[BC_ESCAPED_SIZE], all[LIST_SIZE] = "";
    const char *word = header_cell(csv, place);
    for (size_t i = 0; i < csv->schema->columns; i++) {
        names[i] = csv->schema->column[i].name;
        list(all, names[i]);
    }
    if (bc_nearest(word, csv->schema->columns, names, 1, &nearest) == 1)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%ld: column %zu: found '%s', an unknown column; expected '%s' perhaps "
                       "(the columns known here: %s)",
                       csv->path, csv->header_line, place + 1, bc_escaped(word, shown), nearest, all);
    return bc_fail(error, BC_ERROR_INPUT, "%s:%ld: column %zu: found '%s', an unknown column; expected one of %s",
                   csv->path, csv->header_line, place + 1, bc_escaped(word, shown), all);
}

static bc_status match_one(bc_csv *csv, size_t place, bc_error *error)
{
    const char *word = header_cell(csv, place);
    size_t column = 0;
    while (column < csv->schema->columns && strcasecmp(word, csv->schema->column[column].name) != 0)
        column++;
    if (column == csv->schema->columns)
        return fail_unknown(csv, place, error);
    if (csv->position[column] != BC_CSV_ABSENT)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%ld: column %zu: found '%s' again; expected each column once (it is "
                       "column %zu already)",
                       csv->path, csv->header_line, place + 1, word, csv->position[column] + 1);
    csv->position[column] = place;
    csv->heading[place] = csv->schema->column[column].name;
    return BC_OK;
}

bc_status bc_csv_match_header(bc_csv *csv, bc_error *error)
{
    char missing[LIST_SIZE] = "";
    for (size_t place = 0; place < csv->width; place++) {
        bc_status status = match_one(csv, place, error);
        if (status != BC_OK)
            return status;
    }
    for (size_t i = 0; i < csv->schema->columns; i++)
        if (csv->schema->column[i].required && csv->position[i] == BC_CSV_ABSENT)
            list(missing, csv->schema->column[i].name);
    if (missing[0] != '\0')
        return bc_fail(error, BC_ERROR_INPUT, "%s:%ld: found a header without %s; expected a header such as %s",
                       csv->path, csv->header_line, missing, csv->schema->example);
    return BC_OK;
}
