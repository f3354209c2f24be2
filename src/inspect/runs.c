/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cause.h"
#include "simplex.h"
#include "tooling.h"
#include <bloomcoat/runs.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define USUAL_RUN     0.02
#define PRIOR_LOG     0.69 /* a factor of 2 */
#define PRIOR_TOOLING 0.05 /* of a tooling that is off */
#define SURE          0.9  /* that a tooling is off, before it is changed */
#define WEAKEST       0.25 /* of a factor that no scan determines */
#define LEAST_SIGMA   1e-5
#define MOST_STEPS    400
#define STEP          0.3 /* of the logarithm, the first */
#define SETTLED       1e-3
#define DIFFERENCE    0.05 /* of the logarithm, for the curvature */
#define TWO_SIDED     0.975

/* One run's likelihood of delta = thickness / design - 1: information J, and J delta at its top. */
typedef struct run {
    double *J, *h; /* [layers * layers], [layers] */
} run;

typedef struct estimate {
    size_t layers, materials, runs;
    size_t *material;   /* [layers] */
    double *sign;       /* [layers] of the run's error */
    run *run;           /* [runs] */
    double *centre;     /* [materials + 1] logarithm of what a sigma is expected to be; the last is the run's */
    gsl_matrix *inner;  /* [layers, layers] V^-1 + J */
    gsl_matrix *normal; /* [materials, materials] of the factors */
    gsl_vector *right, *factor, *solved; /* [materials] twice, [layers] */
    gsl_vector *weighted;                /* [layers] */
    double *memory;
} estimate;

/* ---- the likelihood ---- */

static double *at(gsl_vector *vector, size_t i)
{
    return gsl_vector_ptr(vector, i);
}

/* V^-1 = D - D s s^T D / (1 / run^2 + s^T D s), D = diag(1 / sigma^2); returns log |V|. */
static double set_inner(estimate *all, const run *one, const gsl_vector *log_sigma)
{
    const double of_run = exp(2.0 * gsl_vector_get(log_sigma, all->materials));
    double inner = 1.0 / of_run, log_V = log(of_run);
    for (size_t j = 0; j < all->layers; j++) {
        const double variance = exp(2.0 * gsl_vector_get(log_sigma, all->material[j]));
        *at(all->weighted, j) = all->sign[j] / variance;
        inner += 1.0 / variance;
        log_V += log(variance);
    }
    log_V += log(inner);
    for (size_t j = 0; j < all->layers; j++)
        for (size_t k = 0; k < all->layers; k++) {
            double value = one->J[j * all->layers + k] - *at(all->weighted, j) * *at(all->weighted, k) / inner;
            if (j == k)
                value += exp(-2.0 * gsl_vector_get(log_sigma, all->material[j]));
            gsl_matrix_set(all->inner, j, k, value);
        }
    return log_V;
}

/* (V^-1 + J)^-1 of a column into `solved`. */
static void solve(estimate *all, const double *column)
{
    for (size_t j = 0; j < all->layers; j++)
        *at(all->solved, j) = column[j];
    gsl_linalg_cholesky_svx(all->inner, all->solved);
}

/* Adds one run to the normal equations of the factors; returns its log likelihood at factors of 0. */
static double add_run(estimate *all, const run *one, const gsl_vector *log_sigma, double *column)
{
    const size_t layers = all->layers;
    double log_likelihood = -0.5 * set_inner(all, one, log_sigma);
    if (gsl_linalg_cholesky_decomp1(all->inner) != GSL_SUCCESS)
        return -INFINITY;
    for (size_t j = 0; j < layers; j++)
        log_likelihood -= log(gsl_matrix_get(all->inner, j, j));
    solve(all, one->h);
    for (size_t j = 0; j < layers; j++) {
        double u = one->h[j];
        log_likelihood += 0.5 * one->h[j] * *at(all->solved, j);
        for (size_t k = 0; k < layers; k++)
            u -= one->J[j * layers + k] * *at(all->solved, k);
        *at(all->right, all->material[j]) += u;
    }
    for (size_t m = 0; m < all->materials; m++) {
        memset(column, 0, layers * sizeof *column);
        for (size_t j = 0; j < layers; j++)
            for (size_t k = 0; k < layers; k++)
                column[j] += all->material[k] == m ? one->J[j * layers + k] : 0.0;
        solve(all, column);
        for (size_t j = 0; j < layers; j++) {
            double w = column[j];
            for (size_t k = 0; k < layers; k++)
                w -= one->J[j * layers + k] * *at(all->solved, k);
            *gsl_matrix_ptr(all->normal, all->material[j], m) += w;
        }
    }
    return log_likelihood;
}

/* Minus the restricted log likelihood with the priors of the sigmas; all->factor and all->normal (its Cholesky factor)
 * are those of the best factors. */
static double objective(const gsl_vector *log_sigma, void *context)
{
    estimate *all = context;
    double sum = 0.0;
    gsl_matrix_set_zero(all->normal);
    gsl_vector_set_zero(all->right);
    for (size_t i = 0; i <= all->materials; i++) {
        const double away = (gsl_vector_get(log_sigma, i) - all->centre[i]) / PRIOR_LOG;
        if (gsl_vector_get(log_sigma, i) < log(LEAST_SIGMA) || gsl_vector_get(log_sigma, i) > 0.0)
            return 1e300;
        sum -= 0.5 * away * away;
    }
    for (size_t r = 0; r < all->runs; r++)
        sum += add_run(all, &all->run[r], log_sigma, all->memory);
    for (size_t m = 0; m < all->materials; m++)
        *gsl_matrix_ptr(all->normal, m, m) += 1.0 / (WEAKEST * WEAKEST);
    if (!isfinite(sum) || gsl_linalg_cholesky_decomp1(all->normal) != GSL_SUCCESS)
        return 1e300;
    gsl_linalg_cholesky_solve(all->normal, all->right, all->factor);
    for (size_t m = 0; m < all->materials; m++)
        sum += 0.5 * gsl_vector_get(all->right, m) * gsl_vector_get(all->factor, m) -
               log(gsl_matrix_get(all->normal, m, m));
    return -sum;
}

/* ---- the estimate ---- */

/* Whatever the cause, as long as the layers are those of the design: to leave out the runs that are far off would make
 * the scatter look smaller than it is. Another angle is no run of this stack as it was looked at. */
static bool counts(const bc_inspect_result *witness)
{
    return witness->good_fit && witness->causes > 0 && witness->cause[0].kind != BC_CAUSE_ANGLE;
}

static void take_run(const bc_inspect_result *witness, const bc_stack *design, run *one)
{
    const size_t layers = design->layers;
    for (size_t j = 0; j < layers; j++) {
        const double nm = design->layer[j].thickness_nm;
        one->h[j] = nm * witness->pull[j];
        for (size_t k = 0; k < layers; k++) {
            one->J[j * layers + k] = nm * witness->information[j * layers + k] * design->layer[k].thickness_nm;
            one->h[j] -= one->J[j * layers + k];
        }
    }
}

static void clear(estimate *all)
{
    for (size_t r = 0; all->run != NULL && r < all->runs; r++)
        free(all->run[r].J);
    free(all->run);
    free(all->material);
    free(all->sign);
    free(all->centre);
    free(all->memory);
    gsl_matrix_free(all->inner);
    gsl_matrix_free(all->normal);
    gsl_vector_free(all->right);
    gsl_vector_free(all->factor);
    gsl_vector_free(all->solved);
    gsl_vector_free(all->weighted);
}

static bc_status make_room(estimate *all, bc_error *error)
{
    const size_t layers = all->layers, materials = all->materials;
    all->run = calloc(all->runs, sizeof *all->run);
    all->material = calloc(layers, sizeof *all->material);
    all->sign = calloc(layers, sizeof *all->sign);
    all->centre = calloc(materials + 1, sizeof *all->centre);
    all->memory = calloc(layers, sizeof *all->memory);
    all->inner = gsl_matrix_alloc(layers, layers);
    all->normal = gsl_matrix_alloc(materials, materials);
    all->right = gsl_vector_alloc(materials);
    all->factor = gsl_vector_alloc(materials);
    all->solved = gsl_vector_alloc(layers);
    all->weighted = gsl_vector_alloc(layers);
    bool good = all->run != NULL && all->material != NULL && all->sign != NULL && all->centre != NULL &&
                all->memory != NULL && all->inner != NULL && all->normal != NULL && all->right != NULL &&
                all->factor != NULL && all->solved != NULL && all->weighted != NULL;
    for (size_t r = 0; good && r < all->runs; r++) {
        all->run[r].J = calloc(layers * layers + layers, sizeof(double));
        good = all->run[r].J != NULL;
        all->run[r].h = good ? all->run[r].J + layers * layers : NULL;
    }
    return good ? BC_OK : bc_fail_memory(error);
}

static void set_up(estimate *all, size_t count, const bc_inspect_result *witness, const bc_inspect_setup *setup,
                   bc_runs *out)
{
    const bc_stack *design = setup->design;
    double of_runs = 0.0;
    for (size_t w = 0, r = 0; w < count; w++)
        if (counts(&witness[w]))
            take_run(&witness[w], design, &all->run[r++]);
    for (size_t j = 0; j < all->layers; j++) {
        const bc_process_row row = bc_process_for(setup->process, design->layer[j].material.name);
        while (out->material[all->material[j]].material.dispersion != design->layer[j].material.dispersion)
            all->material[j]++;
        bc_runs_material *material = &out->material[all->material[j]];
        material->layers++;
        material->sigma_before = row.has_thickness_sigma ? row.thickness_sigma : NAN;
        all->sign[j] = row.run_thickness_sigma < 0.0 ? -1.0 : 1.0;
        all->centre[all->material[j]] = log(row.thickness_sigma > 0.0 ? row.thickness_sigma : BC_USUAL_SCATTER);
        of_runs = fmax(of_runs, fabs(row.run_thickness_sigma));
    }
    all->centre[all->materials] = log(of_runs > 0.0 ? of_runs : USUAL_RUN);
}

static bc_status search(estimate *all, gsl_vector *log_sigma, bc_error *error)
{
    for (size_t i = 0; i <= all->materials; i++)
        gsl_vector_set(log_sigma, i, all->centre[i]);
    return bc_simplex_search(&(bc_simplex){STEP, SETTLED, MOST_STEPS}, objective, all, log_sigma, error);
}

/* 95 % of a sigma, by the curvature along its own logarithm; no wider than the prior. */
static bc_interval interval_of(estimate *all, gsl_vector *log_sigma, size_t which)
{
    const double here = gsl_vector_get(log_sigma, which), best = objective(log_sigma, all);
    double side[2];
    for (int s = 0; s < 2; s++) {
        gsl_vector_set(log_sigma, which, here + (s == 0 ? -DIFFERENCE : DIFFERENCE));
        side[s] = objective(log_sigma, all);
    }
    gsl_vector_set(log_sigma, which, here);
    const double curvature = (side[0] + side[1] - 2.0 * best) / (DIFFERENCE * DIFFERENCE);
    const double wide = gsl_cdf_ugaussian_Pinv(TWO_SIDED) / sqrt(fmax(curvature, 1.0 / (PRIOR_LOG * PRIOR_LOG)));
    return (bc_interval){exp(here), exp(here - wide), exp(here + wide)};
}

double bc_wavelength_factor(const bc_inspect_setup *setup, const bc_inspect_result *witness)
{
    const bc_overlay *overlay = witness->R.count > 0 ? &witness->R : &witness->T;
    if (overlay->count == 0)
        return 0.0;
    const double middle_nm = 0.5 * (overlay->wavelength_nm[0] + overlay->wavelength_nm[overlay->count - 1]);
    return setup->wavelength_uncertainty_nm / setup->coverage_factor / middle_nm;
}

double bc_tooling_correction(double a, double variance, double *probability)
{
    const double usual = PRIOR_TOOLING * PRIOR_TOOLING;
    const double log_bayes =
        0.5 * log(variance / (variance + usual)) + 0.5 * a * a * usual / (variance * (variance + usual));
    *probability = 1.0 / (1.0 + exp(-log_bayes));
    return *probability > SURE ? 1.0 + *probability * a * usual / (usual + variance) : 1.0;
}

static void tell_factor(bc_runs_material *material, double a, double variance, double freedom)
{
    const double quantile = gsl_cdf_tdist_Pinv(TWO_SIDED, freedom), wide = quantile * sqrt(variance);
    /* The sigmas are estimates, too: as wide as Student's interval. */
    variance *= pow(quantile / gsl_cdf_ugaussian_Pinv(TWO_SIDED), 2.0);
    material->factor = (bc_interval){1.0 + a, 1.0 + a - wide, 1.0 + a + wide};
    material->correction = bc_tooling_correction(a, variance, &material->probability);
    material->next_tooling = material->tooling * material->correction;
}

static bc_status tell(estimate *all, gsl_vector *log_sigma, const bc_inspect_setup *setup, double of_instrument,
                      bc_runs *out, bc_error *error)
{
    gsl_vector *unit = gsl_vector_alloc(all->materials);
    if (unit == NULL)
        return bc_fail_memory(error);
    for (size_t m = 0; m < all->materials; m++)
        out->material[m].sigma = interval_of(all, log_sigma, m);
    out->run_sigma = interval_of(all, log_sigma, all->materials);
    objective(log_sigma, all);
    for (size_t m = 0; m < all->materials; m++) {
        const bc_process_row row = bc_process_for(setup->process, out->material[m].material.name);
        out->material[m].tooling_known = row.has_tooling;
        out->material[m].tooling = row.has_tooling ? row.tooling : 1.0;
        gsl_vector_set_basis(unit, m);
        gsl_linalg_cholesky_svx(all->normal, unit);
        tell_factor(&out->material[m], gsl_vector_get(all->factor, m),
                    gsl_vector_get(unit, m) + of_instrument * of_instrument, (double)all->runs);
    }
    gsl_vector_free(unit);
    return BC_OK;
}

static void find_materials(const bc_stack *design, bc_runs *out)
{
    for (size_t j = 0; j < design->layers; j++) {
        size_t m = 0;
        while (m < out->materials && out->material[m].material.dispersion != design->layer[j].material.dispersion)
            m++;
        if (m == out->materials)
            out->material[out->materials++].material = design->layer[j].material;
    }
}

static bc_status write_process(const bc_process *from, bc_runs *out, bc_error *error)
{
    const bc_status status = bc_process_copy(from, out->materials, &out->process, error);
    if (status != BC_OK)
        return status;
    for (size_t m = 0; m < out->materials; m++) {
        bc_process_row *row = bc_process_own_row(&out->process, out->material[m].material.name);
        row->tooling = out->material[m].next_tooling;
        row->thickness_sigma = out->material[m].sigma.value;
        row->run_thickness_sigma = (row->run_thickness_sigma < 0.0 ? -1.0 : 1.0) * fmin(0.5, out->run_sigma.value);
        row->has_tooling = row->has_thickness_sigma = row->has_run_thickness_sigma = true;
        row->runs.counted = row->runs.tooling = row->runs.thickness_sigma = row->runs.run_thickness_sigma =
            (double)out->runs;
    }
    out->process.has_tooling = out->process.has_thickness_sigma = out->process.has_run_thickness_sigma = true;
    out->process.sha256[0] = '\0';
    return BC_OK;
}

bc_status bc_runs_estimate(size_t count, const bc_inspect_result *witness, const bc_inspect_setup *setup, bc_runs *out,
                           bc_error *error)
{
    estimate all = {.layers = setup->design->layers};
    gsl_vector *log_sigma = NULL;
    const bc_inspect_result *first = NULL;
    bc_status status;
    *out = (bc_runs){0};
    for (size_t w = 0; w < count; w++) {
        all.runs += counts(&witness[w]);
        first = first == NULL && counts(&witness[w]) ? &witness[w] : first;
    }
    out->runs = all.runs;
    out->left_out = count - all.runs;
    if (all.runs < BC_RUNS_LEAST || all.layers == 0)
        return BC_OK;
    gsl_set_error_handler_off();
    out->material = calloc(all.layers, sizeof *out->material);
    if (out->material == NULL)
        return bc_fail_memory(error);
    find_materials(setup->design, out);
    all.materials = out->materials;
    status = make_room(&all, error);
    if (status == BC_OK && (log_sigma = gsl_vector_alloc(all.materials + 1)) == NULL)
        status = bc_fail_memory(error);
    if (status == BC_OK) {
        set_up(&all, count, witness, setup, out);
        status = search(&all, log_sigma, error);
    }
    if (status == BC_OK)
        status = tell(&all, log_sigma, setup, bc_wavelength_factor(setup, first), out, error);
    if (status == BC_OK)
        status = write_process(setup->process, out, error);
    gsl_vector_free(log_sigma);
    clear(&all);
    if (status != BC_OK)
        bc_runs_clear(out);
    return status;
}

void bc_runs_clear(bc_runs *runs)
{
    free(runs->material);
    bc_process_clear(&runs->process);
    *runs = (bc_runs){0};
}
