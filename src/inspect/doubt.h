/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DOUBT_H
#define BLOOMCOAT_DOUBT_H
/*
 * What outliers and missing values leave of a verdict that would be accept.
 */
#include "band.h"
#include "smooth.h"

/* BC_DECIDED, or why the row is not accepted after all; finding->doubt_nm and doubt_value say where. `curve` is what
 * was judged, `stretch` what corrections make of a change of the reading (judged on the curve only). */
bc_undecided bc_find_doubt(const bc_inspection *inspection, const bc_smooth *smooth, const bc_curve *curve,
                           const double *stretch, bc_inspect_finding *finding);

/* For a mean: an outlier counts with the worse of what it is and what the fit expects there. `first`: the reading that
 * the curve begins with. */
void bc_take_worse_of_outliers(const bc_inspection *inspection, const bc_callout *callout, size_t first,
                               bc_curve *curve);

#endif
