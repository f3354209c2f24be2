/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_OUTLIERS_H
#define BLOOMCOAT_OUTLIERS_H
/*
 * Single readings that no noise explains.
 *
 * The fit is repeated with weights (1 - (r / 4.685 s)^2)^2, 0 beyond that, r being what it left at a point before and s
 * the noise or 1.4826 times the median of |r|, whichever is more: Tukey's biweight by iteratively reweighted least
 * squares (Beaton and Tukey, Technometrics 16, 147 (1974); from memory). What then lies more than six s off is an
 * outlier, if no more than two neighbours and no more than one point in fifty are, eight at most, and if the others are
 * explained. More than that is no outlier but a wrong model.
 */
#include "inspection.h"

/* Whether there are any: they are marked in the readings, to be left out of the next fit. Uses up the fit's point. */
bc_status bc_find_outliers(bc_inspection *inspection, bool *found, bc_error *error);

/* result->outlier and its count, once the last fit is made. */
void bc_tell_outliers(bc_inspection *inspection);

#endif
