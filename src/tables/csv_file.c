/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "csv_file.h"
#include "csv_steps.h"
#include "escaped.h"
#include "file.h"
#include "grow.h"
#include <csv.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BLANKS "\t\n\r "

/* libcsv is given the file line by line, so that comments are left out and every row has its line number. */
typedef struct line_reader {
    bc_csv *csv;
    struct csv_parser parser;
    long line;        /* being read */
    long record_line; /* where the record began */
    long cell_line;   /* where the cell being read began */
    size_t count;     /* cells of the record, kept or not */
    size_t cells_before, text_before;
    bool has_text;  /* some cell of the record is not empty */
    bool in_record; /* the record goes on in the next line, inside quotes */
    bool out_of_memory;
} line_reader;

/* Keep a piece of text. There is always room: every piece is followed in the file by a comma or a line's end that is
 * not kept, and a comment is led by its `#`, so the zeros at the ends of the pieces fit in the size of the file. */
static size_t keep_text(bc_csv *csv, const char *bytes, size_t length)
{
    size_t place = csv->text_used;
    while (length > 0 && strchr(BLANKS, bytes[length - 1]) != NULL)
        length--;
    while (length > 0 && strchr(BLANKS, bytes[0]) != NULL) {
        bytes++;
        length--;
    }
    if (length > 0)
        memcpy(csv->text + place, bytes, length);
    csv->text[place + length] = '\0';
    csv->text_used += length + 1;
    return place;
}

static void on_cell(void *bytes, size_t length, void *context)
{
    line_reader *reader = context;
    bc_csv *csv = reader->csv;
    size_t most = csv->width == 0 ? BC_CSV_COLUMNS_MOST : csv->width;
    reader->cell_line = reader->line;
    if (reader->count++ >= most) {
        reader->has_text = reader->has_text || length > 0;
        return;
    }
    size_t *moved = bc_grow(csv->cell, &csv->cell_capacity, csv->cells, sizeof *csv->cell);
    if (moved == NULL) {
        reader->out_of_memory = true;
        return;
    }
    csv->cell = moved;
    size_t place = keep_text(csv, bytes == NULL ? "" : bytes, length);
    csv->cell[csv->cells++] = place;
    reader->has_text = reader->has_text || csv->text[place] != '\0';
}

static void on_record(int terminator, void *context)
{
    line_reader *reader = context;
    (void)terminator;
    reader->in_record = false;
}

static bc_status end_header(line_reader *reader, bc_error *error)
{
    bc_csv *csv = reader->csv;
    csv->header_line = reader->record_line;
    if (reader->count > BC_CSV_COLUMNS_MOST)
        return bc_fail(error, BC_ERROR_INPUT, "%s:%ld: found %zu columns; expected a header row such as %s", csv->path,
                       csv->header_line, reader->count, csv->schema->example);
    csv->width = reader->count;
    bc_status status = bc_csv_match_header(csv, error);
    csv->cells = reader->cells_before;
    csv->text_used = reader->text_before;
    return status;
}

static bc_status end_row(line_reader *reader, bc_error *error)
{
    bc_csv *csv = reader->csv;
    if (reader->count != csv->width)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%ld: found %zu cell%s; expected %zu, one for each column of the header%s", csv->path,
                       reader->record_line, reader->count, reader->count == 1 ? "" : "s", csv->width,
                       reader->count > csv->width && csv->separator == ','
                           ? " (a decimal sign is a point, and text with a comma in it stands in "
                             "double quotes)"
                           : "");
    long *moved = bc_grow(csv->line, &csv->row_capacity, csv->rows, sizeof *csv->line);
    if (moved == NULL)
        return bc_fail_memory(error);
    csv->line = moved;
    csv->line[csv->rows++] = reader->record_line;
    return BC_OK;
}

static bc_status end_record(line_reader *reader, bc_error *error)
{
    if (!reader->has_text) { /* a blank row of a spreadsheet: nothing but commas */
        reader->csv->cells = reader->cells_before;
        reader->csv->text_used = reader->text_before;
        return BC_OK;
    }
    return reader->csv->width == 0 ? end_header(reader, error) : end_row(reader, error);
}

/* The cell that was being read when something went wrong. */
static bc_status fail_at_cell(const line_reader *reader, long line, bc_error *error, const char *found,
                              const char *expected)
{
    const bc_csv *csv = reader->csv;
    if (reader->count < csv->width)
        return bc_fail(error, BC_ERROR_INPUT, "%s:%ld: column %zu (%s): found %s; expected %s", csv->path, line,
                       reader->count + 1, csv->heading[reader->count], found, expected);
    return bc_fail(error, BC_ERROR_INPUT, "%s:%ld: column %zu: found %s; expected %s", csv->path, line,
                   reader->count + 1, found, expected);
}

/* libcsv stopped at `rest`: a quote where none may be, or text after a closing one. */
static bc_status fail_quoting(const line_reader *reader, char *rest, bc_error *error)
{
    char shown[BC_ESCAPED_SIZE], found[BC_ESCAPED_SIZE + 80];
    rest[strcspn(rest, "\r\n")] = '\0';
    bc_escaped(rest, shown);
    if (reader->parser.quoted) {
        snprintf(found, sizeof found, "'%s' after the closing quote of the cell that began in line %ld", shown,
                 reader->cell_line);
        return fail_at_cell(reader, reader->line, error, found, "a separator or the end of the line there");
    }
    snprintf(found, sizeof found, "'%s' inside a cell without quotes around it", shown);
    return fail_at_cell(reader, reader->line, error, found,
                        "the whole cell in double quotes, and each double quote inside it written twice");
}

static bc_status feed(line_reader *reader, char *line, size_t length, bc_error *error)
{
    if (!reader->in_record) {
        reader->record_line = reader->cell_line = reader->line;
        reader->cells_before = reader->csv->cells;
        reader->text_before = reader->csv->text_used;
        reader->count = 0;
        reader->has_text = false;
        reader->in_record = true;
    }
    size_t taken = csv_parse(&reader->parser, line, length, on_cell, on_record, reader);
    if (reader->out_of_memory || (taken != length && csv_error(&reader->parser) != CSV_EPARSE))
        return bc_fail_memory(error);
    if (taken != length)
        return fail_quoting(reader, line + taken, error);
    return reader->in_record ? BC_OK : end_record(reader, error);
}

static bc_status keep_comment(bc_csv *csv, const char *text, size_t length, bc_error *error)
{
    size_t *moved = bc_grow(csv->comment, &csv->comment_capacity, csv->comments, sizeof *csv->comment);
    if (moved == NULL)
        return bc_fail_memory(error);
    csv->comment = moved;
    csv->comment[csv->comments++] = keep_text(csv, text, length);
    return BC_OK;
}

static bc_status read_line(line_reader *reader, char *line, size_t length, bc_error *error)
{
    size_t blanks = 0;
    if (reader->in_record)
        return feed(reader, line, length, error);
    while (blanks < length && strchr(BLANKS, line[blanks]) != NULL)
        blanks++;
    if (blanks == length)
        return BC_OK;
    if (line[blanks] != '#')
        return feed(reader, line, length, error);
    if (reader->csv->width != 0)
        return BC_OK;
    return keep_comment(reader->csv, line + blanks + 1, length - blanks - 1, error);
}

/* The bytes end in a line's end and a zero. */
static bc_status read_lines(line_reader *reader, char *bytes, bc_error *error)
{
    while (*bytes != '\0') {
        size_t length = strcspn(bytes, "\r\n");
        length += bytes[length] == '\r' && bytes[length + 1] == '\n' ? 2 : 1;
        reader->line++;
        bc_status status = read_line(reader, bytes, length, error);
        if (status != BC_OK)
            return status;
        bytes += length;
    }
    if (reader->in_record)
        return fail_at_cell(reader, reader->cell_line, error, "a double quote that is never closed",
                            "a closing one before the separator or the end of the line");
    return BC_OK;
}

static bc_status parse(bc_csv *csv, char *bytes, size_t length, bc_error *error)
{
    line_reader reader = {.csv = csv};
    size_t mark = length >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    if (length == mark)
        return bc_fail(error, BC_ERROR_INPUT, "%s: found an empty file; expected a header row such as %s", csv->path,
                       csv->schema->example);
    bc_status status = bc_csv_check_bytes(csv, bytes, length, error);
    if (status != BC_OK)
        return status;
    if (bytes[length - 1] != '\n' && bytes[length - 1] != '\r')
        bytes[length++] = '\n';
    csv->text = malloc(length + 1);
    if (csv->text == NULL || csv_init(&reader.parser, CSV_STRICT) != 0)
        return bc_fail_memory(error);
    csv_set_blk_size(&reader.parser, 4096);
    csv->separator = bc_csv_find_separator(bytes + mark);
    csv_set_delim(&reader.parser, (unsigned char)csv->separator);
    status = read_lines(&reader, bytes + mark, error);
    csv_free(&reader.parser);
    if (status != BC_OK)
        return status;
    if (csv->width == 0)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s: found only comments and blank lines; expected a header row such as %s", csv->path,
                       csv->schema->example);
    if (csv->rows == 0)
        return bc_fail(error, BC_ERROR_INPUT, "%s:%ld: found a header and no rows; expected rows below it", csv->path,
                       csv->header_line);
    return bc_csv_settle_decimals(csv, error);
}

bc_status bc_csv_read(const char *path, const bc_csv_schema *schema, bc_csv **out, bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE];
    char *bytes = NULL;
    size_t length = 0;
    bc_status status = bc_file_read(path, &bytes, &length, error);
    if (status != BC_OK)
        return status;
    bc_csv *csv = calloc(1, sizeof *csv);
    if (csv != NULL)
        csv->path = strdup(bc_escaped_path(path, shown));
    if (csv == NULL || csv->path == NULL) {
        status = bc_fail_memory(error);
    } else {
        csv->schema = schema;
        bc_sha256(bytes, length, csv->sha256); /* before the parsing, which cuts the bytes up */
        for (size_t i = 0; i < BC_CSV_COLUMNS_MOST; i++)
            csv->position[i] = BC_CSV_ABSENT;
        status = bc_csv_from_utf16(csv, &bytes, &length, error);
        if (status == BC_OK)
            status = parse(csv, bytes, length, error);
    }
    free(bytes);
    if (status != BC_OK) {
        bc_csv_free(csv);
        return status;
    }
    *out = csv;
    return BC_OK;
}

void bc_csv_free(bc_csv *csv)
{
    if (csv == NULL)
        return;
    free(csv->path);
    free(csv->line);
    free(csv->cell);
    free(csv->comment);
    free(csv->text);
    free(csv);
}
