/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_STENCIL_H
#define BLOOMCOAT_STENCIL_H
/*
 * A curve on rising wavelengths, seen between them: the cubic through the four points about each place (Lagrange;
 * Abramowitz and Stegun, 25.2.13, for even steps). The ends carry on by the cubic of the last four.
 */
#include <stddef.h>

#define BC_STENCIL 4 /* points; `count` is at least as many */

/* Where each of the wavelengths plus `shift_nm` lies, and with which weights: at[count], weight[4 * count]. */
void bc_stencil_set(size_t count, const double *wavelength_nm, double shift_nm, size_t *at, double *weight);
void bc_stencil_apply(size_t count, const size_t *at, const double *weight, const double *value, double *out);

/* d value / d wavelength at the points themselves, per nm: the slope of that cubic. */
void bc_stencil_slope(size_t count, const double *wavelength_nm, const double *value, double *out);

#endif
