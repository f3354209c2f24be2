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
    BC_POL_RATIO = 4 /* s / p: in callouts and of their values, never an index into a bc_spectrum */
} bc_polarization;

/* The largest ratio that bc_ratio_s_p() gives, in place of one whose p is next to nothing. */
#define BC_RATIO_MOST 1e6

/* s / p of two values of R or of T, neither below 0: from 0 to BC_RATIO_MOST; 1 where both are 0, since then no plane is
 * favoured. */
static inline double bc_ratio_s_p(double s, double p)
{
    return s < BC_RATIO_MOST * p ? s / p : s > 0.0 ? BC_RATIO_MOST : 1.0;
}

BC_API_END

#endif
