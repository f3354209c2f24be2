/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CORRECT_H
#define BLOOMCOAT_CORRECT_H
/*
 * From the values of a measurement to those a callout applies to. All curves here hold the points that every table
 * reaches.
 */
#include "band.h"
#include "inspection.h"

/* Whether taking out the back's share leans on the fit: something absorbs, or s and p were measured as one. */
bool bc_removal_needs_fit(const bc_inspection *inspection);

/* Take the share of an uncoated back out of a curve of BC_R or BC_T of the part, leaving the front's. */
bc_status bc_remove_back(const bc_inspection *inspection, bc_quantity quantity, bc_curve *curve, bc_error *error);

/* Add what the fitted stack says is the difference between the callout's angle and the measured one, for the front or
 * the part. `largest`: the largest correction. */
bc_status bc_correct_angle(const bc_inspection *inspection, const bc_back *back, const bc_callout *callout,
                           bc_curve *curve, double *largest, bc_error *error);

#endif
