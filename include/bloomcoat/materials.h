/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MATERIALS_H
#define BLOOMCOAT_MATERIALS_H
/*
 * Materials by name: a list of folders searched in order, and the tables read from them so far.
 *
 * A name is `air`, a constant (`1.38`, `3.1-3.3i`), or NAME for the first NAME.csv found in the folders. A name holds
 * letters, digits, `-`, `_`, `+` and `.`, does not begin with a dot and cannot lead out of the folders. An optical
 * glass may also stand in a folder's glasses.csv, many in one file: a table of its own in the same folder comes first.
 * Of any other six-digit code the index is estimated from nd and Vd, and the table says so.
 */
#include <bloomcoat/dispersion.h>

BC_API_BEGIN

typedef struct bc_materials bc_materials;

bc_status bc_materials_alloc(bc_materials **out, bc_error *error);
void bc_materials_free(bc_materials *materials); /* frees every dispersion it handed out */

/* Append one folder, searched after those already there. BC_ERROR_INPUT when it is no readable folder. */
bc_status bc_materials_add_folder(bc_materials *materials, const char *folder, bc_error *error);

/* Append the folders of a colon-separated list (as in $BLOOMCOAT_TABLES); empty parts are skipped. */
bc_status bc_materials_add_path(bc_materials *materials, const char *path_list, bc_error *error);

/* The dispersion called `name`, read on first use and owned by `materials`. When there is none the message lists the
 * nearest names and the folders searched. `where` (may be NULL) is put before the message: "stack.csv:3: column 2 ...".
 */
bc_status bc_materials_find(bc_materials *materials, const char *name, const char *where, const bc_dispersion **out,
                            bc_error *error);

/* The material of `of` with that index gradient (bc_dispersion_graded()), owned by `materials`, which must own `of`
 * too. The same gradient gives the same one again. */
bc_status bc_materials_graded(bc_materials *materials, const bc_dispersion *of, double gradient,
                              const bc_dispersion **out, bc_error *error);

/* The names to be found, sorted (digits before letters, upper and lower case together), without duplicates. Strings
 * and array belong to `materials` and stay valid until the next call. */
bc_status bc_materials_list(bc_materials *materials, size_t *count, const char *const **names, bc_error *error);

/* The glasses of glasses.csv, by six-digit code; likewise. bc_materials_list() leaves them out. */
bc_status bc_materials_glasses(bc_materials *materials, size_t *count, const char *const **names, bc_error *error);

/* The tables of weights (weight.h) in the folders; likewise. One may not be read for all that. */
bc_status bc_materials_weights(bc_materials *materials, size_t *count, const char *const **names, bc_error *error);

BC_API_END

#endif
