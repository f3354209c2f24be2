/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef OPTICS_AIRY_H
#define OPTICS_AIRY_H
/*
 * One layer in closed form, by the sum of its multiple beams instead of a matrix: with r and t of the two interfaces,
 *     r = (r1 + r2 e)/(1 + r1 r2 e),  t = t1 t2 sqrt(e)/(1 + r1 r2 e),  e = exp(-2i delta)
 * (Born and Wolf, Principles of Optics, ch. 1.6.4, and 7.6 for the sum), in tangential components, so that one form
 * serves s and p (Knittl, Optics of Thin Films, 1976).
 */
#include <bloomcoat/surface.h>
#include <complex.h>

typedef struct single_layer {
    double incident_n;
    double complex layer, substrate; /* N = n - ik */
    double thickness_nm;             /* 0: a bare substrate */
} single_layer;

typedef struct airy_value {
    double R, T;
} airy_value;

airy_value airy(const single_layer *coating, bc_plane plane, double wavelength_nm, double aoi_rad);
airy_value airy_mean(const single_layer *coating, double wavelength_nm, double aoi_rad); /* (s + p)/2 */

/* q = sqrt(N^2 - beta^2) with Im q <= 0, straight from the definition. */
double complex airy_normal_index(double complex N, double beta);

#endif
