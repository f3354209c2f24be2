/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/text.h"
#include "escaped.h"
#include "print.h"
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void bc_text_clear(bc_text *text)
{
    free(text->data);
    *text = (bc_text){0};
}

/* Room for `more` bytes and the terminating zero. */
static bool reserve(bc_text *text, size_t more)
{
    size_t capacity = text->capacity < 256 ? 256 : text->capacity;
    char *data;
    if (text->failed)
        return false;
    if (more >= SIZE_MAX / 2 - text->length) {
        text->failed = true;
        return false;
    }
    while (capacity < text->length + more + 1)
        capacity *= 2;
    if (capacity == text->capacity)
        return true;
    data = realloc(text->data, capacity);
    if (data == NULL) {
        text->failed = true;
        return false;
    }
    text->data = data;
    text->capacity = capacity;
    return true;
}

void bc_text_add_bytes(bc_text *text, const char *data, size_t length)
{
    if (!reserve(text, length))
        return;
    memcpy(text->data + text->length, data, length);
    text->length += length;
    text->data[text->length] = '\0';
}

/* Escape what hides or turns round its neighbours in the text from `start` on: names come from files. */
static void show_from(bc_text *text, size_t start)
{
    const size_t end = text->length;
    size_t at = start + bc_escaped_span(text->data + start, end - start);
    char *rest;
    if (at == end)
        return;
    rest = strdup(text->data + at);
    if (rest == NULL) {
        text->failed = true;
        return;
    }
    text->length = at;
    for (const char *from = rest; *from != '\0';) {
        const size_t plain = bc_escaped_span(from, strlen(from));
        char piece[BC_ESCAPED_PIECE];
        uint32_t code;
        bc_text_add_bytes(text, from, plain);
        from += plain;
        if (*from != '\0') {
            from += bc_escaped_one(from, piece, &code);
            bc_text_add_bytes(text, piece, strlen(piece));
        }
    }
    free(rest);
}

void bc_text_add(bc_text *text, const char *format, ...)
{
    const size_t start = text->length;
    va_list arguments;
    int length;
    va_start(arguments, format);
    length = bc_print_list(NULL, 0, format, arguments);
    va_end(arguments);
    if (length < 0) {
        text->failed = true;
        return;
    }
    if (!reserve(text, (size_t)length))
        return;
    va_start(arguments, format);
    bc_print_list(text->data + text->length, (size_t)length + 1, format, arguments);
    va_end(arguments);
    text->length += (size_t)length;
    show_from(text, start);
}

void bc_text_pad(bc_text *text, size_t columns)
{
    for (; columns > 0; columns--)
        bc_text_add_bytes(text, " ", 1);
}

void bc_text_add_plain(bc_text *text, const char *string)
{
    char *shown = bc_escaped_copy(string);
    if (shown == NULL)
        text->failed = true;
    else
        bc_text_add_bytes(text, shown, strlen(shown));
    free(shown);
}

/* The columns of `length` bytes without escape sequences: continuation bytes of UTF-8 take none. */
static size_t code_points(const char *string, size_t length)
{
    size_t count = 0;
    for (size_t i = 0; i < length; i++)
        if (((unsigned char)string[i] & 0xc0) != 0x80)
            count++;
    return count;
}

size_t bc_text_width(const char *string)
{
    size_t width = 0;
    while (*string != '\0') {
        size_t run = strcspn(string, "\033");
        width += code_points(string, run);
        string += run;
        if (*string == '\033') {
            string += strcspn(string, "m");
            string += *string == 'm';
        }
    }
    return width;
}

void bc_text_wrap(bc_text *text, size_t at, size_t indent, const char *words)
{
    size_t column = at;
    bool first_on_line = true;
    while (*(words += strspn(words, " ")) != '\0') {
        const size_t length = strcspn(words, " ");
        const size_t width = code_points(words, length);
        if (!first_on_line && column + 1 + width > BC_TEXT_COLUMNS) {
            bc_text_add_bytes(text, "\n", 1);
            bc_text_pad(text, indent);
            column = indent;
        } else if (!first_on_line) {
            bc_text_add_bytes(text, " ", 1);
            column++;
        }
        bc_text_add_bytes(text, words, length);
        column += width;
        words += length;
        first_on_line = false;
    }
    bc_text_add_bytes(text, "\n", 1);
}

void bc_text_wrap_gathered(bc_text *text, size_t indent, bc_text *words)
{
    text->failed = text->failed || words->failed;
    if (words->length > 0) {
        bc_text_pad(text, indent);
        bc_text_wrap(text, indent, indent, words->data);
    }
    bc_text_clear(words);
}

void bc_text_add_comments(bc_text *text, const char *lines)
{
    while (lines != NULL && *lines != '\0') {
        const size_t length = strcspn(lines, "\n");
        bc_text_add(text, "# %.*s\n", (int)length, lines);
        lines += length + (lines[length] == '\n');
    }
}

bc_status bc_text_end(bc_text *text, bc_error *error)
{
    if (!text->failed)
        return BC_OK;
    bc_text_clear(text);
    return bc_fail_memory(error);
}

void bc_add_lines(bc_text *out, bc_text *lines)
{
    char *line = lines->data;
    for (char *end; line != NULL && (end = strchr(line, '\n')) != NULL; line = end + 1) {
        *end = '\0';
        bc_text_wrap(out, 0, 0, line);
    }
    out->failed = out->failed || lines->failed;
    bc_text_clear(lines);
}
