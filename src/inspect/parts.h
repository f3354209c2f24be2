/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PARTS_H
#define BLOOMCOAT_PARTS_H
/*
 * What an uncertainty is made of, source by source (GUM, JCGM 100:2008, 5.1).
 */
#include "band.h"
#include "inspection.h"

/* The parts of a callout's measured value: `random` is noise; `systematic` is shared out over the sources of the
 * readings (`other` NULL, or T where A is what R and T leave) as they are at the curve's point nearest to at_nm, or on
 * average over the band where at_nm is NAN. The curve's first point is reading `first`. */
void bc_measured_parts(const bc_inspect_setup *setup, const bc_reading *reading, const bc_reading *other, size_t first,
                       const bc_curve *curve, const bc_callout *callout, double at_nm, double random, double systematic,
                       double part[BC_PARTS]);

/* A fit linearized at its solution. The covariance is C = (J^T J)^-1 with a row of J for every reading and for
 * everything that was known beforehand, each of unit variance: so C = C J^T J C, and row i adds (J_i C slope)^2 to the
 * variance of a value of that slope. */
typedef struct bc_fit_inputs {
    const bc_fit *fit;
    const bc_solution *solution;
    double *J, *along; /* [(rows + size) * size], [size] */
} bc_fit_inputs;

bc_status bc_fit_inputs_open(bc_fit *fit, const bc_solution *solution, bc_fit_inputs *inputs, bc_error *error);
/* `slope` [solution->size] of a value in the variables. */
void bc_fit_inputs_share(const bc_fit_inputs *inputs, const double *slope, double part[BC_PARTS]);
void bc_fit_inputs_close(bc_fit_inputs *inputs);

/* Stretch the parts so that the root of the sum of their squares is `sigma`. */
void bc_parts_stretch(double sigma, double part[BC_PARTS]);

#endif
