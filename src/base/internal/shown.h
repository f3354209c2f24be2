/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SHOWN_H
#define BLOOMCOAT_SHOWN_H
/*
 * Text from a file, made fit to be shown in a message: characters that would drive a terminal, reverse the reading
 * order or stay invisible are escaped, bytes that are no UTF-8 too, and long text is cut on a character's boundary.
 */
#include <stddef.h>

#define BC_SHOWN_SIZE      448 /* 40 characters, each escaped at worst, and the mark of a cut */
#define BC_SHOWN_PATH_SIZE 336

/* At most the first 40 characters of `text`. Returns `out`. */
const char *bc_shown(const char *text, char out[BC_SHOWN_SIZE]);

/* A path: of a long one the end is kept, because that is where the file's name is. Returns `out`. */
const char *bc_shown_path(const char *path, char out[BC_SHOWN_PATH_SIZE]);

/* The whole of `text`, escaped, in memory of its own; NULL when there is none left. */
char *bc_shown_copy(const char *text);

#endif
