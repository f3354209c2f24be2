/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_READINGS_H
#define BLOOMCOAT_READINGS_H
/*
 * A measurement made ready: what was measured, its noise and its systematic uncertainty at every wavelength.
 */
#include "arena.h"
#include <bloomcoat/inspect.h>

typedef struct bc_reading {
    bool measured;
    bc_quantity quantity;
    size_t count;
    const double *wavelength_nm;
    double *value, *noise, *systematic; /* [count] */
    double *along;                      /* [count] slope of the fitted stack in wavelength, per nm; 0: not known */
    bool *outlier;                      /* [count] left out of the fit: no noise explains it */
    bc_noise summary;
} bc_reading;

typedef struct bc_readings {
    bc_arena arena;
    size_t count;
    double *wavelength_nm;
    bc_reading R, T;
    double *scratch; /* [count] */
    /* The part of the scan that every table of the design reaches. */
    size_t first, inside;
    size_t missing;
    const double *missing_nm; /* [missing] the measurement's */
} bc_readings;

bc_status bc_readings_open(const bc_measurement *measurement, const bc_inspect_setup *setup, bc_readings *readings,
                           bc_error *error);
void bc_readings_close(bc_readings *readings);

/* Look at the noise again when a curve is known that takes the signal out of a scan: `remainder` [inside]. The noise of
 * repeats stays; that of a single scan can only become less. Returns whether it fell by more than a fifth. */
bool bc_readings_noise_of(bc_readings *readings, bc_reading *reading, const double *remainder);

#endif
