/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_RECORDED_FILES_H
#define BLOOMCOAT_CLI_RECORDED_FILES_H
/*
 * Files in memory under the names a command had for them, and laid out again in a folder.
 */
#include <bloomcoat/record.h>

typedef struct cli_files {
    size_t count;
    bc_record_file *file; /* of each path one */
    bool failed;          /* there was no memory: something is missing */
} cli_files;

/* The bytes are copied. A path that is there already gets bytes when it has none (a folder, or a file only seen). */
void cli_files_add(cli_files *files, const char *path, const char *bytes, size_t length);
/* Read what was only seen: a file that was there, and that nobody looked into. Folders stay without bytes. */
bc_status cli_files_complete(cli_files *files, bc_error *error);
void cli_files_clear(cli_files *files);

/* Lay the files out in a new private folder, *folder (free() it): `places` has every path, and as its bytes where it
 * now lies. */
bc_status cli_files_lay_out(size_t count, const bc_record_file *file, char **folder, cli_files *places,
                            bc_error *error);
/* Remove that folder with all in it, and clear `places`. */
void cli_files_remove(const char *folder, cli_files *places);

#endif
