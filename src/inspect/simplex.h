/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SIMPLEX_H
#define BLOOMCOAT_SIMPLEX_H
/*
 * The lowest value of a function of a few logarithms, by the simplex of Nelder and Mead (Comput. J. 7, 308 (1965)).
 */
#include <bloomcoat/error.h>
#include <gsl/gsl_vector.h>

typedef double bc_objective(const gsl_vector *at, void *context);

typedef struct bc_simplex {
    double step;    /* of each variable, the first */
    double settled; /* size of the simplex at which it ends */
    int most_steps;
} bc_simplex;

/* `at` is where it starts and where it ended. */
bc_status bc_simplex_search(const bc_simplex *how, bc_objective *objective, void *context, gsl_vector *at,
                            bc_error *error);

#endif
