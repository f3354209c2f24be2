/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "media.h"
#include "processors.h"
#include <math.h>

#define SMALLEST_Q 1e-9

#define INLINED static inline __attribute__((always_inline))

/* q = re - i im without a branch, so that a loop over it is vectorized. */
INLINED void normal_index(double n, double k, double beta, double *re, double *im)
{
    /* (n - beta)(n + beta) keeps the digits near the critical angle that n^2 - beta^2 would lose. */
    const double square_re = (n - beta) * (n + beta) - k * k, square_im = 2.0 * n * k;
    const double size = sqrt(square_re * square_re + square_im * square_im);
    /* The larger part first, the other from the product, so that neither comes from a difference. */
    const double large = sqrt(0.5 * (size + fabs(square_re)));
    const double small = 0.5 * square_im / (large > 0.0 ? large : 1.0);
    const double q_re = square_re >= 0.0 ? large : small, q_im = square_re >= 0.0 ? small : large;
    const bool vanishes = q_re + q_im < SMALLEST_Q;
    *re = vanishes ? SMALLEST_Q : q_re;
    *im = vanishes ? 0.0 : q_im;
}

double complex bc_normal_index(double n, double k, double beta)
{
    double re, im;
    normal_index(n, k, beta, &re, &im);
    return CMPLX(re, -im);
}

/* Phases, and s. Returns whether q is complex anywhere (bit 0) and whether k > 0 anywhere (bit 1). */
FOR_EVERY_PROCESSOR static long set_s(size_t count, double dn, const double *restrict beta,
                                      const double *restrict wave_number, const double *restrict n,
                                      const double *restrict k, double *restrict phase_re, double *restrict phase_im,
                                      double *restrict eta_re, double *restrict eta_im, double *restrict inverse_re,
                                      double *restrict inverse_im)
{
    long found = 0;
    for (size_t i = 0; i < count; i++) {
        double re, im, factor;
        normal_index(bc_shifted_index(n[i], dn), k[i], beta[i], &re, &im);
        factor = 1.0 / (re * re + im * im);
        phase_re[i] = wave_number[i] * re;
        phase_im[i] = wave_number[i] * im;
        eta_re[i] = re;
        eta_im[i] = -im;
        inverse_re[i] = re * factor;
        inverse_im[i] = im * factor;
        found |= (im > 0.0 ? 1L : 0L) | (k[i] > 0.0 ? 2L : 0L);
    }
    return found;
}

/* p, from q. */
FOR_EVERY_PROCESSOR static void set_p(size_t count, double dn, const double *restrict n, const double *restrict k,
                                      const double *restrict q_re, const double *restrict q_im, double *restrict eta_re,
                                      double *restrict eta_im, double *restrict inverse_re, double *restrict inverse_im)
{
    for (size_t i = 0; i < count; i++) {
        const double N_re = bc_shifted_index(n[i], dn);
        const double square_re = (N_re - k[i]) * (N_re + k[i]), square_im = -2.0 * N_re * k[i];
        const double by_q = 1.0 / (q_re[i] * q_re[i] + q_im[i] * q_im[i]);
        const double by_square = 1.0 / (square_re * square_re + square_im * square_im);
        eta_re[i] = (square_re * q_re[i] + square_im * q_im[i]) * by_q;
        eta_im[i] = (square_im * q_re[i] - square_re * q_im[i]) * by_q;
        inverse_re[i] = (q_re[i] * square_re + q_im[i] * square_im) * by_square;
        inverse_im[i] = (q_im[i] * square_re - q_re[i] * square_im) * by_square;
    }
}

void bc_set_medium(const bc_light *light, const bc_medium_arrays *arrays, double dn, bool *is_complex, bool *absorbing)
{
    const long found =
        set_s(light->padded, dn, light->beta, light->wave_number, arrays->n, arrays->k, arrays->phase_re,
              arrays->phase_im, arrays->eta_re[0], arrays->eta_im[0], arrays->inverse_re[0], arrays->inverse_im[0]);
    *is_complex = (found & 1L) != 0;
    *absorbing = (found & 2L) != 0;
    if (light->planes > 1)
        set_p(light->padded, dn, arrays->n, arrays->k, arrays->eta_re[0], arrays->eta_im[0], arrays->eta_re[1],
              arrays->eta_im[1], arrays->inverse_re[1], arrays->inverse_im[1]);
}
