/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "grow.h"
#include "measured_steps.h"
#include <stdio.h>
#include <string.h>

#define FEWEST_ROWS 3 /* that make a block without a header which says wavelength */

const char *bc_measured_header(const measured_table *table, const measured_block *block, size_t place)
{
    return block->header == MEASURED_NONE ? "" : bc_measured_cell(table, block->header, place);
}

const char *bc_measured_units(const measured_table *table, const measured_block *block, size_t place)
{
    return block->units == MEASURED_NONE ? "" : bc_measured_cell(table, block->units, place);
}

const char *bc_measured_place(const measured_table *table, const measured_block *block, size_t place,
                              char out[MEASURED_PLACE_SIZE])
{
    char shown[BC_ESCAPED_SIZE];
    const char *header = bc_measured_header(table, block, place);
    if (header[0] == '\0')
        snprintf(out, MEASURED_PLACE_SIZE, "column %zu", place + 1);
    else
        snprintf(out, MEASURED_PLACE_SIZE, "column %zu (%s)", place + 1, bc_escaped(header, shown));
    return out;
}

static bool is_good(const measured_table *table, size_t line, bc_decimal decimal, size_t *bad)
{
    size_t numbers = 0, filled = 0;
    bool first = false;
    for (size_t place = 0; place < bc_measured_width(table, line); place++) {
        const char *cell = bc_measured_cell(table, line, place);
        if (cell[0] == '\0')
            continue;
        const bool number = bc_measured_number(decimal, cell, 0, NULL, NULL);
        first = filled++ == 0 ? number : first;
        numbers += number;
    }
    *bad += filled - numbers;
    return first && numbers >= 2;
}

/* The nearest line above `line` that is not blank and does not belong to the block before; MEASURED_NONE. */
static size_t line_above(const measured_table *table, size_t line)
{
    const size_t end = table->blocks == 0 ? 0 : table->block[table->blocks - 1].to;
    while (line > end && table->kind[line - 1] == KIND_BLANK)
        line--;
    return line > end ? line - 1 : MEASURED_NONE;
}

static bool names_axis(const measured_table *table, size_t line)
{
    for (size_t place = 0; place < bc_measured_width(table, line); place++) {
        const measured_about about = bc_measured_meaning(bc_measured_cell(table, line, place), "").about;
        if (about == ABOUT_WAVELENGTH || about == ABOUT_NO_WAVELENGTH)
            return true;
    }
    return false;
}

static void find_header(const measured_table *table, measured_block *block)
{
    const size_t above = line_above(table, block->from);
    const size_t names = above == MEASURED_NONE ? MEASURED_NONE : line_above(table, above);
    if (above == MEASURED_NONE)
        return;
    if (names != MEASURED_NONE && bc_measured_is_units(table, above) &&
        bc_measured_is_header(table, names, block->width)) {
        block->header = names;
        block->units = above;
        block->names_axis = names_axis(table, names) || names_axis(table, above);
    } else if (bc_measured_is_header(table, above, block->width)) {
        block->header = above;
        block->names_axis = names_axis(table, above);
    }
}

bc_status bc_measured_find_blocks(measured_table *table, bc_decimal decimal, measured_score *score, bc_error *error)
{
    *score = (measured_score){0};
    table->decimal = decimal;
    table->blocks = 0;
    for (size_t line = 0; line < table->lines->count;) {
        measured_block block = {line, line, 0, MEASURED_NONE, MEASURED_NONE, false};
        measured_score here = {0};
        if (table->kind[line] != KIND_ROW) {
            line++;
            continue;
        }
        for (; line < table->lines->count && table->kind[line] != KIND_WORDS; line++) {
            if (table->kind[line] != KIND_ROW)
                continue;
            here.good += is_good(table, line, decimal, &here.bad);
            block.to = line + 1;
            if (bc_measured_width(table, line) > block.width)
                block.width = bc_measured_width(table, line);
        }
        find_header(table, &block);
        if (here.good == 0 || (here.good < FEWEST_ROWS && !block.names_axis))
            continue;
        measured_block *moved = bc_grow(table->block, &table->block_capacity, table->blocks, sizeof *table->block);
        if (moved == NULL)
            return bc_fail_memory(error);
        table->block = moved;
        table->block[table->blocks++] = block;
        score->good += here.good;
        score->bad += here.bad;
    }
    return BC_OK;
}

static const bc_separator separators[] = {BC_SEPARATOR_TAB, BC_SEPARATOR_SEMICOLON, BC_SEPARATOR_COMMA,
                                          BC_SEPARATOR_BLANKS};

/* Try every separator and decimal sign that the caller leaves open: most rows read, then fewest cells that are none. */
static bc_status find_signs(const bc_measured_options *options, measured_table *table, bc_separator *separator,
                            bc_decimal *decimal, bc_error *error)
{
    measured_score best = {0};
    for (size_t i = 0; i < sizeof separators / sizeof separators[0]; i++) {
        if (options->separator != BC_SEPARATOR_UNTOLD && options->separator != separators[i])
            continue;
        bc_status status = bc_measured_split(table, separators[i], error);
        for (int sign = BC_DECIMAL_POINT; status == BC_OK && sign <= BC_DECIMAL_COMMA; sign++) {
            measured_score score;
            if (options->decimal != BC_DECIMAL_UNTOLD && (int)options->decimal != sign)
                continue;
            status = bc_measured_find_blocks(table, (bc_decimal)sign, &score, error);
            if (status != BC_OK || score.good < best.good || score.good == 0 ||
                (score.good == best.good && score.bad >= best.bad))
                continue;
            best = score;
            *separator = separators[i];
            *decimal = (bc_decimal)sign;
        }
        if (status != BC_OK)
            return status;
    }
    return BC_OK;
}

/* What the rows of all blocks look like, for a comma that may be a separator or a decimal sign. */
typedef struct comma_look {
    bool all_whole; /* nothing but digits and signs in any cell */
    bool one_width;
    size_t width;
    size_t line; /* the first row */
} comma_look;

static comma_look look_at_commas(const measured_table *table)
{
    comma_look look = {true, true, table->block[0].width, table->block[0].from};
    for (size_t b = 0; b < table->blocks; b++) {
        for (size_t line = table->block[b].from; line < table->block[b].to; line++) {
            if (table->kind[line] != KIND_ROW)
                continue;
            look.one_width = look.one_width && bc_measured_width(table, line) == look.width;
            for (size_t place = 0; place < bc_measured_width(table, line); place++) {
                const char *cell = bc_measured_cell(table, line, place);
                look.all_whole = look.all_whole && cell[strspn(cell, "+-0123456789")] == '\0';
            }
        }
    }
    return look;
}

static bc_status fail_halves(const measured_table *table, const comma_look *look, bc_error *error)
{
    char shown[BC_ESCAPED_SIZE];
    return bc_fail(error, BC_ERROR_INPUT,
                   "%s:%zu: found '%s', which leaves open which commas part the columns and which are decimal "
                   "signs; expected an even number of cells in every row, two for each number, or another sign between "
                   "the columns",
                   table->path, look->line + 1, bc_escaped(table->lines->line[look->line], shown));
}

/* Take every second comma for a decimal sign; not all that looked like halves need be the halves of numbers. */
static bc_status join_halves(measured_table *table, const comma_look *look, bc_error *error)
{
    measured_score score;
    bc_status status = bc_measured_join_pairs(table, error);
    if (status == BC_OK)
        status = bc_measured_find_blocks(table, BC_DECIMAL_COMMA, &score, error);
    return status == BC_OK && table->blocks == 0 ? fail_halves(table, look, error) : status;
}

/* "400,0,0,31": four columns of whole numbers, or two with decimal commas? The number of names in the header decides.
 */
static bc_status settle_commas(const bc_measured_options *options, measured_table *table, bc_error *error)
{
    const comma_look look = look_at_commas(table);
    const size_t header = table->block[0].header;
    const size_t names = header == MEASURED_NONE ? 0 : bc_measured_width(table, header);
    char shown[BC_ESCAPED_SIZE];
    if (names != 0 && look.width > names && !(look.all_whole && look.one_width && look.width == 2 * names))
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%zu: found '%s', up to %zu cells in a row below %zu names; expected a name for each "
                       "column (a comma cannot part the columns and be the decimal sign as well)",
                       table->path, look.line + 1, bc_escaped(table->lines->line[look.line], shown), look.width, names);
    if (!look.all_whole || look.width < 3)
        return BC_OK;
    if (options->decimal == BC_DECIMAL_POINT || (options->decimal == BC_DECIMAL_UNTOLD && look.width == names))
        return BC_OK;
    if (look.one_width && look.width % 2 == 0 && (options->decimal == BC_DECIMAL_COMMA || look.width == 2 * names))
        return join_halves(table, &look, error);
    if (options->decimal == BC_DECIMAL_COMMA)
        return fail_halves(table, &look, error);
    return bc_fail(error, BC_ERROR_INPUT,
                   "%s:%zu: found '%s', where a comma may part the columns or be the decimal sign; expected --decimal "
                   "point or --decimal comma",
                   table->path, look.line + 1, bc_escaped(table->lines->line[look.line], shown));
}

/* Behind the first block a row or two by themselves may be data that a line of words cut off. */
static bc_status refuse_stray_rows(const measured_table *table, bc_error *error)
{
    size_t block = 0;
    for (size_t line = table->block[0].to; line < table->lines->count; line++) {
        size_t bad = 0;
        while (block + 1 < table->blocks && line >= table->block[block + 1].from)
            block++;
        if (line < table->block[block].to || table->kind[line] != KIND_ROW ||
            bc_measured_width(table, line) != table->block[0].width || !is_good(table, line, table->decimal, &bad))
            continue;
        char shown[BC_ESCAPED_SIZE];
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%zu: found '%s', a row of numbers after words; expected all rows of a scan together, or "
                       "their header above them",
                       table->path, line + 1, bc_escaped(table->lines->line[line], shown));
    }
    return BC_OK;
}

bc_status bc_measured_lay_out(const char *path, const measured_lines *lines, const bc_measured_options *options,
                              measured_table *table, bc_error *error)
{
    bc_separator separator = BC_SEPARATOR_UNTOLD;
    bc_decimal decimal = BC_DECIMAL_UNTOLD;
    measured_score score;
    *table = (measured_table){.path = path, .lines = lines};
    bc_status status = find_signs(options, table, &separator, &decimal, error);
    if (status != BC_OK)
        return status;
    if (separator == BC_SEPARATOR_UNTOLD)
        return bc_fail(
            error, BC_ERROR_INPUT,
            "%s: found no rows of numbers among its lines (%zu); expected a wavelength and a value in each row, "
            "with a comma, a semicolon, a tab or blanks between them",
            path, lines->count);
    status = bc_measured_split(table, separator, error);
    if (status == BC_OK)
        status = bc_measured_find_blocks(table, decimal, &score, error);
    if (status == BC_OK && separator == BC_SEPARATOR_COMMA)
        status = settle_commas(options, table, error);
    return status == BC_OK ? refuse_stray_rows(table, error) : status;
}
