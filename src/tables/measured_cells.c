/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "grow.h"
#include "measured_steps.h"
#include "number.h"
#include <csv.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BLANKS      " \t"
#define NUMBER_MOST 120
#define MINUS       "\xE2\x88\x92" /* U+2212, a minus sign of its own */

typedef struct splitter {
    measured_table *table;
    size_t written; /* cells of the line, with empty ones at its end */
    bool out_of_memory;
} splitter;

static void keep(splitter *split, const char *bytes, size_t length)
{
    measured_table *table = split->table;
    while (length > 0 && strchr(BLANKS, bytes[length - 1]) != NULL)
        length--;
    while (length > 0 && strchr(BLANKS, bytes[0]) != NULL) {
        bytes++;
        length--;
    }
    size_t *moved = bc_grow(table->cell, &table->cell_capacity, table->cells, sizeof *table->cell);
    if (moved != NULL)
        table->cell = moved;
    while (moved != NULL && table->text_used + length + 1 > table->text_capacity) {
        char *text = bc_grow(table->text, &table->text_capacity, table->text_capacity, 1);
        if (text == NULL)
            moved = NULL;
        else
            table->text = text;
    }
    if (moved == NULL) {
        split->out_of_memory = true;
        return;
    }
    memcpy(table->text + table->text_used, bytes, length);
    table->text[table->text_used + length] = '\0';
    table->cell[table->cells++] = table->text_used;
    table->text_used += length + 1;
}

static void on_cell(void *bytes, size_t length, void *context)
{
    keep(context, bytes == NULL ? "" : bytes, length);
}

/* Cells parted by blanks; what stands in brackets belongs to the word before it: "Wavelength (nm)". */
static void split_at_blanks(splitter *split, const char *line)
{
    while (*(line += strspn(line, " \t")) != '\0') {
        size_t length = strcspn(line, " \t");
        const char *next = line + length + strspn(line + length, " \t");
        while (*next == '(' || *next == '[') {
            length = (size_t)(next - line) + strcspn(next, " \t");
            next = line + length + strspn(line + length, " \t");
        }
        keep(split, line, length);
        line += length;
    }
}

static bc_status split_line(splitter *split, struct csv_parser *parser, const char *line, bc_error *error)
{
    measured_table *table = split->table;
    const size_t first = table->cells;
    if (line[strspn(line, BLANKS)] == '#')
        line += strspn(line, BLANKS) + 1;
    if (table->separator == BC_SEPARATOR_BLANKS) {
        split_at_blanks(split, line);
    } else if (csv_parse(parser, line, strlen(line), on_cell, NULL, split) != strlen(line) ||
               csv_fini(parser, on_cell, NULL, split) != 0) {
        split->out_of_memory = true; /* without CSV_STRICT nothing else can go wrong */
    }
    if (split->out_of_memory)
        return bc_fail_memory(error);
    split->written = table->cells - first;
    while (table->cells > first && table->text[table->cell[table->cells - 1]] == '\0')
        table->cells--;
    return BC_OK;
}

static measured_kind tell_kind(const measured_table *table, size_t line, size_t written)
{
    const char *text = table->lines->line[line];
    const char *first = NULL;
    size_t filled = 0;
    if (text[strspn(text, BLANKS)] == '#')
        return KIND_COMMENT;
    for (size_t place = 0; place < bc_measured_width(table, line); place++) {
        const char *cell = bc_measured_cell(table, line, place);
        if (cell[0] != '\0' && filled++ == 0)
            first = cell;
    }
    if (filled == 0)
        return KIND_BLANK;
    /* A number by itself is a wavelength without a value where the separator tells so, or is no more than a blank. */
    const bool beside = filled >= 2 || written >= 2 || table->separator == BC_SEPARATOR_BLANKS;
    return beside && bc_measured_like_number(first) ? KIND_ROW : KIND_WORDS;
}

bc_status bc_measured_split(measured_table *table, bc_separator separator, bc_error *error)
{
    static const unsigned char sign[] = {
        [BC_SEPARATOR_COMMA] = ',', [BC_SEPARATOR_SEMICOLON] = ';', [BC_SEPARATOR_TAB] = '\t'};
    const size_t lines = table->lines->count;
    struct csv_parser parser;
    splitter split = {.table = table};
    bc_status status = BC_OK;
    table->separator = separator;
    table->cells = table->text_used = 0;
    if (table->first == NULL)
        table->first = calloc(lines + 1, sizeof *table->first);
    if (table->kind == NULL)
        table->kind = calloc(lines + 1, sizeof *table->kind);
    if (table->first == NULL || table->kind == NULL || csv_init(&parser, 0) != 0)
        return bc_fail_memory(error);
    if (separator != BC_SEPARATOR_BLANKS)
        csv_set_delim(&parser, sign[separator]);
    for (size_t line = 0; status == BC_OK && line < lines; line++) {
        table->first[line] = table->cells;
        status = split_line(&split, &parser, table->lines->line[line], error);
        table->first[line + 1] = table->cells;
        if (status == BC_OK)
            table->kind[line] = tell_kind(table, line, split.written);
    }
    csv_free(&parser);
    return status;
}

bc_status bc_measured_join_pairs(measured_table *table, bc_error *error)
{
    splitter split = {.table = table};
    for (size_t line = 0; line < table->lines->count; line++) {
        const size_t pairs = table->kind[line] == KIND_ROW ? bc_measured_width(table, line) / 2 : 0;
        for (size_t i = 0; i < pairs; i++) {
            char number[2 * NUMBER_MOST];
            const size_t end = table->cells;
            snprintf(number, sizeof number, "%.*s,%.*s", NUMBER_MOST - 2, bc_measured_cell(table, line, 2 * i),
                     NUMBER_MOST - 2, bc_measured_cell(table, line, 2 * i + 1));
            keep(&split, number, strlen(number));
            if (split.out_of_memory)
                return bc_fail_memory(error);
            table->cell[table->first[line] + i] = table->cell[end];
            table->cells = end;
        }
        for (size_t i = pairs; pairs > 0 && i < 2 * pairs; i++) /* an empty cell: the zero that ends a text */
            table->cell[table->first[line] + i] = table->text_used - 1;
    }
    return BC_OK;
}

size_t bc_measured_width(const measured_table *table, size_t line)
{
    return table->first[line + 1] - table->first[line];
}

const char *bc_measured_cell(const measured_table *table, size_t line, size_t place)
{
    return place < bc_measured_width(table, line) ? table->text + table->cell[table->first[line] + place] : "";
}

/* The number in plain characters; false when it cannot be one. */
static bool plain_number(bc_decimal decimal, const char *cell, char out[NUMBER_MOST + 1], bool *percent)
{
    const size_t minus = strncmp(cell, MINUS, sizeof MINUS - 1) == 0 ? sizeof MINUS - 1 : 0;
    size_t length = strlen(cell);
    *percent = length > 0 && cell[length - 1] == '%';
    length -= *percent;
    while (length > 0 && cell[length - 1] == ' ')
        length--;
    if (length < minus || length > NUMBER_MOST || length == 0)
        return false;
    out[0] = '-';
    memcpy(out + (minus > 0), cell + minus, length - minus);
    out[length - minus + (minus > 0)] = '\0';
    if (decimal != BC_DECIMAL_COMMA)
        return true;
    for (char *byte = out; *byte != '\0'; byte++) {
        if (*byte == '.')
            return false;
        if (*byte == ',')
            *byte = '.';
    }
    return true;
}

bool bc_measured_number(bc_decimal decimal, const char *cell, int shift, double *value, bool *percent)
{
    char number[NUMBER_MOST + 1];
    bool has_percent;
    if (!plain_number(decimal, cell, number, &has_percent))
        return false;
    if (percent != NULL)
        *percent = has_percent;
    if (value != NULL)
        return bc_number_parse(number, shift, value) == BC_NUMBER_OK;
    const size_t sign = number[0] == '+' || number[0] == '-';
    const size_t length = bc_number_length(number + sign);
    return length > 0 && number[sign + length] == '\0';
}

bool bc_measured_like_number(const char *cell)
{
    const char *at = cell;
    at += *at == '+' || *at == '-';
    if (strncmp(at, MINUS, sizeof MINUS - 1) == 0)
        at += sizeof MINUS - 1;
    at += *at == '.' || *at == ',';
    if (*at < '0' || *at > '9')
        return false;
    for (const char *byte = at + 1; *byte != '\0'; byte++) {
        const bool after_digit = byte[-1] >= '0' && byte[-1] <= '9';
        if (*byte == ':' || *byte == '/' || (*byte == '-' && after_digit))
            return false;
        if (*byte == ' ' && byte[1] != '%' && (byte[1] < '0' || byte[1] > '9'))
            return false;
    }
    return true;
}

void bc_measured_table_clear(measured_table *table)
{
    free(table->text);
    free(table->cell);
    free(table->first);
    free(table->kind);
    free(table->block);
    *table = (measured_table){0};
}
