/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESK_FOLDER_H
#define BLOOMCOAT_DESK_FOLDER_H
/*
 * The desk's own folder, in memory where the system has a place for that, with a folder inside for each job. Nobody
 * else can look into it, and it is gone when the desk ends; what a killed desk left, the next one removes.
 */
#include <bloomcoat/report.h>

#define DESK_NAME_SIZE   64         /* of a file of a job, with its zero */
#define DESK_RESULT_SIZE (16 << 20) /* bytes of a file that is read back */

typedef struct desk_folder {
    char *path;
    int descriptor; /* open as long as the folder is used, and locked */
} desk_folder;

bc_status desk_folder_make(desk_folder *folder, bc_error *error);
void desk_folder_remove(desk_folder *folder);

/* Letters, digits, '-', '_' and '.', the first a letter or digit, below DESK_NAME_SIZE: it leads nowhere else. */
bool desk_name_is_safe(const char *name);

/* A job's folder, by a descriptor: files in it are named, never reached by a path. */
bc_status desk_job_folder_make(const desk_folder *folder, char name[DESK_NAME_SIZE], int *descriptor, bc_error *error);
void desk_job_folder_remove(const desk_folder *folder, const char *name, int descriptor);
bc_status desk_file_write(int folder, const char *name, const char *text, size_t length, bc_error *error);
/* Of a file that a job wrote. BC_ERROR_INPUT when it did not, or too much. */
bc_status desk_file_read(int folder, const char *name, bc_text *out, bc_error *error);

#endif
