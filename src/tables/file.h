/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_FILE_H
#define BLOOMCOAT_FILE_H
/*
 * A whole file in memory, up to 64 MiB.
 */
#include <bloomcoat/error.h>
#include <stddef.h>

#define BC_FILE_MOST ((size_t)64 << 20)

/* The bytes of `path`, followed by two zeros that are not counted; the caller frees *bytes. A path that is missing, not
 * to be opened, a folder or too large is the person's to mend (BC_ERROR_INPUT); a failing disk is not (BC_ERROR_IO). */
bc_status bc_file_read(const char *path, char **bytes, size_t *length, bc_error *error);

#endif
