/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TEST_BOWL_H
#define TEST_BOWL_H
/*
 * A single layer on a curved surface: R of every zone in closed form.
 */
#include "workshop.h"
#include <bloomcoat/lens.h>

#define DEGREES (PI / 180.0)

/* MgF2-like layer, a quarter wave of 550 nm at the vertex, asked about at 550 nm alone. */
#define INDEX   1.38
#define GLASS   1.62
#define WAVE_NM 550.0
#define QUARTER (WAVE_NM / (4.0 * INDEX))

/* Concave, 20 mm of radius; the sine of the slope at the edge is 0.7. */
extern const bc_curved bowl;

void open_single(workshop *w, double limit);
bc_lens_result look(const workshop *w, const bc_curved *curved, size_t zones);
double R_at_slope(double slope_rad, double vertex_nm);

#endif
