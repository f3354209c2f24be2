/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "grow.h"
#include "measured_steps.h"
#include "utf8.h"
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Any byte of the file becomes three at most. */
#define LARGEST_GROWTH 3

static char *put(char *out, uint32_t code)
{
    if (code < 0x80) {
        *out++ = (char)code;
    } else if (code < 0x800) {
        *out++ = (char)(0xC0 | (code >> 6));
        *out++ = (char)(0x80 | (code & 0x3F));
    } else if (code < 0x10000) {
        *out++ = (char)(0xE0 | (code >> 12));
        *out++ = (char)(0x80 | ((code >> 6) & 0x3F));
        *out++ = (char)(0x80 | (code & 0x3F));
    } else {
        *out++ = (char)(0xF0 | (code >> 18));
        *out++ = (char)(0x80 | ((code >> 12) & 0x3F));
        *out++ = (char)(0x80 | ((code >> 6) & 0x3F));
        *out++ = (char)(0x80 | (code & 0x3F));
    }
    return out;
}

static uint32_t unit_at(const char *bytes, bool big)
{
    const uint32_t first = (unsigned char)bytes[0], second = (unsigned char)bytes[1];
    return big ? first << 8 | second : second << 8 | first;
}

char *bc_decode_utf16(const char *bytes, size_t length, bool big, char *out)
{
    for (size_t i = 2; i + 1 < length; i += 2) {
        uint32_t code = unit_at(bytes + i, big);
        if (code >= 0xDC00 && code < 0xE000)
            return NULL;
        if (code >= 0xD800 && code < 0xDC00) {
            const uint32_t low = i + 3 < length ? unit_at(bytes + i + 2, big) : 0;
            if (low < 0xDC00 || low >= 0xE000)
                return NULL;
            code = 0x10000 + ((code - 0xD800) << 10) + (low - 0xDC00);
            i += 2;
        }
        out = put(out, code);
    }
    return out;
}

static bool is_utf8(const char *bytes, size_t length)
{
    for (size_t i = 0, taken; i < length; i += taken) {
        taken = bc_utf8_decode(bytes + i, length - i, NULL);
        if (taken == 0)
            return false;
    }
    return true;
}

/* UTF-8 as it is; a line that is none is taken as Latin-1, in which every byte is a character. */
static char *decode_line(const char *bytes, size_t length, char *out)
{
    if (is_utf8(bytes, length)) {
        memcpy(out, bytes, length);
        return out + length;
    }
    for (size_t i = 0; i < length; i++)
        out = put(out, (unsigned char)bytes[i]);
    return out;
}

static size_t line_length(const char *bytes, size_t length)
{
    size_t i = 0;
    while (i < length && bytes[i] != '\n' && bytes[i] != '\r')
        i++;
    return i;
}

static char *decode_bytes(const char *bytes, size_t length, char *out)
{
    for (size_t i = 0; i < length;) {
        const size_t line = line_length(bytes + i, length - i);
        out = decode_line(bytes + i, line, out);
        i += line;
        if (i < length)
            *out++ = bytes[i++];
    }
    return out;
}

/* Cut at LF, CRLF and CR, as editors do. */
static bc_status cut(measured_lines *lines, char *text, size_t length, bc_error *error)
{
    for (size_t i = 0; i < length;) {
        char **moved = bc_grow(lines->line, &lines->capacity, lines->count, sizeof *lines->line);
        if (moved == NULL)
            return bc_fail_memory(error);
        lines->line = moved;
        lines->line[lines->count++] = text + i;
        i += line_length(text + i, length - i);
        const bool two = i + 1 < length && text[i] == '\r' && text[i + 1] == '\n';
        if (i < length)
            text[i] = '\0';
        i += two ? 2 : 1;
    }
    return BC_OK;
}

static bc_status refuse_zero(const char *path, const char *text, size_t length, bc_error *error)
{
    long line = 1;
    for (size_t i = 0; i < length; i++) {
        if (text[i] == '\0')
            return bc_fail(error, BC_ERROR_INPUT,
                           "%s:%ld: found a zero byte; expected text (a file of the instrument's own kind or a "
                           "workbook has to be exported as CSV or text first)",
                           path, line);
        line += text[i] == '\n' || (text[i] == '\r' && text[i + 1] != '\n');
    }
    return BC_OK;
}

bc_status bc_measured_cut(const char *path, const char *bytes, size_t length, measured_lines *lines, bc_error *error)
{
    const bool little = length >= 2 && memcmp(bytes, "\xFF\xFE", 2) == 0;
    const bool big = length >= 2 && memcmp(bytes, "\xFE\xFF", 2) == 0;
    const size_t mark = length >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    char *end;
    *lines = (measured_lines){0};
    if (length == mark || ((little || big) && length == 2))
        return bc_fail(error, BC_ERROR_INPUT, "%s: found an empty file; expected a measured spectrum", path);
    lines->text = malloc(LARGEST_GROWTH * length + 1);
    if (lines->text == NULL)
        return bc_fail_memory(error);
    if (little || big)
        end = length % 2 == 0 ? bc_decode_utf16(bytes, length, big, lines->text) : NULL;
    else
        end = decode_bytes(bytes + mark, length - mark, lines->text);
    if (end == NULL)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s: found the mark of UTF-16 text and then no such text; expected text, best in UTF-8", path);
    *end = '\0';
    bc_status status = refuse_zero(path, lines->text, (size_t)(end - lines->text), error);
    return status == BC_OK ? cut(lines, lines->text, (size_t)(end - lines->text), error) : status;
}

void bc_measured_lines_clear(measured_lines *lines)
{
    free(lines->text);
    free(lines->line);
    *lines = (measured_lines){0};
}
