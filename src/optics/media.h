/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MEDIA_H
#define BLOOMCOAT_MEDIA_H
/*
 * From a complex index to what the matrices need: phase per nm and tilted admittances, per wavelength.
 */
#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

#ifndef CMPLX /* older C libraries define it for GCC only */
#define CMPLX(re, im) __builtin_complex((double)(re), (double)(im))
#endif

/* q = sqrt(N^2 - beta^2) for N = n - ik and the invariant beta = n0 sin(aoi): the root with Re q >= 0, Im q <= 0, so
 * that a wave going down decays. Kept off zero by 1e-9: at the critical angle sin(delta)/q then has its limit to 1e-18.
 */
double complex bc_normal_index(double n, double k, double beta);

/* The light of one workspace on its padded grid. */
typedef struct bc_light {
    size_t padded;
    unsigned planes;
    double *beta;        /* n0 sin(aoi) */
    double *wave_number; /* 2 pi / wavelength */
} bc_light;

/* One medium on the padded grid: its table and what follows from it. The index of the arrays of two is bc_plane. */
typedef struct bc_medium_arrays {
    double *n, *k;
    double *phase_re, *phase_im;           /* wave_number q = phase_re - i phase_im */
    double *eta_re[2], *eta_im[2];         /* admittance: q for s, N^2/q for p */
    double *inverse_re[2], *inverse_im[2]; /* 1 / admittance */
} bc_medium_arrays;

#define BC_SMALLEST_N 0.01

/* n + dn, kept at BC_SMALLEST_N or more, or at n itself where that is less. */
static inline __attribute__((always_inline)) double bc_shifted_index(double n, double dn)
{
    const double least = n < BC_SMALLEST_N ? n : BC_SMALLEST_N;
    return n + dn > least ? n + dn : least;
}

/* Everything that follows from n + dn (bc_shifted_index()) and k; whether q is complex, and whether k > 0, anywhere on
 * the grid. */
void bc_set_medium(const bc_light *light, const bc_medium_arrays *arrays, double dn, bool *is_complex, bool *absorbing);

#endif
