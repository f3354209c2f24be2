/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "lens_curve.h"
#include "merit.h"
#include "model.h"
#include <bloomcoat/sampling.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_min.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SCAN        121 /* factors looked at first */
#define VALLEYS     3   /* of them, the deepest are followed */
#define BRENT_STEPS 40
#define BEYOND      0.1 /* of a zone past the design's own thickness, either way */
#define ROUND       1e4 /* a chamber is told a factor to 0.01 % */

/* limit_used over all zones against the logarithm of a factor of all thicknesses. */
typedef struct balance {
    const bc_run_model *model;
    bc_merit *merit;
    double *thickness_nm;
} balance;

static double largest_at(double log_factor, void *context)
{
    balance *b = context;
    for (size_t j = 0; j < b->model->films; j++)
        b->thickness_nm[j] = exp(log_factor) * b->model->nominal_nm[j];
    bc_merit_evaluate(b->merit, b->model->films, b->model->material, b->thickness_nm, false);
    return bc_merit_largest(b->merit);
}

/* The bottom of the valley around `middle`, with its depth. */
static bc_status descend(balance *b, double low, double middle, double high, double *log_factor, double *depth,
                         bc_error *error)
{
    gsl_function function = {largest_at, b};
    gsl_min_fminimizer *minimizer = gsl_min_fminimizer_alloc(gsl_min_fminimizer_brent);
    if (minimizer == NULL)
        return bc_fail_memory(error);
    if (gsl_min_fminimizer_set(minimizer, &function, middle, low, high) == GSL_SUCCESS) {
        for (int step = 0; step < BRENT_STEPS; step++) {
            if (gsl_min_fminimizer_iterate(minimizer) != GSL_SUCCESS ||
                gsl_min_test_interval(gsl_min_fminimizer_x_lower(minimizer), gsl_min_fminimizer_x_upper(minimizer),
                                      0.1 / ROUND, 0.0) == GSL_SUCCESS)
                break;
        }
        if (gsl_min_fminimizer_f_minimum(minimizer) < *depth) {
            *depth = gsl_min_fminimizer_f_minimum(minimizer);
            *log_factor = gsl_min_fminimizer_x_minimum(minimizer);
        }
    }
    gsl_min_fminimizer_free(minimizer);
    return BC_OK;
}

/* The deepest inner minimum of the scan that was not followed yet; SCAN: there is none. */
static size_t next_valley(const double *depth, const bool *followed)
{
    size_t found = SCAN;
    for (size_t i = 1; i + 1 < SCAN; i++)
        if (!followed[i] && depth[i] <= depth[i - 1] && depth[i] <= depth[i + 1] &&
            (found == SCAN || depth[i] < depth[found]))
            found = i;
    return found;
}

static bc_status scan(balance *b, double low, double high, double *factor, bc_error *error)
{
    double depth[SCAN], best = INFINITY, log_factor = 0.0;
    bool followed[SCAN] = {false};
    bc_status status = BC_OK;
    for (size_t i = 0; i < SCAN; i++) {
        depth[i] = largest_at(bc_sampling_at(low, high, SCAN, i), b);
        if (depth[i] < best) {
            best = depth[i];
            log_factor = bc_sampling_at(low, high, SCAN, i);
        }
    }
    gsl_set_error_handler_off();
    for (int valley = 0; status == BC_OK && valley < VALLEYS; valley++) {
        const size_t i = next_valley(depth, followed);
        if (i == SCAN)
            break;
        followed[i] = true;
        status = descend(b, bc_sampling_at(low, high, SCAN, i - 1), bc_sampling_at(low, high, SCAN, i),
                         bc_sampling_at(low, high, SCAN, i + 1), &log_factor, &best, error);
    }
    *factor = round(exp(log_factor) * ROUND) / ROUND;
    return status;
}

static void factor_range(const bc_lens_result *result, double *low, double *high)
{
    double thinnest = INFINITY, thickest = 0.0;
    for (size_t z = 0; z < result->zones; z++) {
        thinnest = fmin(thinnest, result->zone[z].thickness_factor);
        thickest = fmax(thickest, result->zone[z].thickness_factor);
    }
    *low = log((1.0 - BEYOND) / thickest);
    *high = log((1.0 + BEYOND) / thinnest);
}

/* The best factor on the verdict's samples, by the engine that the optimizers use. */
static bc_status find_factor(const bc_lens_question *question, const bc_lens_result *result, double *factor,
                             bc_error *error)
{
    const bc_stack *stack = question->stack;
    const bc_design_problem problem = {.callouts = question->callouts,
                                       .incident = stack->incident,
                                       .substrates = question->substrates == 0 ? 1 : question->substrates,
                                       .substrate = question->substrates == 0 ? &stack->substrate : question->substrate,
                                       .zones = result->zones,
                                       .zone = result->zone};
    bc_run_model model;
    balance b = {.model = &model};
    double low, high, optical_nm = 0.0, shortest = INFINITY;
    bc_status status = bc_run_model_open(&problem, stack, NULL, &model, error);
    if (status != BC_OK)
        return status;
    factor_range(result, &low, &high);
    for (size_t c = 0; c < question->callouts->count; c++)
        shortest = fmin(shortest, question->callouts->callout[c].from_nm);
    status = bc_optical_thickness(stack, shortest, &optical_nm, error);
    if (status == BC_OK)
        status =
            bc_merit_alloc(&model.problem, BC_DENSITY_VERDICT, model.films, exp(high) * optical_nm, &b.merit, error);
    b.thickness_nm = calloc(model.films + 1, sizeof *b.thickness_nm);
    if (status == BC_OK && b.thickness_nm == NULL)
        status = bc_fail_memory(error);
    if (status == BC_OK)
        status = scan(&b, low, high, factor, error);
    free(b.thickness_nm);
    bc_merit_free(b.merit);
    bc_run_model_close(&model);
    return status;
}

/* The stack with the factor, judged as the design was; kept only where it is better. */
static bc_status try_factor(const bc_lens_question *question, double factor, bc_lens_result *result, bc_error *error)
{
    bc_lens_question scaled = *question;
    bc_lens_samples samples = {0};
    bc_stack stack = {0};
    bc_status status = bc_stack_copy(question->stack, &stack, error);
    for (size_t j = 0; status == BC_OK && j < stack.films; j++)
        stack.film[j].thickness_nm *= factor;
    scaled.stack = &stack;
    if (question->substrates == 0) { /* findings point to the glass, and must not point into the copy */
        scaled.substrates = 1;
        scaled.substrate = &question->stack->substrate;
    }
    if (status == BC_OK)
        status = bc_lens_sample_at(&scaled, result->zones, result->zone, &samples, error);
    if (status == BC_OK)
        status = bc_lens_curve_make(&scaled, &samples, result->zone, &result->scaled, error);
    if (status == BC_OK && result->scaled.check.limit_used < result->designed.check.limit_used)
        result->factor = factor;
    else
        bc_lens_curve_clear(&result->scaled);
    bc_lens_samples_clear(&samples);
    bc_stack_clear(&stack);
    return status;
}

bc_status bc_lens(const bc_stack *stack, const bc_callouts *callouts, size_t substrates, const bc_medium *substrate,
                  const bc_curved *curved, size_t zones, bc_lens_result *result, bc_error *error)
{
    const bc_lens_question question = {stack, callouts, substrates, substrate, curved};
    bc_lens_samples samples = {0};
    double factor = 1.0;
    bc_status status = bc_curved_validate(curved, error);
    *result = (bc_lens_result){.factor = 1.0};
    if (status == BC_OK)
        status = bc_lens_sample(&question, zones < 2 ? 2 : zones, true, &samples, error);
    if (status == BC_OK) {
        result->zones = samples.count;
        result->zone = calloc(samples.count, sizeof *result->zone);
        if (result->zone == NULL)
            status = bc_fail_memory(error);
        else
            memcpy(result->zone, samples.zone, samples.count * sizeof *result->zone);
    }
    if (status == BC_OK)
        status = bc_lens_curve_make(&question, &samples, result->zone, &result->designed, error);
    bc_lens_samples_clear(&samples);
    if (status == BC_OK && stack->films > 0)
        status = find_factor(&question, result, &factor, error);
    if (status == BC_OK && factor != 1.0)
        status = try_factor(&question, factor, result, error);
    if (status != BC_OK)
        bc_lens_result_clear(result);
    return status;
}

void bc_lens_result_clear(bc_lens_result *result)
{
    bc_lens_curve_clear(&result->designed);
    bc_lens_curve_clear(&result->scaled);
    free(result->zone);
    memset(result, 0, sizeof *result);
}
