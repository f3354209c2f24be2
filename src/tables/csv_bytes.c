/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "csv_steps.h"
#include "utf8.h"
#include <string.h>

/* Spreadsheets save "Unicode text" as UTF-16, which would otherwise be reported as a stray byte. */
static bool is_utf16(const char *bytes, size_t length)
{
    return length >= 2 && (memcmp(bytes, "\xFF\xFE", 2) == 0 || memcmp(bytes, "\xFE\xFF", 2) == 0);
}

bc_status bc_csv_check_bytes(const bc_csv *csv, const char *bytes, size_t length, bc_error *error)
{
    long line = 1;
    size_t line_start = 0;
    if (is_utf16(bytes, length))
        return bc_fail(error, BC_ERROR_INPUT, "%s:1: byte 1: found UTF-16 text; expected UTF-8", csv->path);
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
