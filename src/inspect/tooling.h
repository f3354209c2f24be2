/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_INSPECT_TOOLING_H
#define BLOOMCOAT_INSPECT_TOOLING_H
/*
 * What an estimated factor says of the tooling.
 */
#include <bloomcoat/inspect.h>

/* The factor by which to correct a tooling that is `a` off, known with this variance: 1 unless it is off with a
 * probability (into *probability) of 0.9; see SHRUNK in <bloomcoat/runs.h>. */
double bc_tooling_correction(double a, double variance, double *probability);

/* Standard uncertainty of a factor of all layers, the same in every run, that an error of the instrument's wavelengths
 * looks like. */
double bc_wavelength_factor(const bc_inspect_setup *setup, const bc_inspect_result *witness);

#endif
