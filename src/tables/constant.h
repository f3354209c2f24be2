/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CONSTANT_H
#define BLOOMCOAT_CONSTANT_H
/*
 * A constant index written in place of a material's name: `1.38`, `3.1-3.3i`.
 *
 * Exactly six digits are an optical glass's code and so a table's name, never a number. Anything else that is a number
 * is a constant, whatever tables there are, and its n must lie within 0.01 and 20 and its k within 0 and 100: outside
 * these no optical material lies, but many a mistyped code or thickness does.
 */
#include <stdbool.h>

typedef enum bc_constant_kind {
    BC_CONSTANT_NONE,  /* no constant: a name to look for */
    BC_CONSTANT_GOOD,  /* n and k are set */
    BC_CONSTANT_WRONG, /* meant as a constant, and wrong: `expected` says what would be right */
} bc_constant_kind;

bc_constant_kind bc_constant_parse(const char *name, double *n, double *k, const char **expected);

#endif
