/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REFERENCE_H
#define BLOOMCOAT_REFERENCE_H
/*
 * What a reference (a mirror, a bare glass) is certified to reflect or to transmit: a table of wavelength_nm (or
 * wavelength_um), R_percent (or T_percent) and, where the certificate states it, uncertainty_percent: absolute, in the
 * unit of the values, and expanded. Between rows the values are interpolated monotonically (Steffen, Astron. Astrophys.
 * 239, 443 (1990)), so that nothing overshoots; the uncertainty is interpolated in a straight line.
 */
#include <bloomcoat/callouts.h>
#include <bloomcoat/checksum.h>

BC_API_BEGIN

typedef struct bc_reference {
    size_t count;
    bc_quantity quantity;  /* BC_R or BC_T */
    double *wavelength_nm; /* [count] strictly rising */
    double *value;         /* [count] fractions */
    double *uncertainty;   /* [count] fractions, absolute and expanded; NULL: the table states none */
    char *path;            /* fit to be shown */
    char sha256[BC_SHA256_SIZE];
} bc_reference;

/* Read a table of two rows at least. On success *reference must be released with bc_reference_clear(). */
bc_status bc_reference_read(const char *path, bc_reference *reference, bc_error *error);
void bc_reference_clear(bc_reference *reference);

/* The values (fractions) and their uncertainty (may be NULL; zeros where the table states none) at `count` wavelengths
 * in nm. BC_ERROR_INPUT beyond the table. */
bc_status bc_reference_at(const bc_reference *reference, size_t count, const double *wavelength_nm, double *value,
                          double *uncertainty, bc_error *error);

BC_API_END

#endif
