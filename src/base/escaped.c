/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "utf8.h"
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SHOWN_CHARACTERS 40
#define PIECE_SIZE       BC_ESCAPED_PIECE /* one character, escaped: \u{10FFFF} */
#define CUT              "..."
#define NO_BREAK_SPACE   0xA0 /* between a number and its unit it is ours, and hides nothing */

typedef struct span {
    uint32_t first, last;
} span;

/* Controls, formats, separators and blanks that look like nothing (Unicode categories Cc, Cf, Zl, Zp and the no-break
 * spaces; C0 has names of its own below), and the first of the noncharacters. */
static const span hidden[] = {
    {0x7F, 0xA0},     {0xAD, 0xAD},     {0x61C, 0x61C},   {0x200B, 0x200F}, {0x2028, 0x202F},
    {0x2060, 0x206F}, {0xFDD0, 0xFDEF}, {0xFEFF, 0xFEFF}, {0xFFF9, 0xFFFB}, {0xE0000, 0xE007F},
};

static bool is_hidden(uint32_t code)
{
    /* The last two of each plane are noncharacters (The Unicode Standard, 23.7); XML and PDF libraries refuse them. */
    if ((code & 0xFFFE) == 0xFFFE)
        return true;
    for (size_t i = 0; i < sizeof hidden / sizeof hidden[0]; i++)
        if (code >= hidden[i].first && code <= hidden[i].last)
            return true;
    return false;
}

size_t bc_escaped_one(const char *text, char piece[PIECE_SIZE], uint32_t *out)
{
    uint32_t code = 0;
    size_t taken = bc_utf8_decode(text, strnlen(text, 4), &code);
    *out = code;
    if (taken == 0 || code < 0x20) {
        const char *named = strchr("\nn\tt\rr", text[0]);
        if (taken != 0 && named != NULL)
            snprintf(piece, PIECE_SIZE, "\\%c", named[1]);
        else
            snprintf(piece, PIECE_SIZE, "\\x%02X", (unsigned char)text[0]);
        return 1;
    }
    if (is_hidden(code)) {
        snprintf(piece, PIECE_SIZE, "\\u{%X}", (unsigned)code);
        return taken;
    }
    memcpy(piece, text, taken);
    piece[taken] = '\0';
    return taken;
}

/* Write the first character of `text` (not empty) as it is shown; returns how many bytes of `text` it took. */
static size_t show_one(const char *text, char piece[PIECE_SIZE])
{
    uint32_t code;
    return bc_escaped_one(text, piece, &code);
}

size_t bc_escaped_span(const char *text, size_t length)
{
    for (size_t at = 0; at < length;) {
        uint32_t code = 0;
        const size_t taken = (unsigned char)text[at] < 0x80 ? 1 : bc_utf8_decode(text + at, length - at, &code);
        if (taken == 0 || (taken > 1 && is_hidden(code) && code != NO_BREAK_SPACE))
            return at;
        at += taken;
    }
    return length;
}

static size_t shown_length(const char *text)
{
    char piece[PIECE_SIZE];
    size_t length = 0;
    while (*text != '\0') {
        text += show_one(text, piece);
        length += strlen(piece);
    }
    return length;
}

const char *bc_escaped(const char *text, char out[BC_ESCAPED_SIZE])
{
    char *end = out;
    for (int i = 0; i < SHOWN_CHARACTERS && *text != '\0'; i++) {
        text += show_one(text, end);
        end += strlen(end);
    }
    memcpy(end, *text == '\0' ? "" : CUT, *text == '\0' ? 1 : sizeof CUT);
    return out;
}

const char *bc_escaped_path(const char *path, char out[BC_ESCAPED_PATH_SIZE])
{
    char piece[PIECE_SIZE];
    size_t length = shown_length(path);
    bool cut = length > BC_ESCAPED_PATH_SIZE - PIECE_SIZE;
    char *end = out;
    while (length > BC_ESCAPED_PATH_SIZE - PIECE_SIZE) {
        path += show_one(path, piece);
        length -= strlen(piece);
    }
    if (cut) {
        memcpy(end, CUT, sizeof CUT);
        end += strlen(CUT);
    }
    *end = '\0';
    while (*path != '\0') {
        path += show_one(path, piece);
        size_t bytes = strlen(piece);
        memcpy(end, piece, bytes + 1);
        end += bytes;
    }
    return out;
}

char *bc_escaped_copy(const char *text)
{
    char piece[PIECE_SIZE];
    char *copy = malloc(shown_length(text) + 1);
    char *end = copy;
    if (copy == NULL)
        return NULL;
    *end = '\0';
    while (*text != '\0') {
        text += show_one(text, piece);
        size_t bytes = strlen(piece);
        memcpy(end, piece, bytes + 1);
        end += bytes;
    }
    return copy;
}

void bc_escaped_whole(char *text, size_t size)
{
    char piece[PIECE_SIZE];
    size_t length = strlen(text), at = 0;
    while (text[at] != '\0') {
        size_t taken, bytes;
        if (text[at] == '\n') {
            at++;
            continue;
        }
        taken = show_one(text + at, piece);
        bytes = strlen(piece);
        if (at + bytes >= size) {
            text[at] = '\0';
            return;
        }
        if (bytes != taken) {
            const size_t rest = length - at - taken;
            const size_t kept = rest < size - 1 - at - bytes ? rest : size - 1 - at - bytes;
            memmove(text + at + bytes, text + at + taken, kept);
            length = at + bytes + kept;
            text[length] = '\0';
        }
        memcpy(text + at, piece, bytes);
        at += bytes;
    }
}
