/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a spreadsheet makes of a CSV file: other separators, a decimal comma.
 */
#include "csv_steps.h"
#include "escaped.h"
#include <string.h>

#define BLANKS "\t\n\r "

/* Bytes that may stand around a number in a cell: signs of a limit, a percent sign. */
static const char *const around[] = {"<", ">", "=", "%", " ", "\xE2\x89\xA4", "\xE2\x89\xA5"};

char bc_csv_find_separator(const char *bytes)
{
    while (*bytes != '\0') {
        const char *line = bytes + strspn(bytes, BLANKS ",;");
        size_t commas = 0, semicolons = 0, tabs = 0;
        bool quoted = false;
        if (*line == '\0')
            break;
        bytes = line + strcspn(line, "\r\n");
        if (*line == '#')
            continue;
        for (; line < bytes; line++) {
            quoted = quoted != (*line == '"');
            commas += !quoted && *line == ',';
            semicolons += !quoted && *line == ';';
            tabs += !quoted && *line == '\t';
        }
        return commas > 0 ? ',' : semicolons > 0 ? ';' : tabs > 0 ? '\t' : ',';
    }
    return ',';
}

/* The number of a cell, without what may stand around it. */
static void find_core(char *cell, char **from, size_t *length)
{
    bool cut = true;
    *from = cell;
    *length = strlen(cell);
    while (cut) {
        cut = false;
        for (size_t i = 0; i < sizeof around / sizeof around[0]; i++) {
            const size_t size = strlen(around[i]);
            if (*length >= size && memcmp(*from, around[i], size) == 0) {
                *from += size;
                *length -= size;
                cut = true;
            } else if (*length >= size && memcmp(*from + *length - size, around[i], size) == 0) {
                *length -= size;
                cut = true;
            }
        }
    }
}

typedef enum sign { SIGN_NONE, SIGN_POINT, SIGN_COMMA, SIGN_GROUPED } sign;

/* Which decimal sign a cell's number has. SIGN_GROUPED: "1,234", where the comma may group thousands. */
static sign sign_of(const char *from, size_t length)
{
    size_t before, after;
    char mark;
    if (length > 0 && (*from == '-' || *from == '+')) {
        from++;
        length--;
    }
    for (before = 0; before < length && strchr("0123456789", from[before]) != NULL;)
        before++;
    if (before == length || (from[before] != '.' && from[before] != ','))
        return SIGN_NONE;
    mark = from[before];
    for (after = before + 1; after < length && strchr("0123456789", from[after]) != NULL;)
        after++;
    const size_t digits = after - before - 1;
    if (digits == 0 || (after < length && ((from[after] | 0x20) != 'e' || after + 1 == length)))
        return SIGN_NONE;
    for (size_t i = after + 1; i < length; i++)
        if (strchr("+-0123456789", from[i]) == NULL)
            return SIGN_NONE;
    if (mark == '.')
        return SIGN_POINT;
    return digits == 3 && after == length && before >= 1 && before <= 3 && *from != '0' ? SIGN_GROUPED : SIGN_COMMA;
}

static sign sign_at(const bc_csv *csv, size_t cell, char **comma)
{
    char *from;
    size_t length;
    find_core(csv->text + csv->cell[cell], &from, &length);
    const sign found = sign_of(from, length);
    *comma = found == SIGN_COMMA || found == SIGN_GROUPED ? memchr(from, ',', length) : NULL;
    return found;
}

bc_status bc_csv_settle_decimals(bc_csv *csv, bc_error *error)
{
    size_t first[SIGN_GROUPED + 1];
    char *comma;
    for (size_t s = 0; s <= SIGN_GROUPED; s++)
        first[s] = csv->cells;
    for (size_t i = csv->cells; i-- > 0;)
        first[sign_at(csv, i, &comma)] = i;
    const size_t any = first[SIGN_COMMA] < first[SIGN_GROUPED] ? first[SIGN_COMMA] : first[SIGN_GROUPED];
    if (any == csv->cells ||
        (csv->separator == ',' && (first[SIGN_COMMA] == csv->cells || first[SIGN_POINT] != csv->cells)))
        return BC_OK; /* a comma that is left is refused where a number is read */
    if (first[SIGN_POINT] != csv->cells) {
        char one[BC_ESCAPED_SIZE], other[BC_ESCAPED_SIZE];
        const size_t at = any > first[SIGN_POINT] ? any : first[SIGN_POINT];
        const size_t before = any > first[SIGN_POINT] ? first[SIGN_POINT] : any;
        return bc_fail(
            error, BC_ERROR_INPUT,
            "%s:%ld: column %zu (%s): found '%s', and '%s' in line %ld; expected one decimal sign, a point or "
            "a comma, in all numbers of the file",
            csv->path, csv->line[at / csv->width], at % csv->width + 1, csv->heading[at % csv->width],
            bc_escaped(csv->text + csv->cell[at], one), bc_escaped(csv->text + csv->cell[before], other),
            csv->line[before / csv->width]);
    }
    for (size_t i = 0; i < csv->cells; i++) {
        sign_at(csv, i, &comma);
        if (comma != NULL)
            *comma = '.';
    }
    csv->decimal_comma = true;
    return BC_OK;
}
