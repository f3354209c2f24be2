/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef INSPECT_FITTED_SCAN_H
#define INSPECT_FITTED_SCAN_H
/*
 * A scan of four layers as designed, and the inspection of it as far as the fit.
 */
#include "inspection.h"
#include "witness.h"

#define LAYERS 4
#define COUNT  101
#define NOISE  3e-4

extern const double thick_nm[LAYERS];

typedef struct fitted_scan {
    bench b;
    bc_measurement scan;
    double dn[2];
    bc_layer_estimate layer[LAYERS];
    double information[LAYERS * LAYERS], pull[LAYERS], covariance[LAYERS * LAYERS];
    bc_inspect_result result;
    bc_inspection inspection;
} fitted_scan;

/* Noise that neighbours share by `alike`; `instrument`: uncertain, and the indices are fitted. */
void fitted_open(fitted_scan *s, unsigned what, double alike, bool instrument);
void fitted_close(fitted_scan *s);

#endif
