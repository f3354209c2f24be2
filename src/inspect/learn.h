/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_INSPECT_LEARN_H
#define BLOOMCOAT_INSPECT_LEARN_H
/*
 * The restricted likelihood of the sigmas, by the mixed-model equations: each run's layers are integrated over by
 * themselves, and what the runs share (factors, lines, layers of a design) by one system of equations.
 */
#include <bloomcoat/learn.h>
#include <gsl/gsl_matrix.h>

/* One run's likelihood of delta = thickness / design - 1 with the reference's tooling. */
typedef struct bc_learn_part {
    size_t layers;
    size_t *material, *column; /* [layers] its material, and its u_j among the shared unknowns */
    double *sign;
    double *J, *h; /* [layers * layers], [layers] */
    double time;   /* -1/2 to 1/2 over the history */
} bc_learn_part;

typedef struct bc_learn_fit {
    size_t parts, materials, columns, most_layers;
    bc_learn_part *part;
    bool has_layers, has_lines; /* u_j and lines are among the unknowns */
    double *centre;             /* [materials + 2] logarithms: of each material, the run's, the layers' */
    size_t unknowns;            /* of the shared ones: factors, lines, layers */
    gsl_matrix *normal;         /* [unknowns, unknowns] */
    gsl_vector *right, *shared; /* [unknowns] */
    gsl_matrix *inner;          /* [most_layers, most_layers] */
    double *memory;
} bc_learn_fit;

/* Logarithms of the sigmas: of each material, the run's, and the layers' where there is that. */
static inline size_t bc_learn_sigmas(const bc_learn_fit *fit)
{
    return fit->materials + (fit->has_layers ? 2 : 1);
}

/* Parts, materials and centres of the runs; designs, materials and what the reference says of them in *out. */
bc_status bc_learn_set_up(size_t count, const bc_learn_run *run, const bc_process *reference, bc_learn_fit *fit,
                          bc_learn_result *out, bc_error *error);
void bc_learn_clear_parts(bc_learn_fit *fit, size_t count);

/* Room for the unknowns, once parts and the flags are set. */
bc_status bc_learn_fit_room(bc_learn_fit *fit, bc_error *error);
void bc_learn_fit_clear(bc_learn_fit *fit);

/* Minus the restricted log likelihood with the priors; fit->shared has the best factors, fit->normal the Cholesky
 * factor of their inverse covariance. A gsl_multimin function: `context` is the fit. */
double bc_learn_objective(const gsl_vector *log_sigma, void *context);
/* Its minimum, from the centres on. */
bc_status bc_learn_search(bc_learn_fit *fit, gsl_vector *log_sigma, bc_error *error);
/* The variances of the logarithms at the minimum, by the inverse of the curvature, into variance[bc_learn_sigmas()]. */
bc_status bc_learn_variances(bc_learn_fit *fit, gsl_vector *log_sigma, double *variance, bc_error *error);

#define BC_LEARN_PRIOR_LOG 1.1 /* a factor of 3 */

#endif
