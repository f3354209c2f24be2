/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SAMPLING_H
#define BLOOMCOAT_SAMPLING_H
/*
 * Where a callout is looked at.
 */
#include <bloomcoat/callouts.h>
#include <bloomcoat/spectrum.h>
#include <bloomcoat/stack.h>

BC_API_BEGIN

/* Optical thickness of all layers (sum of n d) at one wavelength, in nm. BC_ERROR_INPUT when a table does not reach, or
 * the layers hold more than BC_MOST_WAVES waves (spectrum.h). */
bc_status bc_optical_thickness(const bc_stack *stack, double wavelength_nm, double *optical_nm, bc_error *error);

/* What decides how narrow the fringes of layers can be, in nm. In wavelength it is the optical thickness, sum of n d.
 * In angle it is how fast the path through the layers, 2 sum of d sqrt(n^2 - n0^2 sin^2 aoi), changes: in a layer with
 * n of at least the incident medium's n0 by at most 2 tilt_nm sin(aoi) per radian, where tilt_nm is the sum of d n0^2 /
 * n (the derivative, with cos(aoi) <= sqrt(1 - (n0/n)^2 sin^2 aoi)). A layer of lower n counts with n d, which holds
 * well away from its critical angle. From Snell's law and the phase thickness: Born and Wolf, Principles of
 * Optics, 1.6. */
typedef struct bc_fringes {
    double optical_nm, tilt_nm;
} bc_fringes;

/* What a bare surface makes, and where sampling need not resolve any. */
#define BC_NO_FRINGES ((bc_fringes){0.0, 0.0})

/* Of a stack's layers at one wavelength, or of the back's own (back NULL: none) where those are narrower; the same
 * errors. */
bc_status bc_fringes_of(const bc_stack *stack, const bc_back *back, double wavelength_nm, bc_fringes *fringes,
                        bc_error *error);

/* Those of layers `factor` times as thick. */
bc_fringes bc_scale_fringes(bc_fringes fringes, double factor);

/* From the shortest to the longest wavelength (nm) of any callout for one of these substrates; from INFINITY
 * to 0 when there is none. A row for another glass asks nothing of the tables. */
void bc_asked_band(const bc_callouts *callouts, size_t substrates, const bc_medium *substrate, double *from_nm,
                   double *to_nm);

/* Evenly spaced wavelengths from from_nm to to_nm, both included: at least 201, in steps of at most from_nm / 400 and
 * of at most a sixteenth of the narrowest fringe, from_nm^2 / (2 optical_nm), that layers of that optical thickness can
 * make; under a weight also at most half a step of its rows, down to a 4000th of the band. One for a band of one
 * wavelength, else an odd number (Simpson's rule). A luminous value is defined by its 81 wavelengths
 * (bc_weight_luminous()), whatever the fringes. */
size_t bc_sampling_wavelengths(const bc_callout *callout, double optical_nm);

/* Evenly spaced angles, both ends included, at most `most_rad` apart. */
size_t bc_sampling_angles(const bc_callout *callout, double most_rad);

/* The angles a verdict takes: at most 5 degrees apart, and at most an eighth of the narrowest fringe in angle, from_nm
 * / (2 tilt_nm sin(aoi)), that layers of that tilt_nm can make. */
size_t bc_sampling_verdict_angles(const bc_callout *callout, double tilt_nm);

/* Sample i of `count` from `from` to `to`, the ends exact. */
double bc_sampling_at(double from, double to, size_t count, size_t i);

/* Those `count` wavelengths, and what each weighs in the average over the band; either may be NULL. Simpson's rule,
 * times the callout's weight where it has one; a luminous value is a plain sum. The weights add up to 1. */
void bc_sampling_set(const bc_callout *callout, size_t count, double *wavelength_nm, double *weight);

/* Of a colour: the weights of X/Xn, Y/Yn and Z/Zn, `count` each, at wavelengths (nm) where a rule with equal weight per
 * nm has the weights `rule`; NULL: a plain sum. Each third adds up to 1. */
void bc_sampling_colour(const bc_callout *callout, size_t count, const double *wavelength_nm, const double *rule,
                        double *weight);

/* Turn the weights of a rule with equal weight per nm at `count` wavelengths (nm) into those of the callout's average;
 * they add up to 1. Where so few wavelengths miss all of the weight, they weigh alike. */
void bc_sampling_weigh(const bc_callout *callout, size_t count, const double *wavelength_nm, double *weight);

BC_API_END

#endif
