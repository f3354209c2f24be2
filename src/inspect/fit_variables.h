/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_FIT_VARIABLES_H
#define BLOOMCOAT_FIT_VARIABLES_H
/*
 * The variables of one least-squares problem as a vector, and its residuals and their Jacobian as GSL wants them.
 */
#include "fit.h"
#include <gsl/gsl_matrix.h>
#include <gsl/gsl_vector.h>

/* Where the variables of one minimization lie in its vector. */
typedef struct bc_fit_layout {
    bc_fit *fit;
    const bc_family *family;
    size_t dn, shared[BC_SHARED + 1], size, rows; /* what is not fitted takes no room */
} bc_fit_layout;

bc_fit_layout bc_fit_lay_out(bc_fit *fit, const bc_family *family);

/* A point as a vector of [size], and back; theta ([free], may be NULL) is that of a family with a map. */
void bc_fit_gather(const bc_fit_layout *at, const double *theta, const bc_fit_point *point, gsl_vector *x);
void bc_fit_scatter(const bc_fit_layout *at, const gsl_vector *x, const gsl_vector *f, double *theta,
                    bc_fit_point *point);

/* [rows] (model - value) / noise, then one row for every variable: what its prior adds. `context` is a bc_fit_layout.
 */
int bc_fit_residuals(const gsl_vector *x, void *context, gsl_vector *f);
int bc_fit_jacobian(const gsl_vector *x, void *context, gsl_matrix *J);

#endif
