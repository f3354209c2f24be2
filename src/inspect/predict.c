/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "parts.h"
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_randist.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SEED          271828
#define USUAL_INDEX   0.01
#define DIFFERENCE_NM 0.05
#define DIFFERENCE_N  1e-4

/* The fitted stack drawn within its covariance. */
typedef struct predictor {
    bc_fit *fit;
    const bc_solution *solution;
    const bc_callout *callout;
    bc_prospect *prospect;
    size_t size;        /* layers, and dn where it is fitted */
    gsl_matrix *spread; /* Cholesky factor of the covariance of layers and dn */
    double *thickness_nm, *dn, *normal;
    double *slope;     /* of the callout's value at the solution, in layers and dn; 0: not looked for */
    double *by_normal; /* the same in the normal numbers */
} predictor;

static void close_predictor(predictor *p)
{
    free(p->thickness_nm);
    gsl_matrix_free(p->spread);
}

/* Layers and dn are drawn from their own block of the covariance. */
static bc_status open_predictor(predictor *p, bc_error *error)
{
    const bc_solution *solution = p->solution;
    const bc_fit *fit = p->fit;
    const size_t all = solution->size + fit->layers + fit->materials;
    p->size = fit->layers + (fit->has_index ? fit->materials : 0);
    p->thickness_nm = calloc(4 * all + 1, sizeof(double));
    if (p->thickness_nm == NULL)
        return bc_fail_memory(error);
    p->dn = p->thickness_nm + fit->layers;
    p->normal = p->thickness_nm + all;
    p->slope = p->normal + all;
    p->by_normal = p->slope + all;
    if (p->size == 0)
        return BC_OK;
    p->spread = gsl_matrix_alloc(p->size, p->size);
    if (p->spread == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < p->size; i++)
        for (size_t k = 0; k < p->size; k++)
            gsl_matrix_set(p->spread, i, k, solution->covariance[i * solution->size + k]);
    if (gsl_linalg_cholesky_decomp1(p->spread) != GSL_SUCCESS)
        return bc_fail(error, BC_ERROR_INPUT, "the covariance of the fit is not positive");
    return BC_OK;
}

static void draw(predictor *p, gsl_rng *random)
{
    const size_t layers = p->fit->layers;
    memcpy(p->dn, p->solution->point.dn, p->fit->materials * sizeof(double));
    for (size_t i = 0; random != NULL && i < p->size; i++)
        p->normal[i] = gsl_ran_gaussian_ziggurat(random, 1.0);
    for (size_t i = 0; i < layers || i < p->size; i++) {
        double away = 0.0;
        for (size_t k = 0; random != NULL && k <= i && i < p->size; k++)
            away += gsl_matrix_get(p->spread, i, k) * p->normal[k];
        if (i < layers)
            p->thickness_nm[i] = fmax(0.0, p->solution->point.thickness_nm[i] + away);
        else
            p->dn[i - layers] += away;
    }
}

/* The slope of the callout's value in the layers and dn, by central differences at the solution; and what it is in the
 * normal numbers of a draw. */
static void find_slope(predictor *p)
{
    double at_nm;
    draw(p, NULL);
    for (size_t v = 0; v < p->size; v++) {
        const bool is_layer = v < p->fit->layers;
        double *variable = is_layer ? &p->thickness_nm[v] : &p->dn[v - p->fit->layers];
        const double middle = *variable;
        const double step = is_layer ? fmin(DIFFERENCE_NM, 0.5 * middle) : DIFFERENCE_N;
        double side[2];
        for (int s = 0; s < 2; s++) {
            *variable = middle + (s == 0 ? -step : step);
            side[s] = bc_prospect_value(p->prospect, p->thickness_nm, p->dn, &at_nm);
        }
        *variable = middle;
        p->slope[v] = step > 0.0 ? (side[1] - side[0]) / (2.0 * step) : 0.0;
    }
    for (size_t k = 0; k < p->size; k++)
        for (size_t i = k; i < p->size; i++)
            p->by_normal[k] += p->slope[i] * gsl_matrix_get(p->spread, i, k);
}

static double length(size_t count, const double *vector)
{
    double square = 0.0;
    for (size_t i = 0; i < count; i++)
        square += vector[i] * vector[i];
    return sqrt(square);
}

static bool meets(const bc_callout *callout, double value)
{
    return bc_limit_used(callout, value) <= 1.0;
}

/* The share that meets the limit, were the value linear in what is drawn. */
static double linear_share(const bc_callout *callout, double value, double sigma)
{
    const double slack = callout->sense == BC_AT_MOST ? callout->limit - value : value - callout->limit;
    if (!(sigma > 0.0))
        return meets(callout, value) ? 1.0 : 0.0;
    return gsl_cdf_ugaussian_P(slack / sigma);
}

/* With a slope as a control variate (Glasserman, Monte Carlo Methods in Financial Engineering, 4.1; from memory): what
 * a linear value would give is known exactly, so only the difference of the two, in the same draws, is left to chance.
 */
static bc_status run_draws(predictor *p, size_t draws, bc_prediction *prediction, bc_error *error)
{
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    const double sigma = length(p->size, p->by_normal);
    double square = 0.0, linear_square = 0.0, at_nm;
    long more = 0;
    if (random == NULL)
        return bc_fail_memory(error);
    gsl_rng_set(random, SEED);
    draw(p, NULL);
    prediction->at_nm = p->callout->from_nm;
    prediction->value = bc_prospect_value(p->prospect, p->thickness_nm, p->dn, &prediction->at_nm);
    for (size_t i = 0; i < draws; i++) {
        double value, linear = 0.0;
        draw(p, random);
        value = bc_prospect_value(p->prospect, p->thickness_nm, p->dn, &at_nm);
        for (size_t k = 0; k < p->size; k++)
            linear += p->by_normal[k] * p->normal[k];
        square += (value - prediction->value) * (value - prediction->value);
        linear_square += linear * linear;
        more += (long)meets(p->callout, value) - (long)meets(p->callout, prediction->value + linear);
    }
    gsl_rng_free(random);
    prediction->sigma = linear_square > 0.0 ? sigma * sqrt(square / linear_square) : sqrt(square / (double)draws);
    prediction->share = linear_share(p->callout, prediction->value, sigma) + (double)more / (double)draws;
    prediction->share = fmin(1.0, fmax(0.0, prediction->share));
    return BC_OK;
}

static bc_status share_out(predictor *p, bc_prediction *prediction, bc_error *error)
{
    bc_fit_inputs inputs = {0};
    const bc_status status = bc_fit_inputs_open(p->fit, p->solution, &inputs, error);
    if (status == BC_OK) {
        bc_fit_inputs_share(&inputs, p->slope, prediction->part);
        bc_parts_stretch(prediction->sigma, prediction->part);
    }
    bc_fit_inputs_close(&inputs);
    return status;
}

static bc_status believe(const bc_inspection *inspection, bc_extra extra, bc_belief *belief, bc_error *error)
{
    bc_fit_setup setup = bc_fit_setup_of(inspection);
    bc_status status;
    for (size_t j = 0; j < setup.stack->layers; j++) {
        const bc_process_row row = bc_process_for(setup.process, setup.stack->layer[j].material.name);
        extra.scatter = fmax(extra.scatter, row.thickness_sigma);
    }
    setup.weak = false;
    setup.extra = &extra;
    setup.usual_index = USUAL_INDEX;
    setup.readings = inspection->fit.setup.readings; /* without a loss that was found */
    memcpy(setup.reading, inspection->fit.setup.reading, sizeof setup.reading);
    memcpy(setup.seen_as, inspection->fit.setup.seen_as, sizeof setup.seen_as);
    status = bc_fit_open(&setup, &belief->fit, error);
    if (status == BC_OK)
        status = bc_solve_from(&belief->fit, &inspection->solution.point, &belief->solution, error);
    if (status == BC_OK)
        status = bc_solve_errors(&belief->fit, &belief->solution, error);
    return status;
}

bc_status bc_believe(const bc_inspection *inspection, bc_beliefs *beliefs, bc_error *error)
{
    bc_status status = BC_OK;
    memset(beliefs, 0, sizeof *beliefs);
    while (status == BC_OK && beliefs->count < inspection->accounts) {
        const size_t k = beliefs->count++;
        status = believe(inspection, inspection->account[k], &beliefs->belief[k], error);
    }
    return status;
}

void bc_beliefs_clear(bc_beliefs *beliefs)
{
    for (size_t k = 0; k < beliefs->count; k++) {
        bc_solution_clear(&beliefs->belief[k].solution);
        bc_fit_close(&beliefs->belief[k].fit);
    }
}

/* From one fit; the value is NAN where its covariance is none. */
static bc_status predict_one(bc_fit *fit, const bc_solution *solution, const bc_callout *callout, bc_prospect *prospect,
                             bool share, size_t draws, bc_prediction *prediction, bc_error *error)
{
    predictor p = {.fit = fit, .solution = solution, .callout = callout, .prospect = prospect};
    bc_status status = open_predictor(&p, error);
    if (status == BC_OK && share)
        find_slope(&p);
    if (status == BC_OK)
        status = run_draws(&p, draws, prediction, error);
    if (status == BC_OK && share)
        status = share_out(&p, prediction, error);
    close_predictor(&p);
    return status == BC_ERROR_INPUT ? BC_OK : status;
}

bc_status bc_predict(bc_inspection *inspection, const bc_callout *callout, size_t draws, bc_prediction *prediction,
                     bc_error *error)
{
    bc_prospect *prospect = NULL;
    bc_status status;
    *prediction = BC_NO_PREDICTION;
    gsl_set_error_handler_off();
    status = bc_prospect_open(inspection->setup, callout, &prospect, error);
    if (status == BC_OK && prospect != NULL)
        status =
            predict_one(&inspection->fit, &inspection->solution, callout, prospect, false, draws, prediction, error);
    bc_prospect_close(prospect);
    return status;
}

bc_status bc_predict_believing(bc_inspection *inspection, bc_beliefs *beliefs, const bc_callout *callout, size_t draws,
                               bc_prediction *least, bc_prediction *most, bc_error *error)
{
    bc_prospect *prospect = NULL;
    bc_status status;
    *least = *most = BC_NO_PREDICTION;
    gsl_set_error_handler_off();
    status = bc_prospect_open(inspection->setup, callout, &prospect, error);
    for (size_t k = 0; status == BC_OK && prospect != NULL && k < beliefs->count; k++) {
        bc_belief *belief = &beliefs->belief[k];
        bc_prediction here = BC_NO_PREDICTION;
        status = predict_one(&belief->fit, &belief->solution, callout, prospect, true, draws, &here, error);
        if (k == 0 || here.share < least->share)
            *least = here;
        if (k == 0 || here.share > most->share)
            *most = here;
        if (!isfinite(here.value)) { /* then not all agree */
            *least = *most = here;
            break;
        }
    }
    bc_prospect_close(prospect);
    return status;
}
