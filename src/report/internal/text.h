/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_TEXT_H
#define BLOOMCOAT_REPORT_TEXT_H
/*
 * Writing into a bc_text. A failed allocation is kept in the text and reported once, by bc_text_end().
 */
#include <bloomcoat/report.h>

#define BC_TEXT_COLUMNS 80

void bc_text_add(bc_text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));
void bc_text_add_bytes(bc_text *text, const char *data, size_t length);
void bc_text_pad(bc_text *text, size_t columns);

/* Append `words`, broken at spaces into lines of BC_TEXT_COLUMNS, ending with a newline. The first line begins at
 * column `at` (what was already written on it), the others at `indent`. */
void bc_text_wrap(bc_text *text, size_t at, size_t indent, const char *words);

/* The same for words gathered in a text of their own, all lines at `indent`; nothing for no words. `words` is cleared,
 * and an allocation that failed in it is remembered in `text`. */
void bc_text_wrap_gathered(bc_text *text, size_t indent, bc_text *words);

/* The lines of `lines`, each broken to the width of a text. Releases `lines`. */
void bc_add_lines(bc_text *out, bc_text *lines);

/* The columns a UTF-8 string takes: its code points, less the escape sequences of colours. */
size_t bc_text_width(const char *string);

/* A string from outside, such as a path: what would drive a terminal or end a comment line is escaped. */
void bc_text_add_plain(bc_text *text, const char *string);

/* Each line of `lines` (NULL: none) as a comment of a CSV file. */
void bc_text_add_comments(bc_text *text, const char *lines);

/* BC_OK, or empty the text and report the allocation that failed. */
bc_status bc_text_end(bc_text *text, bc_error *error);

#endif
