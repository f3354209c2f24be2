/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SPECTRUM_H
#define BLOOMCOAT_SPECTRUM_H
/*
 * The spectrum of a stack file: from names and tables to R, T and A in one call.
 */
#include <bloomcoat/part.h>
#include <bloomcoat/polarization.h>
#include <bloomcoat/stack.h>

BC_API_BEGIN

/* The second surface of a part. */
typedef struct bc_back {
    bc_back_kind kind;
    const bc_stack *stack; /* for BC_BACK_OWN: its substrate is the part's glass */
    double substrate_mm;
} bc_back;

typedef struct bc_spectrum {
    size_t count;
    double *wavelength_nm; /* [count]; the arrays below too, fractions: R[BC_POL_S][i], R[BC_POL_P][i], R[BC_POL_UNPOLARIZED][i] */
    double *R[3];
    double *T[3];
    double *A[3];
    void *memory; /* holds all of them */
} bc_spectrum;

/* A double holds a phase to 2^-53 of itself: beyond this many waves in the layers R and T of their fringes would be off
 * by more than 1e-9. */
#define BC_MOST_WAVES 1e6

/* BC_ERROR_INPUT when layers of that optical thickness (sum of n d) hold more than BC_MOST_WAVES waves. */
bc_status bc_refuse_waves(double optical_nm, double wavelength_nm, bc_error *error);

/* R, T and A of `stack` at `count` wavelengths and one angle (radians, in the incident medium), for s, p and their
 * mean. back->kind BC_BACK_NONE (or back NULL): the coated surface alone, T being what enters the substrate.
 * BC_ERROR_INPUT when a table does not reach, the incident medium absorbs, the layers hold too many waves, or the
 * back's glass is another one.
 */
bc_status bc_spectrum_compute(const bc_stack *stack, const bc_back *back, size_t count, const double *wavelength_nm,
                              double aoi_rad, bc_path path, bc_spectrum *spectrum, bc_error *error);
void bc_spectrum_clear(bc_spectrum *spectrum);

BC_API_END

#endif
