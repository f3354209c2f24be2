/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_COLOUR_TABLES_H
#define BLOOMCOAT_COLOUR_TABLES_H
/*
 * The CIE's standard observers and illuminants, 380 to 780 nm every 5 nm.
 */
#include <bloomcoat/colour.h>

typedef struct bc_colour_row {
    double observer[BC_OBSERVERS][3];  /* x, y, z; y of the 2 degree observer is V(lambda) */
    double illuminant[BC_ILLUMINANTS]; /* relative power per nm, 100 at 560 nm */
} bc_colour_row;

extern const bc_colour_row bc_colour_table[BC_COLOUR_ROWS];

#endif
