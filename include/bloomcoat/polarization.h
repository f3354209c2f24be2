/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_POLARIZATION_H
#define BLOOMCOAT_POLARIZATION_H
/*
 * Polarization, numbered in one way throughout: in callouts, verdicts and as the index into a bc_spectrum.
 */
#include <bloomcoat/api.h>

BC_API_BEGIN

typedef enum bc_polarization {
    BC_POL_UNPOLARIZED = 0, /* (s + p) / 2 */
    BC_POL_S = 1,
    BC_POL_P = 2,
    BC_POL_EACH = 3, /* s and p both: in callouts and requests, never of a value */
} bc_polarization;

BC_API_END

#endif
