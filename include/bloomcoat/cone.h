/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CONE_H
#define BLOOMCOAT_CONE_H
/*
 * A cone of unpolarized light on a plane surface: the mean over its directions, uniform in solid angle or weighted by
 * the angle from its axis, each with its own angle of incidence.
 *
 * At the angle g from an axis that meets the surface at t0, and the azimuth p about it, light meets the surface at t
 * with x = cos(t) = cos(t0) cos(g) + sin(t0) sin(g) cos(p). R and T are smooth in x, whatever the weight w(g): the
 * angles that stand for the cone are those of the Gauss rule of x's own distribution, w(g) sin(g) dg dp, exact for
 * polynomials in x. Its recurrence is Stieltjes' (Gautschi, Orthogonal Polynomials (2004), 2.2), its nodes and shares
 * are eigenvalues and eigenvectors (Golub and Welsch, Math. Comp. 23, 221 (1969); GSL).
 */
#include <bloomcoat/callouts.h>
#include <bloomcoat/spectrum.h>

BC_API_BEGIN

#define BC_CONE_MOST 64 /* angles of incidence that stand for a cone */

typedef struct bc_cone {
    size_t count;
    double aoi_rad[BC_CONE_MOST], share[BC_CONE_MOST]; /* the shares add up to 1 */
} bc_cone;

/* The `points` angles, BC_CONE_MOST at most, that stand for a cone of this half-angle about aoi_rad (their sum below
 * pi/2). A half-angle of 0: the one angle. `weight` is one over angle (weight.h), above 0 somewhere in the cone; NULL:
 * uniform. Fails for want of memory only. */
bc_status bc_cone_open(double aoi_rad, double half_rad, const bc_weight *weight, size_t points, bc_cone *cone,
                       bc_error *error);

/* So many points that a fringe in angle of layers with this tilt_nm (sampling.h) is followed at from_nm. */
size_t bc_cone_points(double aoi_rad, double half_rad, double from_nm, double tilt_nm);

/* bc_spectrum_compute() averaged over a cone; of the planes only BC_POL_UNPOLARIZED then has a meaning. */
bc_status bc_cone_spectrum(const bc_stack *stack, const bc_back *back, size_t wavelengths, const double *wavelength_nm,
                           const bc_cone *cone, bc_spectrum *out, bc_error *error);

BC_API_END

#endif
