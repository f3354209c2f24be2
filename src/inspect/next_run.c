/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cause.h"
#include "forecast.h"
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>

#define MOST_CORRECTION 2.0 /* a layer that is off by more was not made from this recipe */
#define CHANCE          0.01
#define SURE_ENOUGH     0.8 /* of the runs must gain */

/* What is predicted whatever the cause: the factor of a material that is off by more than the scatter of its layers
 * explains, shrunk by that, and what of the layers' own errors would come again. */
typedef struct lasting {
    double *factor, *sigma; /* [layers] of the layer's material; 1 and 0 where it is not off */
    double variance;        /* of a layer about that */
} lasting;

static bool is_beyond_chance(double square, double freedom)
{
    return square > gsl_cdf_chisq_Qinv(CHANCE, freedom);
}

static double square(double x)
{
    return x * x;
}

static void find_material(const bc_inspection *inspection, size_t m, lasting *l)
{
    const bc_material_found *material = &inspection->result->material[m];
    const unsigned *of_layer = inspection->fit.simulated.material;
    const size_t layers = inspection->result->layers;
    double scatter = 0.0, count = 0.0;
    for (size_t j = 0; j < layers; j++)
        if (of_layer[j] == m) {
            scatter += square(bc_layer_scatter(inspection, j));
            count++;
        }
    const double variance = scatter / (count * count) + square(material->factor_sigma);
    const double share = square(BC_USUAL_COMMON) / (square(BC_USUAL_COMMON) + variance);
    if (!material->off || !is_beyond_chance(square(material->factor - 1.0) / variance, 1.0))
        return;
    for (size_t j = 0; j < layers; j++)
        if (of_layer[j] == m) {
            l->factor[j] = 1.0 + share * (material->factor - 1.0);
            l->sigma[j] = sqrt(share * variance);
        }
}

static double away(const bc_layer_estimate *layer, const lasting *l, size_t j)
{
    return layer->fitted_nm / (layer->design_nm * l->factor[j]) - 1.0;
}

static void find_lasting(const bc_inspection *inspection, lasting *l)
{
    const bc_inspect_result *result = inspection->result;
    double sum = 0.0, beyond = 0.0, freedom = (double)result->layers;
    for (size_t j = 0; j < result->layers; j++)
        l->factor[j] = 1.0;
    for (size_t m = 0; m < result->materials; m++) {
        find_material(inspection, m, l);
        freedom -= result->material[m].off ? 1.0 : 0.0;
    }
    for (size_t j = 0; j < result->layers; j++) {
        const bc_layer_estimate *layer = &result->layer[j];
        const double chance = square(bc_layer_scatter(inspection, j)) + square(layer->sigma_nm / layer->design_nm);
        sum += square(away(layer, l, j)) / chance;
        beyond += (square(away(layer, l, j)) - chance) / (double)result->layers;
    }
    l->variance = freedom > 0.0 && is_beyond_chance(sum, freedom) ? fmax(0.0, beyond) : 0.0;
}

/* Whether a factor names the layer. */
static bool is_struck(const bc_inspection *inspection, const bc_cause *cause, size_t j)
{
    return cause->kind == BC_CAUSE_COMMON_FACTOR ||
           (cause->kind == BC_CAUSE_MATERIAL_FACTOR &&
            cause->material.dispersion == inspection->setup->design->layer[j].material.dispersion);
}

/* The factor that all layers of this one's material have, if `cause` is the true one. */
static double factor_of(const bc_inspection *inspection, const bc_cause *cause, const lasting *l, size_t j)
{
    const bool each = cause->kind == BC_CAUSE_RANDOM || cause->kind == BC_CAUSE_MATERIAL_FACTOR;
    return is_struck(inspection, cause, j) ? 1.0 + cause->size : each ? l->factor[j] : 1.0;
}

/* The best linear prediction (Henderson, Biometrics 31, 423 (1975); from memory) of what layer j will again come out
 * as if `cause` is the true one: what it put in, shrunk by what the process scatters. */
static void predict_layer(const bc_inspection *inspection, const bc_cause *cause, const lasting *l, size_t j,
                          bc_forecast *forecast)
{
    const bc_layer_estimate *layer = &inspection->result->layer[j];
    const double scatter = square(bc_layer_scatter(inspection, j)), design_nm = layer->design_nm;
    forecast->factor[j] = 1.0;
    if (!(design_nm > 0.0))
        return;
    forecast->factor[j] = factor_of(inspection, cause, l, j);
    if (is_struck(inspection, cause, j))
        forecast->common[j] = cause->size_sigma;
    else if (forecast->factor[j] != 1.0)
        forecast->own[j] = l->sigma[j];
    if (cause->kind == BC_CAUSE_LAYER && cause->layer[0] == j) {
        const double usual = square(BC_USUAL_LAYER + BC_WEAK_NM / design_nm), share = usual / (usual + scatter);
        forecast->factor[j] = 1.0 + share * cause->size;
        forecast->own[j] = sqrt(share * scatter + square(cause->size_sigma));
    } else if (cause->kind == BC_CAUSE_RANDOM && l->variance > 0.0) {
        const double own = square(layer->sigma_nm / design_nm), share = l->variance / (l->variance + scatter + own);
        forecast->factor[j] *= 1.0 + share * away(layer, l, j);
        forecast->own[j] = hypot(forecast->own[j], sqrt(l->variance * (1.0 - share)));
    }
}

/* Both causes weigh by their odds. */
static void predict(const bc_inspection *inspection, const lasting *l, bc_forecast forecast[2])
{
    const bc_inspect_result *result = inspection->result;
    for (size_t k = 0; k < 2; k++) {
        forecast[k].weight = k < result->causes ? exp(fmax(-700.0, result->cause[k].log_odds)) : 0.0;
        for (size_t j = 0; k < result->causes && j < result->layers; j++)
            predict_layer(inspection, &result->cause[k], l, j, &forecast[k]);
    }
}

/* Whether to correct: not on average alone, but in most runs. */
static bool is_worth(const bc_next_gain *gain)
{
    const bool gains = isfinite(gain->used_corrected) ? gain->used_corrected < gain->used_as_it_was
                                                      : gain->rms_corrected < gain->rms_as_it_was;
    return gains && gain->better >= SURE_ENOUGH;
}

static bc_next_reason reason_without(const bc_inspection *inspection, const bc_cause *cause)
{
    switch (cause->kind) {
    case BC_CAUSE_AS_DESIGNED:
        return BC_NEXT_AS_DESIGNED;
    case BC_CAUSE_INDEX:
        return BC_NEXT_INDEX;
    case BC_CAUSE_WAVELENGTH:
    case BC_CAUSE_READING_SCALE:
    case BC_CAUSE_READING_OFFSET:
        return BC_NEXT_READING;
    default:
        for (size_t j = 0; j < inspection->result->layers; j++)
            if (bc_process_for(inspection->setup->process, inspection->setup->design->layer[j].material.name)
                    .thickness_sigma <= 0.0)
                return BC_NEXT_CHANCE_ASSUMED;
        return BC_NEXT_CHANCE;
    }
}

/* The stack over the prediction, if that is worth it. */
static bc_status correct_stack(bc_inspection *inspection, const bc_forecast forecast[2], double *correction,
                               bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    bool any = false;
    bc_status status = BC_OK;
    for (size_t j = 0; j < result->layers; j++) {
        correction[j] = fmin(MOST_CORRECTION, fmax(1.0 / MOST_CORRECTION, forecast[0].factor[j]));
        any = any || correction[j] != 1.0;
    }
    result->next_because = reason_without(inspection, &result->cause[0]);
    if (!any)
        return BC_OK;
    status = bc_expect_gain(inspection, forecast, correction, 0.0, &result->next_gain, error);
    result->corrected = status == BC_OK && is_worth(&result->next_gain);
    result->next_because = result->corrected ? BC_NEXT_CORRECTED : BC_NEXT_NO_GAIN;
    for (size_t j = 0; result->corrected && j < result->layers; j++)
        result->next_stack.layer[j].thickness_nm /= correction[j];
    return status;
}

/* Whether the layer is off by itself and the only one of its material, whose factor that then is too. */
static bool is_only_one_off(const bc_inspection *inspection, const bc_cause *cause, size_t j)
{
    const unsigned *of_layer = inspection->fit.simulated.material;
    size_t count = 0;
    for (size_t i = 0; i < inspection->result->layers; i++)
        count += of_layer[i] == of_layer[j];
    return cause->kind == BC_CAUSE_LAYER && cause->layer[0] == j && count == 1;
}

/* Or the tooling of a material over what its layers have in common, if that is worth it. */
static bc_status correct_tooling(bc_inspection *inspection, const bc_forecast forecast[2], const lasting *l,
                                 double *correction, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    bool any = false;
    bc_status status = BC_OK;
    for (size_t j = 0; j < result->layers; j++) {
        correction[j] = is_only_one_off(inspection, &result->cause[0], j)
                            ? forecast[0].factor[j]
                            : factor_of(inspection, &result->cause[0], l, j);
        any = any || correction[j] != 1.0;
    }
    if (any) {
        status = bc_expect_gain(inspection, forecast, correction, 0.5, &result->tooling_gain, error);
        result->tooling_corrected = status == BC_OK && is_worth(&result->tooling_gain);
    }
    for (size_t j = 0; result->tooling_corrected && j < result->layers; j++) {
        bc_material_found *material = &result->material[inspection->fit.simulated.material[j]];
        material->next_tooling = material->tooling * correction[j];
    }
    return status;
}

static bc_status correct(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    const size_t layers = result->layers;
    double *memory;
    lasting l;
    bc_forecast forecast[2];
    bc_status status;
    for (size_t m = 0; m < result->materials; m++)
        result->material[m].next_tooling = result->material[m].tooling;
    result->next_because = BC_NEXT_NO_FIT;
    if (!result->good_fit)
        return BC_OK;
    memory = calloc(9 * layers + 1, sizeof *memory);
    if (memory == NULL)
        return bc_fail_memory(error);
    for (size_t k = 0; k < 2; k++)
        forecast[k] = (bc_forecast){.factor = memory + (3 * k + 1) * layers,
                                    .common = memory + (3 * k + 2) * layers,
                                    .own = memory + (3 * k + 3) * layers};
    l = (lasting){.factor = memory + 7 * layers, .sigma = memory + 8 * layers};
    find_lasting(inspection, &l);
    predict(inspection, &l, forecast);
    status = correct_stack(inspection, forecast, memory, error);
    if (status == BC_OK)
        status = correct_tooling(inspection, forecast, &l, memory, error);
    free(memory);
    return status;
}

bc_status bc_set_next_run(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    const bc_stack *design = inspection->setup->design;
    bc_status status = bc_stack_copy(design, &result->fitted, error);
    if (status == BC_OK)
        status = bc_stack_copy(design, &result->next_stack, error);
    if (status == BC_OK)
        status = bc_process_copy(inspection->setup->process, result->materials, &result->next_process, error);
    if (status != BC_OK)
        return status;
    for (size_t j = 0; j < result->layers; j++)
        result->fitted.layer[j].thickness_nm = result->layer[j].fitted_nm;
    status = correct(inspection, error);
    if (status != BC_OK)
        return status;
    for (size_t m = 0; m < result->materials; m++) {
        bc_process_row *row;
        if (result->material[m].next_tooling == result->material[m].tooling)
            continue;
        row = bc_process_own_row(&result->next_process, result->material[m].material.name);
        row->tooling = result->material[m].next_tooling;
        row->has_tooling = true;
        result->next_process.has_tooling = true;
    }
    return BC_OK;
}
