/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stencil.h"

/* The first of the four points about `nm`, of which `near` is the nearest known index. */
static size_t first_of(size_t count, const double *wavelength_nm, double nm, size_t near)
{
    size_t k = near;
    while (k + 1 < count && wavelength_nm[k + 1] <= nm)
        k++;
    while (k > 0 && wavelength_nm[k] > nm)
        k--;
    k = k > 0 ? k - 1 : 0;
    return k + BC_STENCIL > count ? count - BC_STENCIL : k;
}

void bc_stencil_set(size_t count, const double *wavelength_nm, double shift_nm, size_t *at, double *weight)
{
    for (size_t i = 0; i < count; i++) {
        const double nm = wavelength_nm[i] + shift_nm;
        const double *x = wavelength_nm + (at[i] = first_of(count, wavelength_nm, nm, i));
        for (size_t k = 0; k < BC_STENCIL; k++) {
            double product = 1.0;
            for (size_t m = 0; m < BC_STENCIL; m++)
                product *= m == k ? 1.0 : (nm - x[m]) / (x[k] - x[m]);
            weight[BC_STENCIL * i + k] = product;
        }
    }
}

void bc_stencil_apply(size_t count, const size_t *at, const double *weight, const double *value, double *out)
{
    for (size_t i = 0; i < count; i++) {
        out[i] = 0.0;
        for (size_t k = 0; k < BC_STENCIL; k++)
            out[i] += weight[BC_STENCIL * i + k] * value[at[i] + k];
    }
}

/* The slope of the k-th Lagrange polynomial of the four points at `nm`. */
static double slope_of(const double *x, size_t k, double nm)
{
    double sum = 0.0;
    for (size_t left_out = 0; left_out < BC_STENCIL; left_out++) {
        double product = 1.0;
        if (left_out == k)
            continue;
        for (size_t m = 0; m < BC_STENCIL; m++)
            if (m != k)
                product *= (m == left_out ? 1.0 : nm - x[m]) / (x[k] - x[m]);
        sum += product;
    }
    return sum;
}

void bc_stencil_slope(size_t count, const double *wavelength_nm, const double *value, double *out)
{
    for (size_t i = 0; i < count; i++) {
        const size_t first = first_of(count, wavelength_nm, wavelength_nm[i], i);
        out[i] = 0.0;
        for (size_t k = 0; k < BC_STENCIL; k++)
            out[i] += slope_of(wavelength_nm + first, k, wavelength_nm[i]) * value[first + k];
    }
}
