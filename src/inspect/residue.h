/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_RESIDUE_H
#define BLOOMCOAT_RESIDUE_H
#include <stdbool.h>
#include <stddef.h>

/* Whether values in units of their noise look like noise that is independent from point to point: their size, the sum
 * of the first autocorrelations, and the largest sum over any stretch. One white sequence in a hundred or fewer is
 * said to be none. */
bool bc_residue_is_noise(size_t count, const double *rest);

/* How many points of noise count as one where neighbours are alike: (1 + r) / (1 - r) of an autoregression of the first
 * order (Box and Jenkins, Time Series Analysis, 3.2.3; from memory), r being the first autocorrelation, 0 if less. */
double bc_residue_points_in_one(size_t count, const double *rest);

/* The same of what need not be noise: 1 + 2 times the sum of the autocorrelations at lags below `lags`, up to the first
 * that is not positive. */
double bc_residue_points_alike(size_t count, const double *rest, size_t lags);

#endif
