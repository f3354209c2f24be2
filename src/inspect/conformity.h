/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CONFORMITY_H
#define BLOOMCOAT_CONFORMITY_H
/*
 * How likely it is that true values meet a limit, given measured ones.
 */
#include <bloomcoat/error.h>
#include <stddef.h>

/* Values by how far they lie on the good side of the limit: slack_i = true slack_i + b systematic_i + e_i random_i. */
typedef struct bc_slacks {
    size_t count;
    const double *slack, *random, *systematic; /* [count] */
    double freedom;                            /* degrees of freedom behind `random`; INFINITY: it is known exactly */
} bc_slacks;

/* P(every true slack >= 0), with `shift` taken from every slack first: E over b, and over how far off the estimate of
 * `random` may be, of prod Phi((slack_i - shift - b systematic_i) / random_i). */
double bc_conformity(const bc_slacks *slacks, double shift);

/* How often a spectrum whose true slack is 0 everywhere would show a slack of -excess somewhere. 1 when excess <= 0. */
double bc_excess_probability(const bc_slacks *slacks, double excess);

/* The shift at which bc_conformity() is `confidence`: Brent's method (GSL). */
bc_status bc_conformity_margin(const bc_slacks *slacks, double confidence, double *margin, bc_error *error);

#endif
