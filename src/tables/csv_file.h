/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CSV_FILE_H
#define BLOOMCOAT_CSV_FILE_H
/*
 * A CSV file with a header row, read whole and addressed by row and by column name.
 *
 * UTF-8 with or without BOM, or UTF-16 with one; lines end in LF or CRLF; cells may stand in double quotes (RFC 4180)
 * and lose the blanks around them. A comma parts the cells, or, where the header has none, a semicolon or a tab; then
 * numbers may have a decimal comma. Lines that are blank, hold nothing but separators, or begin with `#` are skipped,
 * except inside quotes. Every row has as many cells as the header, whose names may be in capital letters; a column that
 * the schema does not know is refused.
 *
 * A reader names its columns in a schema and asks for cells by the column's number in that schema. What it finds wrong
 * in a cell it reports with bc_csv_fail(), so that all messages have one form:
 *
 *     PATH:LINE: column N (NAME): found 'X'; expected Y
 */
#include <bloomcoat/checksum.h>
#include <bloomcoat/error.h>
#include <stdbool.h>
#include <stddef.h>

#define BC_CSV_COLUMNS_MOST 32  /* in a file and in a schema */
#define BC_CSV_WHERE_SIZE   512 /* "PATH:LINE: column N (NAME)" */

typedef struct bc_csv_column {
    const char *name;
    bool required;
} bc_csv_column;

typedef struct bc_csv_schema {
    const char *example; /* a header row that is right, for messages */
    size_t columns;
    const bc_csv_column *column;
} bc_csv_schema;

typedef struct bc_csv {
    char *path; /* fit to be shown */
    char sha256[BC_SHA256_SIZE];
    const bc_csv_schema *schema;
    char separator;     /* of the cells: a comma, a semicolon or a tab */
    bool decimal_comma; /* the numbers had one; the cells have points by now */
    long header_line;
    size_t width;                             /* columns in the file */
    size_t position[BC_CSV_COLUMNS_MOST];     /* by schema column: its place in the file, or BC_CSV_ABSENT */
    const char *heading[BC_CSV_COLUMNS_MOST]; /* by place in the file: its name */
    size_t rows, row_capacity;
    long *line; /* [rows] */
    size_t cells, cell_capacity;
    size_t *cell; /* [rows][width]: where in `text` each begins */
    size_t comments, comment_capacity;
    size_t *comment; /* comment lines ahead of the header: where in `text` what follows their `#` begins */
    size_t text_used;
    char *text; /* each piece trimmed and ended by a zero */
} bc_csv;

#define BC_CSV_ABSENT ((size_t)-1)

/* Read `path`; `schema` must outlive the result. Release it with bc_csv_free(). A file without a row is refused. */
bc_status bc_csv_read(const char *path, const bc_csv_schema *schema, bc_csv **out, bc_error *error);
void bc_csv_free(bc_csv *csv);

/* Whether the file has this column. */
bool bc_csv_has(const bc_csv *csv, size_t column);
/* A cell, without the blanks around it; "" when the file has no such column. */
const char *bc_csv_text(const bc_csv *csv, size_t row, size_t column);

/* "PATH:LINE: column N (NAME)", or "PATH:LINE" when the file has no such column. Returns `out`. */
const char *bc_csv_where(const bc_csv *csv, size_t row, size_t column, char out[BC_CSV_WHERE_SIZE]);

/* Report a cell: `format` says what was expected. Returns BC_ERROR_INPUT. */
bc_status bc_csv_fail(const bc_csv *csv, size_t row, size_t column, bc_error *error, const char *format, ...)
    __attribute__((format(printf, 5, 6)));

/* The range a number must lie in, and how to call it: "a thickness in nm above 0". `smallest` itself is left out when
 * `above` is set. The number is multiplied by ten to the power of `shift` first. */
typedef struct bc_csv_range {
    double smallest;
    bool above;
    double largest;
    int shift;
    const char *expected;
} bc_csv_range;

bc_status bc_csv_number(const bc_csv *csv, size_t row, size_t column, const bc_csv_range *range, double *value,
                        bc_error *error);

/* Which of `count` words a cell holds. */
bc_status bc_csv_choice(const bc_csv *csv, size_t row, size_t column, size_t count, const char *const *word,
                        size_t *choice, bc_error *error);

#endif
