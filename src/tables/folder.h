/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_FOLDER_H
#define BLOOMCOAT_FOLDER_H
/*
 * What lies in a folder.
 */
#include <bloomcoat/error.h>
#include <stdbool.h>
#include <stddef.h>

/* FOLDER/NAME where there is such a file (or, `is_folder`, such a folder), else NULL in *path; free() it. A symbolic
 * link to nothing is BC_ERROR_INPUT: what it led to is missing. */
bc_status bc_folder_find(const char *folder, const char *name, bool is_folder, char **path, bc_error *error);

typedef struct bc_folder_list {
    size_t count;
    char **name;
} bc_folder_list;

/* The names of the files NAME.csv (or of the folders) in a folder, in the order of their bytes; hidden ones are left
 * out. */
bc_status bc_folder_read(const char *folder, bool folders, bc_folder_list *list, bc_error *error);
void bc_folder_clear(bc_folder_list *list);

#endif
