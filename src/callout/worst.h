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

/* How far a check is, in samples of all its callouts. */
typedef struct bc_pace {
    bc_check_progress progress;
    void *context;
    double done, all;
} bc_pace;

/* Wavelengths times angles that one callout is sampled at. */
bc_status bc_worst_samples(const bc_stack *stack, const bc_callout *callout, const bc_back *back, double *samples,
                           bc_error *error);

/* `pace` may be NULL. */
bc_status bc_find_worst(const bc_stack *stack, const bc_callout *callout, const bc_back *back, bc_pace *pace,
                        bc_worst *worst, bc_error *error);

#endif
