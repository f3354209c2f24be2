/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_NOISE_H
#define BLOOMCOAT_NOISE_H
/*
 * The noise of a scan.
 */
#include <bloomcoat/inspect.h>

/* From differences of the fourth order within `value`. `scratch` has room for `count`. */
bc_noise bc_noise_of_scan(size_t count, const double *wavelength_nm, const double *value, double *scratch);

/* The step that all values are multiples of, but for a common offset; 0 when there is none. */
double bc_rounding_step(size_t count, const double *value, double *scratch);

/* From the scatter of repeats: the root mean square of `deviation` over 31 neighbours, where it is known. */
bc_noise bc_noise_of_repeats(size_t count, const double *deviation, size_t repeats, double *noise);

/* Noise is no less than rounding leaves, `rounding` (a standard deviation); `each` [count] gets it, and has that of
 * repeats already. That of a single scan is one figure. */
bc_noise bc_noise_not_below_rounding(bc_noise noise, double rounding, size_t count, double *each);

/* From the repeats where there are any, else from the scan's own differences. */
bc_noise bc_noise_of_measured(size_t count, const double *wavelength_nm, const bc_measured *measured, size_t repeats,
                              double *each, double *scratch);

#endif
