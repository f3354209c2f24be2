/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESK_PAGES_H
#define BLOOMCOAT_DESK_PAGES_H
/*
 * The page: the files of page/, compiled in.
 */
#include <stddef.h>

typedef struct desk_page {
    const char *path; /* "/" is index.html */
    const char *type;
    const unsigned char *data;
    size_t length;
} desk_page;

/* NULL: there is none. */
const desk_page *desk_page_find(const char *path);
/* The type of a file by its ending. */
const char *desk_type_of(const char *name);

#endif
