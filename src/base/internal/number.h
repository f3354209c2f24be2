/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_NUMBER_H
#define BLOOMCOAT_NUMBER_H
/*
 * Decimal numbers in text, the same in every locale: digits with at most one point, an exponent if need be, and nothing
 * else. No nan, no infinity, no hexadecimal, no comma, no grouping.
 */
#include <stddef.h>

#define BC_NUMBER_SIZE 32 /* what bc_number_format() writes */

typedef enum bc_number_status {
    BC_NUMBER_OK,
    BC_NUMBER_NONE,  /* no number at all */
    BC_NUMBER_COMMA, /* it would be one with a point in place of its comma */
    BC_NUMBER_TOO_LARGE,
    BC_NUMBER_TOO_SMALL, /* not zero, and yet too small to be told from it with full precision */
} bc_number_status;

/* The whole of `text`, times ten to the power of `shift`, rounded once: "1.001" with shift 3 is 1001 exactly. */
bc_number_status bc_number_parse(const char *text, int shift, double *value);

/* strtod() with a decimal point in every locale. */
double bc_number_read(const char *text, char **end);

/* How many bytes at the start of `text` form a number without a sign; 0 when none do. */
size_t bc_number_length(const char *text);

/* What is wrong, to stand in brackets after the text that was found; "" when there is nothing to add. */
const char *bc_number_remark(bc_number_status status);

/* The shortest of 15 or 17 digits that reads back as `value`. Returns `out`. */
const char *bc_number_format(double value, char out[BC_NUMBER_SIZE]);

#endif
