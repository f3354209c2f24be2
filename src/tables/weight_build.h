/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_WEIGHT_BUILD_H
#define BLOOMCOAT_WEIGHT_BUILD_H
/*
 * What a weight holds, and the table of one factor.
 */
#include <bloomcoat/weight.h>

typedef struct bc_weight_factor {
    size_t cie;            /* of bc_cie_table: where in a row it begins; unless there are rows */
    size_t rows;           /* of its own table; 0: the CIE's */
    bool angle;            /* its table is one over angle */
    double *at, *relative; /* [rows] in one allocation: nm (or degrees), and the weight there */
} bc_weight_factor;

struct bc_weight {
    char name[BC_WEIGHT_NAME_SIZE];
    bool sum; /* over the rows of the CIE's tables */
    size_t factors;
    bc_weight_factor factor[BC_WEIGHT_FACTORS];
};

/* Read a table with columns wavelength_nm, wavelength_um or angle_deg, and weight. */
bc_status bc_weight_read(const char *path, bc_weight_factor *factor, bc_error *error);

/* The factor of this name that comes with the program; false: there is none. */
bool bc_weight_shipped_factor(const char *name, bc_weight_factor *factor);

void bc_weight_free(bc_weight *weight);

#endif
