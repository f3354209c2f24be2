/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PLACE_H
#define BLOOMCOAT_PLACE_H
/*
 * Where a file that is named is read from. As its path says, unless the program keeps a record: then every file that is
 * read is seen, and what was read a year ago can be read again under the names it had.
 *
 * Of the whole process, and set by the program alone, before it reads anything and while no other thread runs. Whoever
 * uses the library reads files where they are.
 */
#include <stddef.h>
#include <sys/stat.h>

typedef struct bc_places {
    /* Where `path` is to be read; a path that leads nowhere: it is not there. NULL: where it says. */
    const char *(*where)(void *context, const char *path);
    /* A file was read (its bytes), or a file or folder was found to be there (NULL). NULL: nobody looks. */
    void (*seen)(void *context, const char *path, const char *bytes, size_t length);
    void *context;
} bc_places;

/* `places` (NULL: none) must stay as it is until the next call. */
void bc_places_set(const bc_places *places);

const char *bc_place(const char *path);
void bc_place_seen(const char *path, const char *bytes, size_t length);
/* As stat(), seen when it succeeds. */
int bc_place_stat(const char *path, struct stat *info);

#endif
