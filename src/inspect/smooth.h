/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SMOOTH_H
#define BLOOMCOAT_SMOOTH_H
/*
 * The curve behind the noise of a scan.
 *
 * Where the fitted stack explains a scan, what was measured is
 *
 *     value_i = f(wavelength_i; theta) + g(wavelength_i) + s_i e_i
 *
 * f being the model of <fit.h> with its instrument, theta under weak priors whatever the process says, and g what the
 * model lacks: a Gaussian process in 1 / wavelength with the covariance tau^2 exp(-x^2 / (2 l^2)). A stack of optical
 * thickness S makes no fringe narrower than 1 / (2 S) there (Born and Wolf, Principles of Optics, 1.6; from memory),
 * and l is a sixth of that. g is written in sines with variances by its spectral density (Solin and Sarkka, Stat.
 * Comput. 30, 419 (2020); from memory). tau^2 is its mean over the marginal likelihood of a few values, in units of the
 * noise.
 *
 * The model is linear enough about its minimum, so f + g has a mean and a covariance in closed form (Rasmussen and
 * Williams, Gaussian Processes for Machine Learning, 2.7; from memory). Both are of what the instrument would have
 * written without noise: its systematic errors are in there still, so that nothing the fit says of them bears on a
 * verdict. The fit serves to smooth, and for nothing else.
 *
 * Nothing of this holds where what is left is no noise, so it is looked at: its size, whether neighbours are alike,
 * and whether the sum over any stretch of it is more than chance makes.
 */
#include "inspection.h"

typedef struct bc_smooth {
    bc_points_reason why; /* BC_POINTS_NOT: it may be used */
    bc_arena arena;
    size_t count, size; /* points of the scan that are inside; numbers that a draw takes */
    double *value[2];   /* [count] the curve of R and of T, NULL where not measured */
    double *root[2];    /* [count * size] its covariance is root root^T */
    double freedom;     /* behind the noise as it is taken */
    double tau;         /* in units of the noise */
} bc_smooth;

/* Of the inspection's readings. That it may not be used is no error. */
bc_status bc_smooth_open(const bc_inspection *inspection, bc_smooth *smooth, bc_error *error);
void bc_smooth_close(bc_smooth *smooth);

/* Standard deviation of the curve at a point. */
double bc_smooth_sigma(const bc_smooth *smooth, bc_quantity quantity, size_t i);

/* One draw of how far the curve may be off, from `size` normal numbers; `scale` is that of the noise. */
void bc_smooth_draw(const bc_smooth *smooth, bc_quantity quantity, const double *normal, double scale, double *off);

#endif
