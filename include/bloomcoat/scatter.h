/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SCATTER_H
#define BLOOMCOAT_SCATTER_H
/*
 * Light that a rough surface scatters out of the specular beams, beside the R, T and A of a smooth one.
 *
 * Of the reflected light the share 1 - exp(-(4 pi n0 s cos(aoi) / wavelength)^2) leaves the specular direction, s being
 * the rms roughness: total integrated scatter (Bennett and Porteus, J. Opt. Soc. Am. 51, 123 (1961), near normal
 * incidence in air; the cosine of the angle as in Beckmann and Spizzichino, The Scattering of Electromagnetic Waves
 * from Rough Surfaces, 1963, from memory). Of the transmitted light, by the same reasoning on the phase that a step of
 * the surface makes, 1 - exp(-(2 pi s (ns cos(refracted) - n0 cos(aoi)) / wavelength)^2).
 *
 * Holds for s far below the wavelength and layers that repeat the surface under them: then they move with it as a
 * whole. Roughness that the layers add of their own is not known here.
 */
#include <bloomcoat/check.h>

BC_API_BEGIN

/* The share of the reflected light. Lengths in nm, n0 of the medium that the light comes from. */
double bc_scatter_reflected(double rms_nm, double wavelength_nm, double n0, double aoi_rad);

/* The share of the transmitted light; where ns reflects totally, as at the critical angle. */
double bc_scatter_transmitted(double rms_nm, double wavelength_nm, double n0, double ns, double aoi_rad);

/* Both, between a stack's own media as their tables have them. */
bc_status bc_scatter_shares(const bc_stack *stack, const bc_medium *substrate, double rms_nm, double wavelength_nm,
                            double aoi_rad, double *reflected, double *transmitted, bc_error *error);

/* What roughness means to one row of a verdict. */
typedef struct bc_scatter {
    double at_nm;                  /* where the row is worst; for a mean the short end of its band, where it is most */
    double reflected, transmitted; /* shares */
    /* By how much the row's value changes (fraction, > 0). Specular R and T lose their share; A, taken as what is
     * missing from R + T, gains both. With scope part both surfaces are as rough, and this is the most it can be. */
    double change;
    double margin; /* between value and limit; < 0: the row fails as it is */
    bool matters;  /* the change is more than a tenth of the margin either way */
} bc_scatter;

bc_status bc_scatter_of(const bc_stack *stack, const bc_finding *finding, double rms_nm, bc_scatter *scatter,
                        bc_error *error);

BC_API_END

#endif
