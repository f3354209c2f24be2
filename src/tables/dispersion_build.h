/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DISPERSION_BUILD_H
#define BLOOMCOAT_DISPERSION_BUILD_H
/*
 * What a dispersion table is made of, shared by the file that makes one and the file that reads one.
 */
#include <bloomcoat/dispersion.h>
#include <gsl/gsl_interp.h>

/* Beyond any material; they keep N^2 and the phase of a layer far from overflow. */
#define BC_INDEX_MOST       1e4
#define BC_WAVELENGTH_LEAST 1e-3 /* nm */
#define BC_WAVELENGTH_MOST  1e9  /* nm: one metre */
#define BC_GRADIENT_MOST    0.5  /* as far as the engine goes: BC_MOST_GRADIENT */

typedef struct bc_note {
    char *key;
    char *text;
} bc_note;

struct bc_dispersion {
    char name[BC_NAME_SIZE];
    char *path; /* NULL: no file */
    char sha256[BC_SHA256_SIZE];
    size_t rows; /* 0: a constant, whose index is n[0], k[0] */
    double *wavelength_nm, *n, *k;
    void *memory; /* holds the arrays */
    bool absorbs;
    gsl_interp *n_curve, *k_curve; /* read-only once made; NULL where the value is constant */
    size_t notes;
    bc_note *note;
    double gradient;
    const bc_dispersion *base; /* whose all of the above is; NULL: its own */
};

#endif
