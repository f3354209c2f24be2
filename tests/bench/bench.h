/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BENCH_H
#define BENCH_H
/*
 * Speed and quality as ratios: times of one run against each other, designs against the best known.
 */
#include <bloomcoat/draft.h>
#include <bloomcoat/surface.h>

double seconds(void); /* a steady clock */

/* R of a surface in plain C99 complex, wavelength by wavelength, as one would write it first: the yardstick. */
void plain_spectrum(size_t wavelengths, const double *wavelength_nm, double substrate_n, size_t layers, const double *n,
                    const double *k, const double *thickness_nm, double *R);

void bench_engine(void);
void bench_calibrate(double effort, unsigned long first, unsigned long count);
/* `which`: the letters of the problems; NULL for all. */
void bench_problems(double effort, unsigned long seed, unsigned long seeds, size_t threads, const char *which);
/* One fixed spectrum, for an instruction counter to look at (guard.sh). */
void bench_fixed_spectrum(void);

/* The lowest limit_used of the ladder and of the candidates, which are refined: "best" may give up 1 % for a thinner
 * design, which says nothing of how well it was searched. */
double bench_lowest(const bc_design_problem *problem, bc_draft_result *result);

#endif
