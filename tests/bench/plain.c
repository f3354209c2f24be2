/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench.h"
#include <complex.h>

void plain_spectrum(size_t wavelengths, const double *wavelength_nm, double substrate_n, size_t layers, const double *n,
                    const double *k, const double *thickness_nm, double *R)
{
    for (size_t i = 0; i < wavelengths; i++) {
        double complex B = 1.0, C = substrate_n, rho;
        for (size_t j = layers; j-- > 0;) {
            const double complex N = n[j] - I * k[j];
            const double complex delta = 2.0 * 3.14159265358979323846 * N * thickness_nm[j] / wavelength_nm[i];
            const double complex cosine = ccos(delta), sine = csin(delta);
            const double complex above = cosine * B + I * sine / N * C;
            C = I * N * sine * B + cosine * C;
            B = above;
        }
        rho = (B - C) / (B + C);
        R[i] = creal(rho) * creal(rho) + cimag(rho) * cimag(rho);
    }
}
