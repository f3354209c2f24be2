/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef INSPECT_DENSE_H
#define INSPECT_DENSE_H
/*
 * The likelihood of a history of runs as one normal distribution of all that was measured, by its whole covariance
 * matrix: what the mixed-model equations of learn_fit.c and runs.c are held against.
 */
#include "witness.h"
#include <bloomcoat/learn.h>

#define DENSE_MOST     24 /* layers of all runs together, */
#define DENSE_UNKNOWNS 12

/* Known of delta = thickness / design - 1: y with covariance S, and how it depends on what the runs share. */
typedef struct dense {
    size_t count, unknowns, sigmas;
    double y[DENSE_MOST], S[DENSE_MOST][DENSE_MOST];
    size_t run[DENSE_MOST], material[DENSE_MOST];
    double sign[DENSE_MOST], X[DENSE_MOST][DENSE_UNKNOWNS];
    double centre[8], prior_log; /* of the logarithms of the sigmas: materials', run's, layers' */
    size_t materials, fixed;     /* fixed: unknowns with a prior of 0.25; the others have the layers' sigma */
} dense;

/* Adds one run: y from its information and pull. `y_shift` [layers] is added to delta. */
void dense_add(dense *d, size_t run, size_t layers, const double *design_nm, const double *information,
               const double *pull, const double *y_shift);

/* Minus the logarithm of the density of y at these sigmas, and of the priors of the sigmas. mean and covariance (may be
 * NULL) of the unknowns. */
double dense_objective(const dense *d, const double *log_sigma, double mean[DENSE_UNKNOWNS],
                       double covariance[DENSE_UNKNOWNS][DENSE_UNKNOWNS]);

#endif
