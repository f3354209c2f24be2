/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MEASUREMENT_H
#define BLOOMCOAT_MEASUREMENT_H
/*
 * A measured spectrum. Plain data, filled in by a reader or by hand: what one scan, or the mean of several, says of one
 * witness or part.
 */
#include <bloomcoat/error.h>
#include <stddef.h>

BC_API_BEGIN

#define BC_LABEL_SIZE 128

/* One measured quantity on the wavelengths of its measurement. */
typedef struct bc_measured {
    double *value; /* [count] fractions; NULL: this quantity was not measured */
    /* [count] standard deviation of the value itself, from the scatter of repeated scans (of a mean of m scans: their
     * sample standard deviation over sqrt(m)); NULL, or NAN at a wavelength: unknown. */
    double *deviation;
    /* [count] standard uncertainty (one sigma, k = 1) that came with each value, of the kind that does not average out:
     * calibration, reference mirror. NULL: none; NAN at a wavelength counts as 0 there. */
    double *uncertainty;
} bc_measured;

typedef struct bc_measurement {
    char label[BC_LABEL_SIZE]; /* for people: a file's name, a witness' number; may be empty */
    size_t count;              /* >= 1 */
    double *wavelength_nm;     /* [count] > 0, strictly rising */
    size_t repeats;            /* scans averaged in most of the values; 0 or 1: a single scan */
    bc_measured R, T;          /* at least one of them measured */
    size_t missing;            /* wavelengths that the scan names and has no value for */
    const double *missing_nm;  /* [missing] the caller's */
    void *memory;              /* holds the arrays when bc_measurement_alloc() made them, else NULL */
} bc_measurement;

/* Room for `count` wavelengths, all zero. `what`: which arrays are wanted besides the wavelengths. */
enum {
    BC_MEASURED_R = 1,
    BC_MEASURED_R_DEVIATION = 2,
    BC_MEASURED_R_UNCERTAINTY = 4,
    BC_MEASURED_T = 8,
    BC_MEASURED_T_DEVIATION = 16,
    BC_MEASURED_T_UNCERTAINTY = 32
};
bc_status bc_measurement_alloc(size_t count, unsigned what, bc_measurement *measurement, bc_error *error);
void bc_measurement_clear(bc_measurement *measurement);

BC_API_END

#endif
