/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "utf8.h"

/* Length of a sequence by its first byte, and the bits of the code point that byte carries. */
static size_t lead(unsigned char byte, uint32_t *bits)
{
    if (byte < 0x80) {
        *bits = byte;
        return 1;
    }
    if (byte >= 0xC2 && byte <= 0xDF) {
        *bits = byte & 0x1Fu;
        return 2;
    }
    if (byte >= 0xE0 && byte <= 0xEF) {
        *bits = byte & 0x0Fu;
        return 3;
    }
    if (byte >= 0xF0 && byte <= 0xF4) {
        *bits = byte & 0x07u;
        return 4;
    }
    return 0;
}

size_t bc_utf8_decode(const char *bytes, size_t length, uint32_t *code_point)
{
    static const uint32_t smallest[5] = {0, 0, 0x80, 0x800, 0x10000};
    uint32_t code = 0;
    if (length == 0)
        return 0;
    size_t count = lead((unsigned char)bytes[0], &code);
    if (count == 0 || count > length)
        return 0;
    for (size_t i = 1; i < count; i++) {
        unsigned char byte = (unsigned char)bytes[i];
        if ((byte & 0xC0u) != 0x80u)
            return 0;
        code = code << 6 | (byte & 0x3Fu);
    }
    if (code < smallest[count] || code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF))
        return 0;
    if (code_point != NULL)
        *code_point = code;
    return count;
}
