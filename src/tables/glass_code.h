/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_GLASS_CODE_H
#define BLOOMCOAT_GLASS_CODE_H
/*
 * The index of an optical glass of which only the six-digit code is known: nd - 1 to three digits, then 10 Vd.
 *
 * n^2 = A + B / (L^2 - C) - D L^2 with L in um, D = 0.012 and C = 0.008 + 0.9 / Vd (the ultraviolet pole moves with the
 * dispersion); A and B follow from nd and from Vd = (nd - 1) / (nF - nC), lines d 587.5618, F 486.1327, C 656.2725 nm.
 * The form is that of Sellmeier's formula with one pole and the first term of the infrared one; C and D were fitted
 * here to the catalogue coefficients of 406 glasses (Polyanskiy, Sci. Data 11, 94 (2024), doi
 * 10.1038/s41597-023-02898-2, CC0), those of materials/glasses.csv. Over those the worst error, the rounding of the
 * code included, was 0.0014 between 400 and 700 nm and 0.0021 between 400 and 1100 nm.
 */
#include <bloomcoat/dispersion.h>

#define BC_CODE_ERROR_VISIBLE 0.0015 /* of n, 400 to 700 nm */
#define BC_CODE_ERROR         0.0022 /* of n, 400 to 1100 nm */

/* nd and Vd of a code; false where `name` is none, or of no optical glass (nd 1.4 to 2.1, Vd 15 to 96). */
bool bc_glass_code(const char *name, double *nd, double *vd);

/* A table of 400 to 1100 nm, with its source and, as a caution, that it is an estimate. */
bc_status bc_glass_code_table(const char *name, double nd, double vd, bc_dispersion **out, bc_error *error);

#endif
