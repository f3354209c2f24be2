/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "learn.h"
#include "tooling.h"
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TWO_SIDED    0.975
#define LEVEL        0.05 /* of the test for a drift, over all materials */
#define WELL_KNOWN   1.2  /* the upper end of an interval over its value: known to 20 % */
#define NO_LAYERS    1e-5 /* a scatter between layers as good as none */
#define MOST_RUNS    1000.0
#define MOST_SIGMA   0.5 /* of a run, in a process file, */
#define FEWEST_WORTH 2.0 /* and runs that a figure is worth */
#define MOST_WORTH   1e6

/* ---- what it says ---- */

/* 95 % of a sigma known with so many degrees of freedom; no wider than the prior. */
static bc_interval spread_of(double sigma, double freedom)
{
    const double most = exp(gsl_cdf_ugaussian_Pinv(TWO_SIDED) * BC_LEARN_PRIOR_LOG);
    return (bc_interval){sigma, sigma * fmax(1.0 / most, sqrt(freedom / gsl_cdf_chisq_Pinv(TWO_SIDED, freedom))),
                         sigma * fmin(most, sqrt(freedom / gsl_cdf_chisq_Pinv(1.0 - TWO_SIDED, freedom)))};
}

/* Degrees of freedom at which the upper end is within WELL_KNOWN of the value. */
static double freedom_needed(void)
{
    double freedom = 1.0;
    while (spread_of(1.0, freedom).high > WELL_KNOWN)
        freedom++;
    return freedom;
}

static void set_sigma(bc_learn_sigma *to, double log_sigma, double variance, size_t runs)
{
    const double of_scans = 1.0 / variance - 1.0 / (BC_LEARN_PRIOR_LOG * BC_LEARN_PRIOR_LOG); /* less the prior's */
    const double needed = (double)runs * freedom_needed() / fmax(1e-9, 0.5 * of_scans);
    to->freedom = 0.5 / variance;
    to->sigma = spread_of(exp(log_sigma), to->freedom);
    to->runs_needed = needed > MOST_RUNS ? 0 : (size_t)ceil(needed);
}

static void set_factor(bc_learn_material *material, double a, double variance, double freedom)
{
    const double quantile = gsl_cdf_tdist_Pinv(TWO_SIDED, freedom), wide = quantile * sqrt(variance);
    material->factor = (bc_interval){1.0 + a, 1.0 + a - wide, 1.0 + a + wide};
    material->factor_variance = variance;
    material->correction = bc_tooling_correction(a, variance * pow(quantile / gsl_cdf_ugaussian_Pinv(TWO_SIDED), 2.0),
                                                 &material->probability);
    material->next_tooling = material->tooling * material->correction;
}

static double variance_of(const bc_learn_fit *fit, size_t unknown)
{
    gsl_vector *unit = fit->right; /* what it held has been solved for */
    gsl_vector_set_basis(unit, unknown);
    gsl_linalg_cholesky_svx(fit->normal, unit);
    return gsl_vector_get(unit, unknown);
}

/* Degrees of freedom of a factor: the part of its variance that layers are always off by is known no better than their
 * scatter (after Satterthwaite). */
static double freedom_of(const bc_learn_result *out, double variance, double without_layers, double runs)
{
    const double of_layers = fmax(0.0, variance - without_layers);
    const double sum = without_layers * without_layers / runs +
                       (of_layers > 0.0 ? of_layers * of_layers / out->between_layers.freedom : 0.0);
    return fmax(1.0, variance * variance / sum);
}

static void say_factors(bc_learn_fit *fit, gsl_vector *log_sigma, double of_instrument, bc_learn_result *out)
{
    const double runs = (double)out->runs - (fit->has_lines ? 2.0 : 1.0);
    for (size_t m = 0; m < out->materials; m++) {
        double a, variance, without_layers, log_layers = 0.0;
        bc_learn_objective(log_sigma, fit);
        a = gsl_vector_get(fit->shared, m);
        variance = without_layers = variance_of(fit, m);
        if (fit->has_layers) {
            log_layers = gsl_vector_get(log_sigma, out->materials + 1);
            gsl_vector_set(log_sigma, out->materials + 1, log(NO_LAYERS));
            bc_learn_objective(log_sigma, fit);
            without_layers = fmin(variance, variance_of(fit, m));
            gsl_vector_set(log_sigma, out->materials + 1, log_layers);
        }
        set_factor(&out->material[m], a, variance + of_instrument * of_instrument,
                   freedom_of(out, variance, without_layers, runs));
    }
}

static bc_status say_scatter(bc_learn_fit *fit, gsl_vector *log_sigma, double of_instrument, bc_learn_result *out,
                             bc_error *error)
{
    double *variance = calloc(log_sigma->size, sizeof *variance);
    bc_status status = variance == NULL ? bc_fail_memory(error) : BC_OK;
    if (status == BC_OK)
        status = bc_learn_variances(fit, log_sigma, variance, error);
    for (size_t m = 0; status == BC_OK && m < out->materials; m++)
        set_sigma(&out->material[m].within, gsl_vector_get(log_sigma, m), variance[m], out->runs);
    if (status == BC_OK)
        set_sigma(&out->between_runs, gsl_vector_get(log_sigma, out->materials), variance[out->materials], out->runs);
    if (status == BC_OK && fit->has_layers) {
        const size_t last = out->materials + 1;
        set_sigma(&out->between_layers, gsl_vector_get(log_sigma, last), variance[last], out->runs);
        out->between_layers.runs_needed = 0; /* other layers would help, not other runs */
    }
    free(variance);
    if (status != BC_OK)
        return status;
    say_factors(fit, log_sigma, of_instrument, out);
    return BC_OK;
}

/* The same once more with a straight line for each material. */
static bc_status say_drift(bc_learn_fit *fit, gsl_vector *log_sigma, bc_learn_result *out, bc_error *error)
{
    const double freedom = (double)out->runs - 2.0;
    bc_status status;
    fit->has_lines = true;
    status = bc_learn_fit_room(fit, error);
    if (status == BC_OK)
        status = bc_learn_search(fit, log_sigma, error);
    if (status != BC_OK)
        return status;
    bc_learn_objective(log_sigma, fit);
    for (size_t m = 0; m < out->materials; m++) {
        bc_learn_drift *drift = &out->material[m].drift;
        const double line = gsl_vector_get(fit->shared, out->materials + m);
        const double sigma = sqrt(variance_of(fit, out->materials + m));
        const double wide = gsl_cdf_tdist_Pinv(TWO_SIDED, freedom) * sigma;
        drift->change = (bc_interval){line, line - wide, line + wide};
        drift->chance = 2.0 * gsl_cdf_tdist_Q(fabs(line) / sigma, freedom);
        drift->drifts = drift->chance * (double)out->materials < LEVEL;
    }
    return BC_OK;
}

/* ---- the index ---- */

/* Minus twice the restricted log likelihood of a spread tau of values, each known to its own sigma. */
static double index_misfit(size_t count, const bc_learn_run *run, const char *name, double tau)
{
    double weights = 0.0, sum = 0.0, squares = 0.0, logs = 0.0;
    for (size_t r = 0; r < count; r++)
        for (size_t i = 0; i < run[r].indices; i++) {
            const bc_learn_index *index = &run[r].index[i];
            const double variance = tau * tau + index->dn_sigma * index->dn_sigma;
            if (strcmp(index->material, name) != 0)
                continue;
            weights += 1.0 / variance;
            sum += index->dn / variance;
            squares += index->dn * index->dn / variance;
            logs += log(variance);
        }
    return logs + log(weights) + squares - sum * sum / weights;
}

/* The spread of the largest likelihood, looked for over the logarithm, and its interval by the curvature. */
static void say_index(size_t count, const bc_learn_run *run, bc_learn_material *material)
{
    const double first = log(1e-5), last = log(0.5), step = 0.02, d = 0.1;
    double best = first, least = INFINITY;
    for (size_t r = 0; r < count; r++)
        for (size_t i = 0; i < run[r].indices; i++)
            material->index_runs +=
                strcmp(run[r].index[i].material, material->name) == 0 && run[r].index[i].dn_sigma > 0;
    if (material->index_runs < BC_LEARN_LEAST)
        return;
    for (double at = first; at <= last; at += step) {
        const double misfit = index_misfit(count, run, material->name, exp(at));
        if (misfit < least) {
            least = misfit;
            best = at;
        }
    }
    const double curvature = 0.5 *
                             (index_misfit(count, run, material->name, exp(best + d)) +
                              index_misfit(count, run, material->name, exp(best - d)) - 2.0 * least) /
                             (d * d);
    material->index_freedom = fmax(0.5 * curvature, 0.25);
    material->index_sigma = spread_of(exp(best), material->index_freedom);
}

/* ---- the process file ---- */

/* Runs are written with three digits. */
static double worth(double runs)
{
    const double scale = pow(10.0, 2.0 - floor(log10(fmax(runs, FEWEST_WORTH))));
    return fmin(fmax(round(runs * scale) / scale, FEWEST_WORTH), MOST_WORTH);
}

/* Degrees of freedom of a layer's scatter of both kinds (after Satterthwaite, of variances). */
static double freedom_of_layers(const bc_learn_result *out, const bc_learn_sigma *within)
{
    const double own = pow(within->sigma.value, 2.0), shared = pow(out->between_layers.sigma.value, 2.0);
    const double sum =
        own * own / within->freedom + (shared > 0.0 ? shared * shared / out->between_layers.freedom : 0.0);
    return (own + shared) * (own + shared) / sum;
}

/* What the figures of a material are worth. Its tooling is off by what is not known of its factor, by what was not
 * corrected, and by half of a drift, for the factor is that of the middle. */
static bc_process_runs runs_of(const bc_learn_result *out, const bc_learn_material *material, const bc_process_row *row)
{
    const double left = material->factor.value - material->correction;
    const double drifted = material->drift.drifts ? 0.5 * material->drift.change.value : 0.0;
    const double off = material->factor_variance + left * left + drifted * drifted;
    const double scatter = pow(row->thickness_sigma, 2.0) + pow(row->run_thickness_sigma, 2.0);
    bc_process_runs runs = {.counted = (double)material->runs,
                            .tooling = worth(scatter / off),
                            .thickness_sigma = worth(freedom_of_layers(out, &material->within) + 1.0),
                            .run_thickness_sigma = worth(out->between_runs.freedom + 1.0),
                            .index_sigma = row->runs.index_sigma};
    if (material->index_runs >= BC_LEARN_LEAST)
        runs.index_sigma = worth(material->index_freedom + 1.0);
    return runs;
}

static bc_status write_process(const bc_process *from, bc_learn_result *out, bc_error *error)
{
    const bc_status status = bc_process_copy(from, out->materials, &out->process, error);
    if (status != BC_OK)
        return status;
    for (size_t m = 0; m < out->materials; m++) {
        const bc_learn_material *material = &out->material[m];
        bc_process_row *row = bc_process_own_row(&out->process, material->name);
        row->tooling = material->next_tooling;
        /* The constant error of a new layer is not known beforehand. */
        row->thickness_sigma = hypot(material->within.sigma.value, out->between_layers.sigma.value);
        row->run_thickness_sigma =
            (row->run_thickness_sigma < 0.0 ? -1.0 : 1.0) * fmin(MOST_SIGMA, out->between_runs.sigma.value);
        row->has_tooling = row->has_thickness_sigma = row->has_run_thickness_sigma = true;
        if (material->index_runs >= BC_LEARN_LEAST) {
            row->index_sigma = material->index_sigma.value;
            row->has_index_sigma = out->process.has_index_sigma = true;
        }
        row->runs = runs_of(out, material, row);
    }
    out->process.has_tooling = out->process.has_thickness_sigma = out->process.has_run_thickness_sigma = true;
    out->process.sha256[0] = '\0';
    return BC_OK;
}

/* ---- all ---- */

static bc_status estimate(size_t count, const bc_learn_run *run, bc_learn_fit *fit, bc_learn_result *out,
                          bc_error *error)
{
    gsl_vector *log_sigma = gsl_vector_alloc(bc_learn_sigmas(fit));
    double of_instrument = 0.0;
    bc_status status = log_sigma == NULL ? bc_fail_memory(error) : bc_learn_fit_room(fit, error);
    for (size_t r = 0; r < count; r++)
        of_instrument = fmax(of_instrument, run[r].of_instrument);
    if (status == BC_OK)
        status = bc_learn_search(fit, log_sigma, error);
    if (status == BC_OK)
        status = say_scatter(fit, log_sigma, of_instrument, out, error);
    bc_learn_fit_clear(fit);
    if (status == BC_OK && out->drift_known)
        status = say_drift(fit, log_sigma, out, error);
    for (size_t m = 0; status == BC_OK && m < out->materials; m++)
        out->about_lines = out->about_lines || out->material[m].drift.drifts;
    if (status == BC_OK && out->about_lines)
        status = say_scatter(fit, log_sigma, of_instrument, out, error);
    bc_learn_fit_clear(fit);
    gsl_vector_free(log_sigma);
    for (size_t m = 0; status == BC_OK && m < out->materials; m++)
        say_index(count, run, &out->material[m]);
    return status;
}

bc_status bc_learn(size_t count, const bc_learn_run *run, const bc_process *reference, bc_learn_result *out,
                   bc_error *error)
{
    bc_learn_fit fit = {0};
    bc_status status;
    *out = (bc_learn_result){.runs = count, .drift_known = count >= BC_LEARN_DRIFT_LEAST};
    out->between_runs.before = out->between_layers.before = NAN;
    if (count < BC_LEARN_LEAST)
        return bc_fail(error, BC_ERROR_INPUT,
                       "found %zu runs that fit with the layers of their design; expected at least %d to learn the "
                       "process from",
                       count, BC_LEARN_LEAST);
    gsl_set_error_handler_off();
    status = bc_learn_set_up(count, run, reference, &fit, out, error);
    out->layers_known = fit.has_layers;
    if (status == BC_OK)
        status = estimate(count, run, &fit, out, error);
    if (status == BC_OK)
        status = write_process(reference, out, error);
    bc_learn_clear_parts(&fit, count);
    if (status != BC_OK)
        bc_learn_result_clear(out);
    return status;
}

void bc_learn_result_clear(bc_learn_result *result)
{
    free(result->material);
    bc_process_clear(&result->process);
    *result = (bc_learn_result){0};
}
