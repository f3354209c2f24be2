/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_BAND_H
#define BLOOMCOAT_BAND_H
/*
 * The part of a measured curve that a callout's band takes up.
 */
#include <bloomcoat/inspect.h>

/* Measured values as one callout sees them, all corrections made. */
typedef struct bc_curve {
    size_t count;
    const double *wavelength_nm;
    double *value, *random, *systematic; /* [count] */
    double *angle;                       /* [count] of `systematic` what a correction to another angle adds */
    double freedom;                      /* behind `random` */
} bc_curve;

/* A step wider than step_limit_nm is a gap: nothing is interpolated across it. */
typedef struct bc_band {
    size_t count;                                        /* points to be judged; for a mean row one, the mean */
    double *wavelength_nm, *value, *random, *systematic; /* the caller's, see bc_band_room() */
    size_t samples;                                      /* measured points in it */
    double covered_from_nm, covered_to_nm;               /* NAN when nothing is covered */
    double widest_nm;
    bool reaches_ends, has_gap;
    double covered_share; /* of the width (of a weight: of its integral), gaps left out; 1 for one wavelength that is
                             covered */
    double worst_nm;      /* of a mean row */
} bc_band;

/* Points that a band of a curve of `count` may take. */
size_t bc_band_room(size_t count);

/* Every measured point in the band, its ends interpolated, and a point in the middle where steps are wide. */
void bc_band_points(const bc_curve *curve, const bc_callout *callout, double step_limit_nm, bc_band *band);

/* The mean over what is covered: trapezoids, the ends of the band interpolated. Under a weight, where the callout has
 * one: covered_share is then the share of the weight's integral. Of a colour one value, with its uncertainty to first
 * order. */
void bc_band_mean(const bc_curve *curve, const bc_callout *callout, double step_limit_nm, bc_band *band);

#endif
