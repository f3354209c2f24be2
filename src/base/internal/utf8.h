/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_UTF8_H
#define BLOOMCOAT_UTF8_H
/*
 * UTF-8 as RFC 3629 has it: no overlong forms, no surrogates, nothing above U+10FFFF.
 */
#include <stddef.h>
#include <stdint.h>

/* The number of bytes (1 to 4) of the character at the start of `bytes`, and its code point (may be NULL); 0 when the
 * bytes are no UTF-8 or end too early. */
size_t bc_utf8_decode(const char *bytes, size_t length, uint32_t *code_point);

#endif
