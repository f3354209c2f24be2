/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/table.h"
#include "print.h"
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define GAP        2  /* columns between cells */
#define LEAST_CUT  12 /* less than this of a cell says nothing */
#define MARK_WIDTH 3  /* of the dots after a cut cell */

void bc_table_row(bc_table *table)
{
    void *cell;
    if (table->failed)
        return;
    cell = realloc(table->cell, (table->rows + 1) * sizeof *table->cell);
    if (cell == NULL) {
        table->failed = true;
        return;
    }
    table->cell = cell;
    memset(table->cell[table->rows], 0, sizeof *table->cell);
    table->rows++;
}

void bc_table_cell(bc_table *table, size_t column, const char *format, ...)
{
    va_list arguments;
    if (table->failed || table->rows == 0)
        return;
    va_start(arguments, format);
    bc_print_list(table->cell[table->rows - 1][column], BC_TABLE_CELL, format, arguments);
    va_end(arguments);
}

static void widest_cells(const bc_table *table, size_t width[BC_TABLE_COLUMNS])
{
    for (size_t column = 0; column < table->columns; column++) {
        width[column] = 0;
        for (size_t row = 0; row < table->rows; row++) {
            const size_t cell = bc_text_width(table->cell[row][column]);
            if (cell > width[column])
                width[column] = cell;
        }
    }
}

/* What is left of the line for one column beside the others. */
static size_t room_for(const bc_table *table, const size_t width[BC_TABLE_COLUMNS], size_t which)
{
    size_t others = table->indent;
    for (size_t column = 0; column < table->columns; column++)
        others += (column > 0 ? GAP : 0) + (column == which ? 0 : width[column]);
    return others < BC_TEXT_COLUMNS ? BC_TEXT_COLUMNS - others : 0;
}

/* Widths that fit the line, as far as the columns that give way allow it. */
static void measure(const bc_table *table, size_t width[BC_TABLE_COLUMNS])
{
    const size_t last = table->columns - 1;
    size_t room, fitting = 0;
    widest_cells(table, width);
    room = room_for(table, width, last);
    if (table->cut_last && width[last] > room)
        width[last] = room < LEAST_CUT ? LEAST_CUT : room;
    room = room_for(table, width, 0);
    /* NOLINTNEXTLINE(clang-analyzer-core.UndefinedBinaryOperatorResult): a table has a column */
    if (width[0] <= room)
        return;
    for (size_t row = 0; row < table->rows; row++) {
        const size_t cell = bc_text_width(table->cell[row][0]);
        if (cell <= room && cell > fitting)
            fitting = cell;
    }
    width[0] = fitting;
}

/* Cut a cell to `room` columns, on a character's boundary. */
static void cut(char *cell, size_t room)
{
    size_t length = 0, kept = 0;
    if (bc_text_width(cell) <= room)
        return;
    for (size_t taken = 0; taken + MARK_WIDTH <= room; taken++) {
        kept = length;
        do
            length++;
        while (((unsigned char)cell[length] & 0xc0) == 0x80);
    }
    while (kept > 0 && cell[kept - 1] == ' ')
        kept--;
    memcpy(cell + kept, "...", MARK_WIDTH + 1);
}

static void write_row(const bc_table *table, size_t row, const size_t width[BC_TABLE_COLUMNS], bc_text *text)
{
    size_t owed = table->indent; /* blanks are written only before something, so no line ends in them */
    for (size_t column = 0; column < table->columns; column++) {
        const char *cell = table->cell[row][column];
        size_t taken = bc_text_width(cell);
        size_t blank;
        if (column == 0 && taken > width[0]) {
            bc_text_pad(text, table->indent);
            bc_text_add(text, "%s\n", cell);
            taken = 0;
        }
        blank = width[column] - taken;
        owed += (column > 0 ? GAP : 0) + (table->right[column] ? blank : 0);
        if (taken > 0) {
            bc_text_pad(text, owed);
            bc_text_add(text, "%s", cell);
            owed = 0;
        }
        owed += table->right[column] ? 0 : blank;
    }
    bc_text_add(text, "\n");
}

void bc_table_write(bc_table *table, bc_text *text)
{
    size_t width[BC_TABLE_COLUMNS];
    if (table->failed) {
        text->failed = true;
    } else {
        measure(table, width);
        for (size_t row = 0; row < table->rows; row++) {
            if (table->cut_last)
                cut(table->cell[row][table->columns - 1], width[table->columns - 1]);
            write_row(table, row, width, text);
        }
    }
    free(table->cell);
    table->cell = NULL;
    table->rows = 0;
}
