/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "simplex.h"
#include <gsl/gsl_errno.h>
#include <gsl/gsl_multimin.h>
#include <stdbool.h>

bc_status bc_simplex_search(const bc_simplex *how, bc_objective *objective, void *context, gsl_vector *at,
                            bc_error *error)
{
    gsl_multimin_function function = {objective, at->size, context};
    gsl_multimin_fminimizer *minimizer = gsl_multimin_fminimizer_alloc(gsl_multimin_fminimizer_nmsimplex2, at->size);
    gsl_vector *step = gsl_vector_alloc(at->size);
    const bool good = minimizer != NULL && step != NULL;
    if (good) {
        gsl_vector_set_all(step, how->step);
        gsl_multimin_fminimizer_set(minimizer, &function, at, step);
        for (int i = 0; i < how->most_steps && gsl_multimin_fminimizer_iterate(minimizer) == GSL_SUCCESS; i++)
            if (gsl_multimin_fminimizer_size(minimizer) < how->settled)
                break;
        gsl_vector_memcpy(at, gsl_multimin_fminimizer_x(minimizer));
    }
    if (minimizer != NULL)
        gsl_multimin_fminimizer_free(minimizer);
    gsl_vector_free(step);
    return good ? BC_OK : bc_fail_memory(error);
}
