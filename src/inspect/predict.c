/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "parts.h"
#include <bloomcoat/colour.h>
#include <bloomcoat/sampling.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_randist.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SEED          271828
#define LEAST_SCATTER 0.03
#define USUAL_INDEX   0.01
#define DIFFERENCE_NM 0.05
#define DIFFERENCE_N  1e-4

/* A callout at every angle and in every plane it names. */
struct bc_prospect {
    const bc_callout *callout;
    bc_stack stack; /* the layers are the design's */
    size_t count, angles, planes;
    double *wavelength_nm, *weight; /* [count] in one allocation; of a colour weight has [3 * count] */
    bc_model_spectrum *simulated;   /* [angles * planes] */
};

/* The fitted stack drawn within its covariance. */
typedef struct predictor {
    bc_fit *fit;
    const bc_solution *solution;
    bc_prospect *prospect;
    gsl_matrix *spread; /* Cholesky factor of the covariance of layers and dn */
    double *thickness_nm, *dn, *normal;
} predictor;

void bc_prospect_close(bc_prospect *prospect)
{
    if (prospect == NULL)
        return;
    for (size_t i = 0; prospect->simulated != NULL && i < prospect->angles * prospect->planes; i++)
        bc_model_spectrum_close(&prospect->simulated[i]);
    free(prospect->simulated);
    free(prospect->wavelength_nm);
    free(prospect);
}

static void close_predictor(predictor *p)
{
    bc_prospect_close(p->prospect);
    free(p->thickness_nm);
    free(p->dn);
    free(p->normal);
    gsl_matrix_free(p->spread);
}

static const bc_medium *find_glass(const bc_inspect_setup *setup, const bc_callout *callout)
{
    if (bc_callout_applies(callout, setup->design->substrate.name))
        return &setup->design->substrate;
    for (size_t g = 0; g < setup->glasses; g++)
        if (strcmp(setup->glass[g].name, callout->substrate) == 0)
            return &setup->glass[g];
    return NULL;
}

static bc_status set_grid(bc_prospect *p, bc_error *error)
{
    bc_fringes fringes;
    bc_status status = bc_fringes_of(&p->stack, NULL, p->callout->from_nm, &fringes, error);
    if (status != BC_OK)
        return status;
    p->count = bc_sampling_wavelengths(p->callout, fringes.optical_nm);
    p->angles = bc_sampling_verdict_angles(p->callout, fringes.tilt_nm);
    p->planes = p->callout->polarization == BC_POL_EACH ? 2 : 1;
    p->wavelength_nm = calloc(p->count, 4 * sizeof *p->wavelength_nm);
    p->simulated = calloc(p->angles * p->planes, sizeof *p->simulated);
    if (p->wavelength_nm == NULL || p->simulated == NULL)
        return bc_fail_memory(error);
    p->weight = p->wavelength_nm + p->count;
    bc_sampling_set(p->callout, p->count, p->wavelength_nm, p->weight);
    if (p->callout->colour != BC_NO_COLOUR)
        bc_sampling_colour(p->callout, p->count, p->wavelength_nm, NULL, p->weight);
    return BC_OK;
}

static bc_status open_sights(bc_prospect *p, const bc_inspect_setup *setup, bc_error *error)
{
    const bc_back *back = setup->part_back.kind != BC_BACK_NONE ? &setup->part_back : &setup->back;
    const bool is_part = p->callout->scope == BC_SCOPE_PART;
    bc_status status = BC_OK;
    if (is_part && back->kind == BC_BACK_NONE)
        return bc_fail(error, BC_ERROR_INPUT, "the back of the part is not known");
    for (size_t a = 0; status == BC_OK && a < p->angles; a++)
        for (size_t q = 0; status == BC_OK && q < p->planes; q++) {
            const bc_polarization polarization = p->planes == 1 ? p->callout->polarization
                                                 : q == 0       ? BC_POL_S
                                                                : BC_POL_P;
            status =
                bc_model_spectrum_open(&p->stack, is_part ? back : NULL, p->count, p->wavelength_nm,
                                       bc_sampling_at(p->callout->aoi_from_rad, p->callout->aoi_to_rad, p->angles, a),
                                       polarization, &p->simulated[a * p->planes + q], error);
        }
    return status;
}

bc_status bc_prospect_open(const bc_inspect_setup *setup, const bc_callout *callout, bc_prospect **prospect,
                           bc_error *error)
{
    const bc_medium *glass = find_glass(setup, callout);
    bc_status status;
    *prospect = NULL;
    if (glass == NULL || callout->cone_rad > 0.0) /* a scan is made in parallel light */
        return BC_OK;
    *prospect = calloc(1, sizeof **prospect);
    if (*prospect == NULL)
        return bc_fail_memory(error);
    (*prospect)->callout = callout;
    (*prospect)->stack = *setup->design;
    (*prospect)->stack.substrate = *glass;
    status = set_grid(*prospect, error);
    if (status == BC_OK)
        status = open_sights(*prospect, setup, error);
    if (status == BC_OK)
        return BC_OK;
    bc_prospect_close(*prospect);
    *prospect = NULL;
    /* What no table reaches cannot be predicted; that is no reason not to judge what was measured. */
    return status == BC_ERROR_INPUT ? BC_OK : status;
}

/* Layers and dn are drawn from their own block of the covariance. */
static bc_status set_spread(predictor *p, bc_error *error)
{
    const bc_solution *solution = p->solution;
    const bc_fit *fit = p->fit;
    const size_t size = fit->layers + (fit->has_index ? fit->materials : 0);
    p->thickness_nm = calloc(fit->layers + 1, sizeof(double));
    p->dn = calloc(fit->materials + 1, sizeof(double));
    p->normal = calloc(size + 1, sizeof(double));
    if (p->thickness_nm == NULL || p->dn == NULL || p->normal == NULL)
        return bc_fail_memory(error);
    if (size == 0)
        return BC_OK;
    p->spread = gsl_matrix_alloc(size, size);
    if (p->spread == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < size; i++)
        for (size_t k = 0; k < size; k++)
            gsl_matrix_set(p->spread, i, k, solution->covariance[i * solution->size + k]);
    if (gsl_linalg_cholesky_decomp1(p->spread) != GSL_SUCCESS)
        return bc_fail(error, BC_ERROR_INPUT, "the covariance of the fit is not positive");
    return BC_OK;
}

static void draw(predictor *p, gsl_rng *random)
{
    const size_t layers = p->fit->layers, size = p->spread == NULL ? 0 : p->spread->size1;
    memcpy(p->dn, p->solution->point.dn, p->fit->materials * sizeof(double));
    for (size_t i = 0; random != NULL && i < size; i++)
        p->normal[i] = gsl_ran_gaussian_ziggurat(random, 1.0);
    for (size_t i = 0; i < layers || i < size; i++) {
        double away = 0.0;
        for (size_t k = 0; random != NULL && k <= i && i < size; k++)
            away += gsl_matrix_get(p->spread, i, k) * p->normal[k];
        if (i < layers)
            p->thickness_nm[i] = fmax(0.0, p->solution->point.thickness_nm[i] + away);
        else
            p->dn[i - layers] += away;
    }
}

static double value_at(const bc_model_spectrum *simulated, bc_quantity quantity, size_t i)
{
    if (quantity == BC_A)
        return 1.0 - bc_model_spectrum_value(simulated, BC_R)[i] - bc_model_spectrum_value(simulated, BC_T)[i];
    return bc_model_spectrum_value(simulated, quantity)[i];
}

static bool is_worse(const bc_callout *callout, double one, double than)
{
    return callout->sense == BC_AT_MOST ? one > than : one < than;
}

double bc_prospect_value(bc_prospect *p, const double *thickness_nm, const double *dn, double *at_nm)
{
    double worst = p->callout->sense == BC_AT_MOST ? -INFINITY : INFINITY;
    for (size_t s = 0; s < p->angles * p->planes; s++) {
        bc_model_spectrum *simulated = &p->simulated[s];
        const size_t means = p->callout->colour == BC_NO_COLOUR ? 1 : 3;
        double mean[3] = {0.0, 0.0, 0.0};
        for (size_t m = 0; m < simulated->materials; m++)
            bc_model_spectrum_shift_index(simulated, m, dn[m]);
        bc_model_spectrum_compute(simulated, thickness_nm, false);
        for (size_t i = 0; i < p->count; i++) {
            const double value = value_at(simulated, p->callout->quantity, i);
            for (size_t m = 0; m < means; m++)
                mean[m] += p->weight[m * p->count + i] * value;
            if (p->callout->statistic == BC_EXTREME && is_worse(p->callout, value, worst)) {
                worst = value;
                *at_nm = p->wavelength_nm[i];
            }
        }
        if (means > 1)
            mean[0] = bc_colour_callout_value(p->callout, mean, NULL);
        if (p->callout->statistic == BC_AVERAGE && is_worse(p->callout, mean[0], worst))
            worst = mean[0];
    }
    return worst;
}

/* The slope of the callout's value in the layers and dn, by central differences at the solution. */
static void find_slope(predictor *p, double *slope)
{
    const size_t layers = p->fit->layers, size = layers + (p->fit->has_index ? p->fit->materials : 0);
    double at_nm;
    draw(p, NULL);
    for (size_t v = 0; v < size; v++) {
        double *variable = v < layers ? &p->thickness_nm[v] : &p->dn[v - layers];
        const double middle = *variable;
        const double step = v < layers ? fmin(DIFFERENCE_NM, 0.5 * middle) : DIFFERENCE_N;
        double side[2];
        for (int s = 0; s < 2; s++) {
            *variable = middle + (s == 0 ? -step : step);
            side[s] = bc_prospect_value(p->prospect, p->thickness_nm, p->dn, &at_nm);
        }
        *variable = middle;
        slope[v] = step > 0.0 ? (side[1] - side[0]) / (2.0 * step) : 0.0;
    }
}

static bc_status share_out(predictor *p, bc_prediction *prediction, bc_error *error)
{
    double *slope = calloc(p->solution->size + 1, sizeof *slope);
    bc_fit_inputs inputs = {0};
    bc_status status = slope == NULL ? bc_fail_memory(error) : bc_fit_inputs_open(p->fit, p->solution, &inputs, error);
    if (status == BC_OK) {
        find_slope(p, slope);
        bc_fit_inputs_share(&inputs, slope, prediction->part);
        bc_parts_stretch(prediction->sigma, prediction->part);
    }
    bc_fit_inputs_close(&inputs);
    free(slope);
    return status;
}

static bc_status run_draws(predictor *p, size_t draws, bc_prediction *prediction, bc_error *error)
{
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    double square = 0.0, at_nm = NAN;
    size_t meet = 0;
    if (random == NULL)
        return bc_fail_memory(error);
    gsl_rng_set(random, SEED);
    draw(p, NULL);
    prediction->at_nm = p->prospect->callout->from_nm;
    prediction->value = bc_prospect_value(p->prospect, p->thickness_nm, p->dn, &prediction->at_nm);
    for (size_t i = 0; i < draws; i++) {
        double value;
        draw(p, random);
        value = bc_prospect_value(p->prospect, p->thickness_nm, p->dn, &at_nm);
        square += (value - prediction->value) * (value - prediction->value);
        meet += bc_limit_used(p->prospect->callout, value) <= 1.0;
    }
    prediction->sigma = sqrt(square / (double)draws);
    prediction->share = (double)meet / (double)draws;
    gsl_rng_free(random);
    return BC_OK;
}

bc_status bc_believe(const bc_inspection *inspection, bc_belief *belief, bc_error *error)
{
    bc_fit_setup setup = bc_fit_setup_of(inspection);
    bc_extra extra = inspection->cause_extra;
    bc_status status;
    memset(belief, 0, sizeof *belief);
    for (size_t j = 0; j < setup.stack->layers; j++) {
        const bc_process_row row = bc_process_for(setup.process, setup.stack->layer[j].material.name);
        extra.scatter = fmax(extra.scatter, fmax(LEAST_SCATTER, row.thickness_sigma));
    }
    setup.weak = false;
    setup.extra = &extra;
    setup.usual_index = USUAL_INDEX;
    setup.readings = inspection->fit.setup.readings; /* without a loss that was found */
    memcpy(setup.reading, inspection->fit.setup.reading, sizeof setup.reading);
    memcpy(setup.seen_as, inspection->fit.setup.seen_as, sizeof setup.seen_as);
    status = bc_fit_open(&setup, &belief->fit, error);
    belief->fit.setup.extra = NULL; /* of this function, and used up */
    if (status == BC_OK)
        status = bc_solve_from(&belief->fit, &inspection->solution.point, &belief->solution, error);
    if (status == BC_OK)
        status = bc_solve_errors(&belief->fit, &belief->solution, error);
    return status;
}

void bc_belief_clear(bc_belief *belief)
{
    bc_solution_clear(&belief->solution);
    bc_fit_close(&belief->fit);
}

bc_status bc_predict(bc_inspection *inspection, bc_belief *belief, const bc_callout *callout, size_t draws,
                     bc_prediction *prediction, bc_error *error)
{
    predictor p = {.fit = belief == NULL ? &inspection->fit : &belief->fit,
                   .solution = belief == NULL ? &inspection->solution : &belief->solution};
    bc_status status;
    *prediction = (bc_prediction){NAN, NAN, NAN, NAN, {0}};
    gsl_set_error_handler_off();
    status = bc_prospect_open(inspection->setup, callout, &p.prospect, error);
    if (status == BC_OK && p.prospect != NULL)
        status = set_spread(&p, error);
    if (status == BC_OK && p.prospect != NULL)
        status = run_draws(&p, draws, prediction, error);
    if (status == BC_OK && p.prospect != NULL && belief != NULL)
        status = share_out(&p, prediction, error);
    close_predictor(&p);
    /* A covariance that is none predicts nothing. */
    return status == BC_ERROR_INPUT ? BC_OK : status;
}
