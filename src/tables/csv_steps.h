/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CSV_STEPS_H
#define BLOOMCOAT_CSV_STEPS_H
/*
 * The steps of bc_csv_read(), in the order they are taken.
 */
#include "csv_file.h"

/* UTF-16 with its mark becomes UTF-8, in memory that takes the place of *bytes. */
bc_status bc_csv_from_utf16(const bc_csv *csv, char **bytes, size_t *length, bc_error *error);

/* Refuse bytes that are no text: a zero, or no UTF-8. */
bc_status bc_csv_check_bytes(const bc_csv *csv, const char *bytes, size_t length, bc_error *error);

/* Match the header's names (the cells read so far, `width` of them) to the schema. */
bc_status bc_csv_match_header(bc_csv *csv, bc_error *error);

/* What parts the cells of the first line that is none of comments: a comma, a semicolon or a tab. Quotes are seen. */
char bc_csv_find_separator(const char *bytes);

/* Decimal commas become points, where they are certain: cells are parted by something else, or some number in quotes
 * cannot be one with grouped thousands. Refused where numbers have both signs. */
bc_status bc_csv_settle_decimals(bc_csv *csv, bc_error *error);

#endif
