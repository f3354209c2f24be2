/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "airy.h"
#include <math.h>

#define PI 3.14159265358979323846

double complex airy_normal_index(double complex N, double beta)
{
    const double complex q = csqrt(N * N - beta * beta);
    return cimag(q) > 0.0 ? -q : q;
}

airy_value airy(const single_layer *coating, bc_plane plane, double wavelength_nm, double aoi_rad)
{
    const double complex N[3] = {coating->incident_n, coating->layer, coating->substrate};
    const double beta = coating->incident_n * sin(aoi_rad);
    double complex q[3], eta[3], r1, r2, t1, t2, phase, r, t;
    for (int m = 0; m < 3; m++) {
        q[m] = m == 0 ? coating->incident_n * cos(aoi_rad) : airy_normal_index(N[m], beta);
        eta[m] = plane == BC_S ? q[m] : N[m] * N[m] / q[m];
    }
    if (coating->thickness_nm == 0.0) {
        eta[1] = eta[0];
        q[1] = 0.0;
    }
    r1 = (eta[0] - eta[1]) / (eta[0] + eta[1]);
    r2 = (eta[1] - eta[2]) / (eta[1] + eta[2]);
    t1 = 2.0 * eta[0] / (eta[0] + eta[1]);
    t2 = 2.0 * eta[1] / (eta[1] + eta[2]);
    phase = cexp(-I * 2.0 * PI * q[1] * coating->thickness_nm / wavelength_nm);
    r = (r1 + r2 * phase * phase) / (1.0 + r1 * r2 * phase * phase);
    t = t1 * t2 * phase / (1.0 + r1 * r2 * phase * phase);
    return (airy_value){creal(r * conj(r)), creal(t * conj(t)) * creal(eta[2]) / creal(eta[0])};
}

airy_value airy_mean(const single_layer *coating, double wavelength_nm, double aoi_rad)
{
    const airy_value s = airy(coating, BC_S, wavelength_nm, aoi_rad), p = airy(coating, BC_P, wavelength_nm, aoi_rad);
    return (airy_value){0.5 * (s.R + p.R), 0.5 * (s.T + p.T)};
}
