/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "csv_steps.h"
#include "measured_steps.h"
#include "utf8.h"
#include <stdlib.h>
#include <string.h>

/* Spreadsheets save "Unicode text" so. */
static bool is_utf16(const char *bytes, size_t length)
{
    return length >= 2 && (memcmp(bytes, "\xFF\xFE", 2) == 0 || memcmp(bytes, "\xFE\xFF", 2) == 0);
}

bc_status bc_csv_from_utf16(const bc_csv *csv, char **bytes, size_t *length, bc_error *error)
{
    char *text, *end;
    if (!is_utf16(*bytes, *length))
        return BC_OK;
    text = malloc(2 * *length + 2); /* of two bytes come three at most, and a line's end is added */
    if (text == NULL)
        return bc_fail_memory(error);
    end = *length % 2 == 0 ? bc_decode_utf16(*bytes, *length, (*bytes)[0] == '\xFE', text) : NULL;
    if (end == NULL) {
        free(text);
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s: found the mark of UTF-16 text and then no such text; expected text, best in UTF-8",
                       csv->path);
    }
    *end = '\0';
    free(*bytes);
    *bytes = text;
    *length = (size_t)(end - text);
    return BC_OK;
}

bc_status bc_csv_check_bytes(const bc_csv *csv, const char *bytes, size_t length, bc_error *error)
{
    long line = 1;
    size_t line_start = 0;
    for (size_t i = 0; i < length;) {
        size_t taken = bc_utf8_decode(bytes + i, length - i, NULL);
        if (bytes[i] == '\0')
            return bc_fail(error, BC_ERROR_INPUT, "%s:%ld: byte %zu: found a zero byte; expected text", csv->path, line,
                           i - line_start + 1);
        if (taken == 0)
            return bc_fail(error, BC_ERROR_INPUT,
                           "%s:%ld: byte %zu: found byte 0x%02X, which is not UTF-8; expected a "
                           "CSV file in UTF-8",
                           csv->path, line, i - line_start + 1, (unsigned)(unsigned char)bytes[i]);
        bool ends_line = bytes[i] == '\n' || (bytes[i] == '\r' && bytes[i + 1] != '\n');
        i += taken;
        if (ends_line) {
            line++;
            line_start = i;
        }
    }
    return BC_OK;
}
