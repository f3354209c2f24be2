/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SURFACE_H
#define BLOOMCOAT_SURFACE_H
/*
 * The engine: R, T and A of one coated surface at one angle on one wavelength grid, and their derivatives.
 *
 * Characteristic matrices in terms of tilted admittances (Abeles, J. Phys. Radium 11, 307 (1950); Knittl, Optics of
 * Thin Films, 1976, ch. 2; Born and Wolf, Principles of Optics, ch. 1.6). With q = sqrt(N^2 - (n0 sin aoi)^2), the root
 * with Re q >= 0 and Im q <= 0, a layer of thickness d has phase delta = (2 pi / wavelength) q d, and admittance eta =
 * q for s, N^2/q for p. [B; C] = prod M_j [1; eta_substrate], rho = (eta0 B - C)/(eta0 B + C), R = |rho|^2, T = 4 eta0
 * Re(eta_substrate) / |eta0 B + C|^2, A = 1 - R - T.
 *
 * Absorbing layers and layers past total reflection are computed with their growth exp|Im delta| taken out of the
 * matrix and kept as a logarithm, so that a metal of any thickness at 89 degrees neither overflows nor loses R.
 *
 * A layer may be graded: its index runs linearly from n (1 - g/2) at its substrate side to n (1 + g/2) at its outer
 * side, its k is the same throughout, and its thickness moves both sides apart without changing them. It is computed as
 * a stair of homogeneous sublayers, so many that R and T of gradients within 10 % are within 1e-6
 * (src/optics/grading.c); derivatives are those of the whole layer.
 *
 * A workspace is allocated once for (grid, angle, media) and then evaluated for any sequence of its materials and any
 * thicknesses with no allocation, no file and no lock. One workspace belongs to one thread at a time.
 */
#include <bloomcoat/error.h>
#include <stdbool.h>
#include <stddef.h>

BC_API_BEGIN

/* A complex index N = n - ik on the grid of a workspace: arrays of `wavelengths` values; k NULL means zero. */
typedef struct bc_index {
    const double *n;
    const double *k;
} bc_index;

/* The two planes that the engine computes. Not a bc_polarization: compilers warn where one is taken for the other
 * (-Wenum-conversion; an error in C++). */
typedef enum bc_plane { BC_S = 0, BC_P = 1 } bc_plane;

typedef enum bc_path {
    BC_PATH_AUTO = 0, /* the widest this processor runs */
    BC_PATH_PORTABLE,
    BC_PATH_AVX2,
    BC_PATH_AVX512,
} bc_path;

#define BC_MOST_GRADIENT 0.5

typedef struct bc_surface_setup {
    size_t wavelengths;          /* >= 1 */
    const double *wavelength_nm; /* > 0, any order */
    double aoi_rad;              /* in the incident medium, [0, pi/2) */
    bc_index incident;           /* must not absorb */
    bc_index substrate;
    size_t materials;         /* that layers may be made of */
    const bc_index *material; /* [materials] */
    size_t max_layers;
    bc_path path;
    /* Not NULL: light arrives from a medium of index `invariant_n` at aoi_rad, so that n0 sin(aoi) is taken from there
     * while `incident` is the medium the layers begin at. A part's second surface is set up so. */
    const double *invariant_n;
    bool values_only; /* no other than BC_WANT_VALUES will be asked for: then layers take no memory */
    /* [materials], a fraction within -BC_MOST_GRADIENT and BC_MOST_GRADIENT: n at the outer side of a layer of this
     * material less n at its substrate side, divided by the n of the material, which is their average. NULL: none. */
    const double *gradient;
    /* Optical thickness (n d, nm) of the thickest graded layer that will be evaluated; 0: the shortest wavelength. In a
     * thicker one R is less exact. */
    double graded_optical_nm;
} bc_surface_setup;

typedef struct bc_surface bc_surface;

/* What one evaluation computes besides R and T. */
typedef enum bc_want {
    BC_WANT_VALUES = 0,
    BC_WANT_AMPLITUDE = 1, /* rho and d rho / d thickness of every layer */
    BC_WANT_GRADIENT = 2,  /* dR and dT / d thickness of every layer (and the amplitudes) */
} bc_want;

/* Copies what it needs from `setup`. BC_ERROR_INPUT for an absorbing incident medium, an angle outside [0, pi/2), a
 * gradient out of its range, or a graded layer of some hundred waves. */
bc_status bc_surface_alloc(const bc_surface_setup *setup, bc_surface **out, bc_error *error);
void bc_surface_free(bc_surface *surface);

/* Until the next call n of layer material `material` is its value in the setup plus `dn` at every wavelength, k as it
 * was: the workspace is then what it would have been set up with. The sum is kept at 0.01 or more (or at n itself where
 * that is less). Costs about as much as one layer of an evaluation. */
void bc_surface_shift_index(bc_surface *surface, unsigned material, double dn);

/* From now on layer material `material` has this index, on the grid of the workspace: as if it had been set up with it.
 * Its gradient stays.
 * Costs about as much as one layer of an evaluation. */
void bc_surface_set_index(bc_surface *surface, unsigned material, const bc_index *index);

/* From now on layer material `material`, which was set up with a gradient, has this one. */
void bc_surface_set_gradient(bc_surface *surface, unsigned material, double gradient);

/* Evaluate a stack of `layers` <= max_layers layers, from the incident medium to the substrate; material[j] <
 * materials, thickness_nm[j] >= 0 (a layer of zero thickness is absent, its derivative is not). Results stay in the
 * workspace until the next evaluation. */
void bc_surface_evaluate(bc_surface *surface, size_t layers, const unsigned *material, const double *thickness_nm,
                         bc_want want);

/* The same at some of the wavelengths only: those of `blocks` blocks of BC_SURFACE_BLOCK wavelengths each, block[b] of
 * them being numbers block[b] * BC_SURFACE_BLOCK and those that follow, the last block of a grid as long as it is. What
 * an earlier evaluation found at the others stays. A graded stack is evaluated at all of them. */
#define BC_SURFACE_BLOCK 8
void bc_surface_evaluate_blocks(bc_surface *surface, size_t layers, const unsigned *material,
                                const double *thickness_nm, bc_want want, size_t blocks, const unsigned *block);

/* From now on evaluations keep the fields inside the stack, which only bc_surface_insertion() asks for, or do not: then
 * they take less time where derivatives are asked for. They are kept from the start. */
void bc_surface_keep_fields(bc_surface *surface, bool keep);

size_t bc_surface_wavelengths(const bc_surface *surface);
/* At normal incidence s and p are one computation and both planes return the same arrays. */
bool bc_surface_is_normal(const bc_surface *surface);
bool bc_surface_absorbs(const bc_surface *surface); /* any layer of the last evaluation has k > 0 somewhere */
/* Arrays of `wavelengths` fractions. */
const double *bc_surface_R(const bc_surface *surface, bc_plane plane);
const double *bc_surface_T(const bc_surface *surface, bc_plane plane);
/* Amplitude reflectance, tangential electric field, phase at the outer face of the stack. */
const double *bc_surface_rho_re(const bc_surface *surface, bc_plane plane);
const double *bc_surface_rho_im(const bc_surface *surface, bc_plane plane);
/* Per layer j (0 = outer), arrays of `wavelengths` values per nm. */
const double *bc_surface_drho_re(const bc_surface *surface, bc_plane plane, size_t layer);
const double *bc_surface_drho_im(const bc_surface *surface, bc_plane plane, size_t layer);
const double *bc_surface_dR(const bc_surface *surface, bc_plane plane, size_t layer);
const double *bc_surface_dT(const bc_surface *surface, bc_plane plane, size_t layer);

/* d rho / d thickness of a layer of `material` inserted, with no thickness yet, on the incident side of layer `before`
 * (before = layers: directly on the substrate) of the last evaluation, which must have asked for amplitudes and kept
 * the fields. Arrays of `wavelengths` values are written. Where merit falls fastest is where a new layer should go. */
void bc_surface_insertion(const bc_surface *surface, bc_plane plane, size_t before, unsigned material, double *drho_re,
                          double *drho_im);

BC_API_END

#endif
