/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_TABLE_H
#define BLOOMCOAT_REPORT_TABLE_H
/*
 * A table of short cells, aligned for reading. The first column gives way: a first cell too long for the line stands on
 * a line of its own above its row.
 */
#include "text.h"

#define BC_TABLE_COLUMNS 10
#define BC_TABLE_CELL    160

typedef struct bc_table {
    size_t columns;
    bool right[BC_TABLE_COLUMNS]; /* aligned to the right, as numbers are */
    bool cut_last; /* the last column gives way before the first one does: it is cut at the end of the line */
    size_t indent;
    size_t rows;
    char (*cell)[BC_TABLE_COLUMNS][BC_TABLE_CELL]; /* [rows]; the headings are row 0 */
    bool failed;
} bc_table;

/* Append a row of empty cells. A failed allocation is kept, and reported by the text the table is written to. */
void bc_table_row(bc_table *table);
/* Fill a cell of the last row. */
void bc_table_cell(bc_table *table, size_t column, const char *format, ...) __attribute__((format(printf, 3, 4)));
/* Write the table and release it. */
void bc_table_write(bc_table *table, bc_text *text);

#endif
