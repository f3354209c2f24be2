/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_RANDOM_H
#define BLOOMCOAT_RANDOM_H
/*
 * Counted random streams: the numbers of a run follow from the seed, what they are for, and the run's number alone, so
 * that any thread can compute any run.
 *
 * The generator is SplitMix64 (Steele, Lea and Flood, OOPSLA 2014) as a GSL type: its whole state is one 64-bit
 * counter, which is set to a hash of the three, so two streams meet by chance only.
 */
#include <bloomcoat/error.h>
#include <gsl/gsl_rng.h>

typedef enum bc_purpose { BC_FOR_YIELD, BC_FOR_INFLUENCE, BC_FOR_INFLUENCE_ANEW, BC_FOR_PROCESS } bc_purpose;

bc_status bc_random_alloc(gsl_rng **out, bc_error *error);

/* Go to the beginning of the stream of one run. */
void bc_random_begin(gsl_rng *random, unsigned long seed, bc_purpose purpose, size_t run);

/* `count` independent normal numbers of mean 0 and standard deviation 1. */
void bc_random_normal(gsl_rng *random, size_t count, double *value);

/* `count` vectors of `numbers` of them, value[vector * numbers + number], spread as evenly as can be: the first 40
 * numbers of each are a Sobol' sequence (Sobol', USSR Comput. Math. Math. Phys. 7, 86 (1967); GSL's), which is of 2^m -
 * 1 vectors most even; any others are random ones. */
bc_status bc_random_even(gsl_rng *random, size_t count, size_t numbers, double *value, bc_error *error);

#endif
