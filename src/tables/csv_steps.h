/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CSV_STEPS_H
#define BLOOMCOAT_CSV_STEPS_H
/*
 * The steps of bc_csv_read(), in the order they are taken.
 */
#include "csv_file.h"

/* Refuse bytes that are no text: a zero, or no UTF-8. */
bc_status bc_csv_check_bytes(const bc_csv *csv, const char *bytes, size_t length, bc_error *error);

/* Match the header's names (the cells read so far, `width` of them) to the schema. */
bc_status bc_csv_match_header(bc_csv *csv, bc_error *error);

#endif
