/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_KERNEL_H
#define BLOOMCOAT_KERNEL_H
/*
 * The kernel: one evaluation of one surface, in plain arrays. Compiled once per instruction set (kernel_body.h).
 */
#include <bloomcoat/surface.h>

/* Every array is padded to a multiple of this many doubles, the widest register there is. */
#define BC_LANES BC_SURFACE_BLOCK

/* A layer material on the grid. Arrays run over the padded grid; the index of the arrays of two is bc_plane. */
typedef struct bc_kernel_material {
    const double *phase_re;                      /* (2 pi / wavelength) Re q, per nm of thickness */
    const double *phase_im;                      /* (2 pi / wavelength) |Im q| */
    const double *eta_re[2], *eta_im[2];         /* admittance */
    const double *inverse_re[2], *inverse_im[2]; /* 1 / admittance */
    bool is_complex;                             /* absorbs, or is past total reflection, somewhere on the grid */
    bool absorbing;                              /* k > 0 somewhere on the grid */
} bc_kernel_material;

/* The field above layer j of one plane: [B; C] exp(-growth). Index `layers` is the field at the substrate. Of every
 * wavelength, or of the block at hand: then it stays in the cache from where it is made to where it is used. */
typedef struct bc_kernel_field {
    double *B_re, *B_im, *C_re, *C_im, *growth; /* [(max_layers + 1) * field_stride] */
} bc_kernel_field;

typedef struct bc_kernel_plane {
    const double *incident_eta; /* real */
    const double *substrate_eta_re, *substrate_eta_im;
    bc_kernel_field field;
    double *R, *T, *rho_re, *rho_im;     /* [padded] */
    double *scale_re, *scale_im;         /* 2 eta0 / (eta0 B + C)^2 */
    double *drho_re, *drho_im, *dR, *dT; /* [max_layers * padded] */
} bc_kernel_plane;

/* What the forward walk knew of each layer and the derivatives need again: cos delta and i sin delta, both times
 * exp(-|Im delta|), and exp(-2 |Im delta|). [max_layers * padded] each. */
typedef struct bc_kernel_phases {
    double *cosine_re, *cosine_im, *i_sine_re, *i_sine_im, *decay;
} bc_kernel_phases;

typedef struct bc_kernel_job {
    size_t padded;         /* number of wavelengths, a multiple of BC_LANES */
    size_t blocks;         /* of BC_LANES wavelengths each, that are to be computed */
    const unsigned *block; /* [blocks] which; NULL: the first ones */
    size_t field_stride;   /* padded, or BC_LANES where fields are not kept */
    size_t layers;
    const unsigned *material;   /* [layers] */
    const double *thickness_nm; /* [layers] */
    const bc_kernel_material *materials;
    bc_kernel_plane plane[2];
    bc_kernel_phases phases;
    unsigned planes;   /* 1 at normal incidence, else 2 */
    bool some_complex; /* some layer of this job is complex */
    bool absorbing;    /* some layer of this job absorbs: T has a derivative of its own */
    bc_want want;
} bc_kernel_job;

typedef void (*bc_kernel)(const bc_kernel_job *job);

void bc_kernel_portable(const bc_kernel_job *job);
void bc_kernel_avx2(const bc_kernel_job *job);
void bc_kernel_avx512(const bc_kernel_job *job);

/* The kernel for `path`, or NULL when this processor cannot run it. */
bc_kernel bc_kernel_for(bc_path path);

#endif
