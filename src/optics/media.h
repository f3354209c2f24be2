/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MEDIA_H
#define BLOOMCOAT_MEDIA_H
/*
 * From a complex index to what the matrices need: phase per nm and tilted admittances, per wavelength.
 */
#include <complex.h>

/* q = sqrt(N^2 - beta^2) for N = n - ik and the invariant beta = n0 sin(aoi): the root with Re q >= 0, Im q <= 0, so that
 * a wave going down decays. Kept off zero by 1e-9: at the critical angle sin(delta)/q then has its limit to 1e-18. */
double complex bc_normal_index(double n, double k, double beta);

#endif
