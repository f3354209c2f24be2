/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CONE_H
#define BLOOMCOAT_CONE_H
/*
 * A cone of unpolarized light on a plane surface: the mean over its directions, uniform in solid angle, each with its
 * own angle of incidence.
 *
 * About an axis that meets the surface at t0, the directions within the half-angle h that meet it at t make up sin(t)
 * f(t) / (pi (1 - cos(h))) of the cone per radian, where cos(f) = (cos(h) - cos(t0) cos(t)) / (sin(t0) sin(t))
 * (spherical law of cosines), and f = pi where the whole circle lies inside. The integral over t is by Gauss and
 * Legendre's rule (GSL), taken along an arc where f begins or ends like a root.
 */
#include <bloomcoat/callouts.h>
#include <bloomcoat/spectrum.h>

BC_API_BEGIN

#define BC_CONE_MOST 128 /* angles of incidence that stand for a cone */

typedef struct bc_cone {
    size_t count;
    double aoi_rad[BC_CONE_MOST], share[BC_CONE_MOST]; /* the shares add up to 1 */
} bc_cone;

/* The angles that stand for a cone of this half-angle about aoi_rad (their sum below pi/2), `points` of them in each of
 * one or two pieces of the range, 64 at most. A half-angle of 0: the one angle. Fails for want of memory only. */
bc_status bc_cone_open(double aoi_rad, double half_rad, size_t points, bc_cone *cone, bc_error *error);

/* So many points that a fringe in angle of layers with this tilt_nm (sampling.h) is followed at from_nm. */
size_t bc_cone_points(double aoi_rad, double half_rad, double from_nm, double tilt_nm);

/* bc_spectrum_compute() averaged over a cone; of the planes only BC_POL_UNPOLARIZED then has a meaning. */
bc_status bc_cone_spectrum(const bc_stack *stack, const bc_back *back, size_t wavelengths, const double *wavelength_nm,
                           const bc_cone *cone, bc_spectrum *out, bc_error *error);

BC_API_END

#endif
