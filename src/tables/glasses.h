/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_GLASSES_H
#define BLOOMCOAT_GLASSES_H
/*
 * A file of many glasses, a row each: six-digit code, coefficients of Sellmeier's formula, range. It lies in a folder
 * of materials beside the tables, as glasses.csv.
 */
#include <bloomcoat/materials.h>

#define BC_GLASSES_FILE "glasses.csv"

/* Whether a name could be in such a file: six digits. */
bool bc_glasses_is_code(const char *name);

/* The glass `code` of the file, as a table with the file's notes; NULL in *out where the file has no such row. */
bc_status bc_glasses_find(const char *path, const char *code, bc_dispersion **out, bc_error *error);

/* Call add(context, code, error) for every row. */
bc_status bc_glasses_each(const char *path, bc_status (*add)(void *context, const char *code, bc_error *error),
                          void *context, bc_error *error);

#endif
