/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_RESIDUE_H
#define BLOOMCOAT_RESIDUE_H
#include <stdbool.h>
#include <stddef.h>

/* Whether values in units of their noise look like noise that is independent from point to point: their size, the sum
 * of the first autocorrelations, and the largest sum over any stretch. One white sequence in a hundred or fewer is
 * said to be none. */
bool bc_residue_is_noise(size_t count, const double *rest);

#endif
