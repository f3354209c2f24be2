/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "optimizer.h"
#include <gsl/gsl_blas.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_multilarge_nlinear.h>
#include <math.h>

#define REFUSED 1e100 /* a residual larger than any, whose square is a number yet */

typedef struct fit {
    bc_optimizer *optimizer;
    bc_merit *merit;
    bc_recipe *recipe;
    double *sign; /* [moving] -1 where a thickness was folded back over its bound */
    double *from; /* [moving] x of the last step taken */
} fit;

/* x is free; the thickness is its distance from the bound, folded, so that every x is a design. */
static void set_thickness(const gsl_vector *x, fit *f)
{
    const bc_optimizer *o = f->optimizer;
    for (size_t j = 0; j < o->moving; j++) {
        const double beyond = gsl_vector_get(x, j) - o->limits.lower_nm;
        f->sign[j] = beyond < 0.0 ? -1.0 : 1.0;
        f->recipe->thickness_nm[o->layer[j]] = o->limits.lower_nm + fabs(beyond);
    }
}

static bool too_far(const gsl_vector *x, const fit *f)
{
    for (size_t j = 0; j < f->optimizer->moving; j++)
        if (fabs(gsl_vector_get(x, j) - f->from[j]) > f->optimizer->limits.step_nm)
            return true;
    return false;
}

/* Residuals sqrt(u): their squares add up to the merit. A step too far is made out to be a bad one, so that the solver
 * damps the next. */
static int residuals(const gsl_vector *x, void *context, gsl_vector *f)
{
    fit *at = context;
    const double *u;
    if (bc_optimizer_stopped(at->optimizer))
        return GSL_EFAILED; /* ends the solver where it stands */
    if (too_far(x, at)) {
        gsl_vector_set_all(f, REFUSED);
        return GSL_SUCCESS;
    }
    set_thickness(x, at);
    bc_merit_evaluate(at->merit, at->recipe->layers, at->recipe->material, at->recipe->thickness_nm, false);
    u = bc_merit_u(at->merit);
    for (size_t c = 0; c < at->optimizer->constraints; c++)
        gsl_vector_set(f, c, sqrt(fmax(u[c], 0.0)));
    return GSL_SUCCESS;
}

/* J^T r is half the gradient of sum(u); J^T J is half its Gauss-Newton Hessian, which has the two squares inside each
 * |rho|^2 that sqrt(u) alone would hide. */
static int normal_matrix(CBLAS_TRANSPOSE_t transpose, const gsl_vector *x, const gsl_vector *r, void *context,
                         gsl_vector *v, gsl_matrix *JTJ)
{
    fit *at = context;
    bc_optimizer *o = at->optimizer;
    const size_t size = o->moving + 1;
    if (transpose == CblasNoTrans)
        return GSL_EUNSUP;                 /* only the trust-region variants that need J u ask for it */
    for (size_t j = 0; j < o->moving; j++) /* the solver asks for slopes only where it stays */
        at->from[j] = gsl_vector_get(x, j);
    set_thickness(x, at);
    bc_merit_evaluate(at->merit, at->recipe->layers, at->recipe->material, at->recipe->thickness_nm, true);
    if (v != NULL) {
        const double *u = bc_merit_u(at->merit);
        for (size_t j = 0; j < o->moving; j++) {
            const double *slope = bc_merit_slope(at->merit, o->layer[j]);
            double sum = 0.0;
            for (size_t c = 0; c < o->constraints; c++) {
                /* d sqrt(u) = du / (2 sqrt(u)), times the vector asked for (the residuals, when it is the gradient). */
                const double root = sqrt(fmax(u[c], 1e-30));
                sum += slope[c] * gsl_vector_get(r, c) / (2.0 * root);
            }
            gsl_vector_set(v, j, at->sign[j] * sum);
        }
    }
    if (JTJ != NULL) {
        for (size_t c = 0; c < o->constraints; c++)
            o->ratio[c] = 0.5;
        bc_optimizer_hessian(o, at->merit, o->ratio);
        for (size_t j = 0; j < o->moving; j++)
            for (size_t k = 0; k < o->moving; k++)
                gsl_matrix_set(JTJ, j, k, at->sign[j] * at->sign[k] * o->system[j * size + k]);
    }
    return GSL_SUCCESS;
}

bc_status bc_least_squares(bc_optimizer *o, bc_merit *merit, const bc_limits *limits, bc_recipe *recipe,
                           unsigned max_steps)
{
    gsl_multilarge_nlinear_parameters parameters = gsl_multilarge_nlinear_default_parameters();
    gsl_multilarge_nlinear_workspace *workspace;
    fit at = {o, merit, recipe, o->y, o->x};
    gsl_multilarge_nlinear_fdf system = {.f = residuals, .df = normal_matrix, .n = o->constraints, .params = &at};
    gsl_vector_view start;
    bc_optimizer_choose(o, limits, recipe);
    /* The solver wants no fewer residuals than variables; a single laser line has one residual and goes to minimax. */
    if (o->moving == 0 || o->constraints < o->moving)
        return BC_OK;
    system.p = o->moving;
    for (size_t j = 0; j < o->moving; j++)
        o->saved[j] = o->x[j] = recipe->thickness_nm[o->layer[j]];
    start = gsl_vector_view_array(o->saved, o->moving);
    parameters.solver = gsl_multilarge_nlinear_solver_mcholesky;
    parameters.trs = gsl_multilarge_nlinear_trs_lm;
    workspace = gsl_multilarge_nlinear_alloc(gsl_multilarge_nlinear_trust, &parameters, o->constraints, o->moving);
    if (workspace == NULL)
        return BC_ERROR_MEMORY; /* minimax could do without this head start, but would end elsewhere */
    if (gsl_multilarge_nlinear_init(&start.vector, &system, workspace) == GSL_SUCCESS) {
        int info;
        gsl_multilarge_nlinear_driver(max_steps, 1e-4, 1e-6, 0.0, NULL, NULL, &info, workspace);
        set_thickness(gsl_multilarge_nlinear_position(workspace), &at);
    }
    gsl_multilarge_nlinear_free(workspace);
    return BC_OK;
}
