/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * exp(x) - 1 for x <= 0 out of the library's exponential, at less than half the price of its expm1: near zero, where
 * the difference would lose its digits, the Taylor series takes over. Relative error below 1e-15. Expects `vector` and
 * vector_exp of one of the register-wide kernels.
 */
typedef long long mask_vector __attribute__((vector_size(sizeof(vector)), may_alias));

#define SERIES_BELOW 0.25 /* the first term left out, x^12 / 13!, is then below 1e-17 */

static inline vector vector_expm1(vector x)
{
    static const double coefficient[] = {1.0 / 479001600, 1.0 / 39916800, 1.0 / 3628800, 1.0 / 362880,
                                         1.0 / 40320,     1.0 / 5040,     1.0 / 720,     1.0 / 120,
                                         1.0 / 24,        1.0 / 6,        1.0 / 2,       1.0};
    const mask_vector near_zero = (mask_vector)(x > -SERIES_BELOW);
    const vector far = vector_exp(x) - 1.0;
    vector series = (vector){0} + coefficient[0];
    for (int k = 1; k < 12; k++) {
        series = series * x + coefficient[k];
    }
    series *= x;
    return (vector)(((mask_vector)series & near_zero) | ((mask_vector)far & ~near_zero));
}
