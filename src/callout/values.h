/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_VALUES_H
#define BLOOMCOAT_VALUES_H
/*
 * What of a spectrum a callout is about.
 */
#include <bloomcoat/callouts.h>
#include <bloomcoat/spectrum.h>

/* R, T or A in `plane`, or the ratio s / p of R or T where it is BC_POL_RATIO, at every wavelength of the spectrum;
 * `plane` is not BC_POL_EACH. */
void bc_callout_values(const bc_spectrum *spectrum, bc_quantity quantity, bc_polarization plane, double *value);

#endif
