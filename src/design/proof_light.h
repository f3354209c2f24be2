/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PROOF_LIGHT_H
#define BLOOMCOAT_PROOF_LIGHT_H
/*
 * The callouts laid out for a proof: samples of light, and rows that ask about them.
 *
 * A point of the unit disc, r, is kept as the point (cosh a, sinh a cos phi, sinh a sin phi) of a hyperboloid, a =
 * 2 atanh|r|: crossing an interface is then a Lorentz boost and crossing a layer a rotation, both linear, and the
 * reflectance a Moebius function of one coordinate.
 */
#include "arena.h"
#include <bloomcoat/design.h>
#include <bloomcoat/sampling.h>

/* Samples come in multiples of this. */
#define BC_LIGHT_LANES 8

/* Samples of one band, angle, plane pair, glass and zone, next to each other. */
typedef struct bc_light_group {
    size_t first, count; /* of all samples; s first where there are two planes */
    double gamma;        /* the quantity is 1 - gamma / (C + beta), C being cosh of the distance to no reflection */
    bool absorbs;        /* a layer does */
} bc_light_group;

/* One callout in one group: u = offset + factor * (sum of share * quantity), at every wavelength or averaged. */
typedef struct bc_light_row {
    size_t group;
    size_t plane[2]; /* first sample of s and of p */
    double share[2];
    size_t count;         /* wavelengths */
    const double *weight; /* [count] of an average; NULL: each wavelength is a constraint of its own */
    double offset, factor;
    size_t first, constraints;
} bc_light_row;

typedef struct bc_light {
    size_t materials, samples, groups, rows, constraints;
    size_t longest; /* samples of the longest group */
    bc_light_group *group;
    bc_light_row *row; /* ordered by group */
    double **turn;     /* [materials][samples] of the disc, radians per nm of layer */
    double **loss; /* [materials][samples] how far an absorbing layer moves it, per nm, at its centre; NULL: clear */
    double **start[3]; /* [materials][samples] the substrate seen from this material */
    double *
        *cosine_h;   /* [(materials + 1) * materials][samples] boost from material m into k (or the incident medium): */
    double **sine_h; /* cosh and sinh, at k * materials + m */
    double *beta;    /* [samples] */
    double slack;    /* what roundings may add to a quantity */
    char weakened[256]; /* a sentence on what the bound leaves out; empty: nothing */
    void *memory, *lists;
} bc_light;

/* A place where a verdict was worse than the samples: looked at besides them. */
typedef struct bc_light_spot {
    const bc_callout *callout;
    size_t glass;
    const bc_zone *zone; /* NULL: a plane surface */
    double aoi_rad, at_nm;
} bc_light_spot;

bc_status bc_light_open(const bc_design_problem *problem, size_t layers, double total_nm, size_t extra_samples,
                        const bc_light_spot *extra_sample, bc_light *light, bc_error *error);
void bc_light_close(bc_light *light);

#endif
