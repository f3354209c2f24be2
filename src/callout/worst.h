/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_WORST_H
#define BLOOMCOAT_WORST_H
/*
 * The worst point of one callout on one stack.
 */
#include <bloomcoat/check.h>

typedef struct bc_worst {
    double value; /* fraction */
    double at_nm, at_aoi_rad;
    bc_polarization plane;
} bc_worst;

bc_status bc_find_worst(const bc_stack *stack, const bc_callout *callout, const bc_back *back, bc_worst *worst,
                        bc_error *error);

#endif
