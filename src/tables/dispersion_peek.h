/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DISPERSION_PEEK_H
#define BLOOMCOAT_DISPERSION_PEEK_H
#include <bloomcoat/error.h>
#include <stdbool.h>

/* Whether the header row of `path` is that of a dispersion table, or a misspelling of it. Folders hold other CSV files
 * too, stacks and callouts among them, and these are no materials. A file that cannot be opened counts as a table, so
 * so that the reader learns why. BC_ERROR_MEMORY when that is all that was missing. */
bc_status bc_dispersion_peek(const char *path, bool *is_table, bc_error *error);

/* Likewise of a table of weights; one that cannot be opened is none. */
bc_status bc_weight_peek(const char *path, bool *is_table, bc_error *error);

#endif
