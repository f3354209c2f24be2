/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "media.h"
#include <math.h>

#define SMALLEST_Q 1e-9

double complex bc_normal_index(double n, double k, double beta)
{
    /* (n - beta)(n + beta) keeps the digits near the critical angle that n^2 - beta^2 would lose. */
    const double re = (n - beta) * (n + beta) - k * k, im = 2.0 * n * k;
    double size, q_re, q_im;
    if (im == 0.0) {
        q_re = re >= 0.0 ? sqrt(re) : 0.0;
        q_im = re >= 0.0 ? 0.0 : sqrt(-re);
    } else {
        size = hypot(re, im);
        /* The larger part first, the other from the product, so that neither comes from a difference. */
        if (re >= 0.0) {
            q_re = sqrt(0.5 * (size + re));
            q_im = 0.5 * im / q_re;
        } else {
            q_im = sqrt(0.5 * (size - re));
            q_re = 0.5 * im / q_im;
        }
    }
    if (q_re + q_im < SMALLEST_Q)
        return SMALLEST_Q;
    return CMPLX(q_re, -q_im);
}
