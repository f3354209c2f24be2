/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_COLOUR_SCATTER_H
#define BLOOMCOAT_COLOUR_SCATTER_H
/*
 * How far the colour of simulated runs scatters.
 *
 * What is seen to differ is a colour difference CIEDE2000 (bc_colour_difference()), of a run from the design, and of
 * one run from another. As a rule of thumb 1 is about what an eye can distinguish side by side (common practice, no
 * source); of reflections as dark as an antireflection coating's it distinguishes less.
 */
#include <bloomcoat/colour.h>

BC_API_BEGIN

typedef struct bc_colour_scatter {
    double a_sigma, b_sigma, luminous_sigma; /* standard deviations over the runs; of luminous a fraction */
    double from_design;                      /* CIEDE2000 that 95 % of the runs stay below, from the design */
    double between;                          /* and 95 % of pairs of runs, from one another; NAN of one run */
    bc_colour *run;                          /* [runs] */
} bc_colour_scatter;

/* Fill the figures from scatter->run, `runs` > 0 of them. Fails for want of memory only. */
bc_status bc_colour_scatter_find(const bc_colour *design, size_t runs, bc_colour_scatter *scatter, bc_error *error);

BC_API_END

#endif
