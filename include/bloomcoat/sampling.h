/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SAMPLING_H
#define BLOOMCOAT_SAMPLING_H
/*
 * Where a callout is looked at.
 */
#include <bloomcoat/callouts.h>
#include <bloomcoat/stack.h>

/* Optical thickness of all films (sum of n d) at one wavelength, in nm. BC_ERROR_INPUT when a table does not reach, or
 * the films hold more than BC_MOST_WAVES waves (spectrum.h). */
bc_status bc_optical_thickness(const bc_stack *stack, double wavelength_nm, double *optical_nm, bc_error *error);

/* The shortest wavelength that any of the callouts speaks of; INFINITY when there is none. */
double bc_shortest_wavelength(const bc_callouts *callouts);

/* Evenly spaced wavelengths from from_nm to to_nm, both included: at least 201, in steps of at most from_nm / 400 and
 * of at most a sixteenth of the narrowest fringe, from_nm^2 / (2 optical_nm), that films of that optical thickness can
 * make. One for a band of one wavelength, else an odd number (Simpson's rule). */
size_t bc_sampling_wavelengths(const bc_callout *callout, double optical_nm);

/* Evenly spaced angles, both ends included, at most `most_rad` apart. */
size_t bc_sampling_angles(const bc_callout *callout, double most_rad);

/* The angles a verdict takes: at most 5 degrees apart, and at most an eighth of the narrowest fringe that films of that
 * optical thickness can make. */
size_t bc_sampling_verdict_angles(const bc_callout *callout, double optical_nm);

/* Sample i of `count` from `from` to `to`, the ends exact. */
double bc_sampling_at(double from, double to, size_t count, size_t i);

/* Weight of sample i in the mean over the band: Simpson's rule divided by the width; `count` odd. They add up to 1. */
double bc_sampling_weight(size_t count, size_t i);

#endif
