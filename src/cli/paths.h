/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_PATHS_H
#define BLOOMCOAT_CLI_PATHS_H
/*
 * Paths of what is written: where they lead, and folders for it.
 */
#include <bloomcoat/error.h>
#include <stdbool.h>

bool cli_is_standard_output(const char *path);
/* Whether two paths lead to one file, whether it is there yet or not. */
bool cli_is_same_file(const char *one, const char *other);
/* Whether standard output was redirected into the file. */
bool cli_is_redirected_to(const char *path);

/* A folder, unless it is there already. */
bc_status cli_make_folder(const char *path, bc_error *error);
/* FOLDER/NAME in *path; free() it. */
bc_status cli_path_in(const char *folder, const char *name, char **path, bc_error *error);

#endif
