/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_ESCAPED_H
#define BLOOMCOAT_ESCAPED_H
/*
 * Text from a file, made fit to be shown in a message: characters that would drive a terminal, reverse the reading
 * order or stay invisible are escaped, bytes that are no UTF-8 too, and long text is cut on a character's boundary.
 */
#include <stddef.h>
#include <stdint.h>

#define BC_ESCAPED_SIZE      448 /* 40 characters, each escaped at worst, and the mark of a cut */
#define BC_ESCAPED_PATH_SIZE 336

/* At most the first 40 characters of `text`. Returns `out`. */
const char *bc_escaped(const char *text, char out[BC_ESCAPED_SIZE]);

/* A path: of a long one the end is kept, because that is where the file's name is. Returns `out`. */
const char *bc_escaped_path(const char *path, char out[BC_ESCAPED_PATH_SIZE]);

/* `text` as it is shown, in its own place of `size` bytes; the end goes where that has no room. Ends of lines are ours:
 * those of what was read are escaped where it is put into a message. */
void bc_escaped_whole(char *text, size_t size);

/* How many bytes at `text` (of `length`) may be shown as they are, whatever reads them: up to the first character
 * beyond ASCII that would be escaped, or to the end. Controls, which a table or a colour needs, are left alone. */
size_t bc_escaped_span(const char *text, size_t length);

/* The character at the start of `text` as it is shown, `bytes` of `text` long, and its number. */
#define BC_ESCAPED_PIECE 16
size_t bc_escaped_one(const char *text, char piece[BC_ESCAPED_PIECE], uint32_t *code);

/* The whole of `text`, escaped, in memory of its own; NULL when there is none left. */
char *bc_escaped_copy(const char *text);

#endif
