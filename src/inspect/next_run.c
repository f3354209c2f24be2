/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cause.h"
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_CORRECTION 2.0 /* a layer that is off by more was not made from this recipe */
#define CHANCE          0.01
#define DRAWS           200
#define SEED            314159

static double scatter_of(const bc_inspection *inspection, size_t j)
{
    const bc_process_row row =
        bc_process_for(inspection->setup->process, inspection->setup->design->layer[j].material.name);
    return row.thickness_sigma > 0.0 ? row.thickness_sigma : BC_USUAL_SCATTER;
}

/* How much of what random errors came to would come again: the variance beyond the process' own, once chance alone does
 * not explain it. */
static double lasting_variance(const bc_inspection *inspection)
{
    const bc_inspect_result *result = inspection->result;
    double sum = 0.0, beyond = 0.0;
    for (size_t j = 0; j < result->layers; j++) {
        const bc_layer_estimate *layer = &result->layer[j];
        const double away = layer->fitted_nm / layer->design_nm - 1.0, own = layer->sigma_nm / layer->design_nm;
        const double chance = pow(scatter_of(inspection, j), 2.0) + own * own;
        sum += away * away / chance;
        beyond += (away * away - chance) / (double)result->layers;
    }
    return sum > gsl_cdf_chisq_Qinv(CHANCE, (double)result->layers) ? fmax(0.0, beyond) : 0.0;
}

/* The best linear prediction (Henderson, Biometrics 31, 423 (1975); from memory) of what layer j will again come out
 * as, a share of what was asked, and its standard error: what the cause put in, shrunk by what the process scatters. */
static double prediction_of(const bc_inspection *inspection, size_t j, double lasting, double *sigma)
{
    const bc_inspect_result *result = inspection->result;
    const bc_cause *cause = &result->cause[0];
    const bc_layer_estimate *layer = &result->layer[j];
    const double scatter = pow(scatter_of(inspection, j), 2.0), design_nm = layer->design_nm;
    *sigma = 0.0;
    if (!result->good_fit || !(design_nm > 0.0))
        return 1.0;
    if (cause->kind == BC_CAUSE_COMMON_FACTOR || cause->kind == BC_CAUSE_MATERIAL_FACTOR) {
        const double factor = inspection->systematic_nm[j] / design_nm;
        *sigma = factor == 1.0 ? 0.0 : cause->size_sigma;
        return factor;
    }
    if (cause->kind == BC_CAUSE_LAYER && cause->layer[0] == j) {
        const double usual = pow(BC_USUAL_LAYER + BC_WEAK_NM / design_nm, 2.0), share = usual / (usual + scatter);
        *sigma = sqrt(share * scatter + cause->size_sigma * cause->size_sigma);
        return 1.0 + share * cause->size;
    }
    if (cause->kind == BC_CAUSE_RANDOM && lasting > 0.0) {
        const double own = pow(layer->sigma_nm / design_nm, 2.0), share = lasting / (lasting + scatter + own);
        *sigma = sqrt(lasting * (1.0 - share));
        return 1.0 + share * (layer->fitted_nm / design_nm - 1.0);
    }
    return 1.0;
}

/* The row of `material`, made of what holds for it when it has none of its own. */
static bc_process_row *row_for(bc_process *process, const char *material)
{
    for (size_t i = 0; i < process->rows; i++)
        if (strcmp(process->row[i].material, material) == 0)
            return &process->row[i];
    process->row[process->rows] = bc_process_for(process, material);
    return &process->row[process->rows++];
}

static bc_status copy_process(const bc_process *from, size_t more, bc_process *to, bc_error *error)
{
    const size_t rows = from == NULL ? 0 : from->rows;
    *to = from == NULL ? (bc_process){0} : *from;
    to->row = calloc(rows + more + 1, sizeof *to->row);
    if (to->row == NULL)
        return bc_fail_memory(error);
    if (rows > 0)
        memcpy(to->row, from->row, rows * sizeof *to->row);
    return BC_OK;
}

/* What a run would look like: layers as they are predicted, drawn within their errors, over the correction. */
typedef struct next_run {
    double *factor, *sigma, *draw; /* [layers] */
    double *design, *thickness_nm; /* [points], [layers] */
} next_run;

/* How far from the design's spectrum a drawn run lies, rms, corrected or as it was. */
static double distance(bc_inspection *inspection, const next_run *next, bool corrected)
{
    bc_fit *fit = &inspection->fit;
    double square = 0.0;
    for (size_t j = 0; j < fit->layers; j++)
        next->thickness_nm[j] =
            inspection->result->layer[j].design_nm * next->draw[j] / (corrected ? next->factor[j] : 1.0);
    bc_fit_look(fit, next->thickness_nm, NULL, 0.0, false);
    for (size_t i = 0; i < fit->setup.count; i++)
        square += pow(fit->model[0][i] - next->design[i], 2.0) / (double)fit->setup.count;
    return sqrt(square);
}

static void draw_runs(bc_inspection *inspection, const next_run *next, gsl_rng *random)
{
    bc_inspect_result *result = inspection->result;
    size_t better = 0;
    for (size_t i = 0; i < DRAWS; i++) {
        double as_it_was, corrected;
        for (size_t j = 0; j < result->layers; j++)
            next->draw[j] = (next->factor[j] + gsl_ran_gaussian_ziggurat(random, next->sigma[j])) *
                            (1.0 + gsl_ran_gaussian_ziggurat(random, scatter_of(inspection, j)));
        as_it_was = distance(inspection, next, false);
        corrected = distance(inspection, next, true);
        result->next_rms_as_it_was += as_it_was / DRAWS;
        result->next_rms_corrected += corrected / DRAWS;
        better += corrected < as_it_was;
    }
    result->next_better = (double)better / DRAWS;
}

static bc_status expect_gain(bc_inspection *inspection, next_run *next, bc_error *error)
{
    bc_fit *fit = &inspection->fit;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    if (random == NULL)
        return bc_fail_memory(error);
    gsl_rng_set(random, SEED);
    for (size_t j = 0; j < fit->layers; j++)
        next->thickness_nm[j] = inspection->result->layer[j].design_nm;
    bc_fit_look(fit, next->thickness_nm, NULL, 0.0, false);
    memcpy(next->design, fit->model[0], fit->setup.count * sizeof(double));
    draw_runs(inspection, next, random);
    gsl_rng_free(random);
    return BC_OK;
}

static void set_tooling(bc_inspection *inspection, double lasting)
{
    bc_inspect_result *result = inspection->result;
    const bc_cause *cause = &result->cause[0];
    for (size_t m = 0; m < result->materials; m++) {
        bc_material_found *material = &result->material[m];
        const bool named =
            cause->kind == BC_CAUSE_COMMON_FACTOR ||
            (cause->kind == BC_CAUSE_MATERIAL_FACTOR && cause->material.dispersion == material->material.dispersion);
        material->next_tooling = material->tooling;
        if (result->good_fit && named)
            material->next_tooling *= 1.0 + cause->size;
        else if (result->good_fit && cause->kind == BC_CAUSE_RANDOM && lasting > 0.0 && material->off)
            material->next_tooling *= material->factor;
    }
}

static bc_status correct(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    const size_t layers = result->layers;
    double *memory = calloc(4 * layers + inspection->fit.setup.count + 1, sizeof *memory);
    next_run next = {memory, memory + layers, memory + 2 * layers, memory + 4 * layers, memory + 3 * layers};
    const double lasting = lasting_variance(inspection);
    bc_status status = BC_OK;
    if (memory == NULL)
        return bc_fail_memory(error);
    result->next_rms_as_it_was = result->next_rms_corrected = 0.0;
    for (size_t j = 0; j < layers; j++) {
        double factor = prediction_of(inspection, j, lasting, &next.sigma[j]);
        factor = fmin(MOST_CORRECTION, fmax(1.0 / MOST_CORRECTION, factor));
        next.factor[j] = factor;
        result->corrected = result->corrected || factor != 1.0;
        result->next_stack.layer[j].thickness_nm /= factor;
    }
    set_tooling(inspection, lasting);
    if (result->corrected)
        status = expect_gain(inspection, &next, error);
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
        status = copy_process(inspection->setup->process, result->materials, &result->next_process, error);
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
        row = row_for(&result->next_process, result->material[m].material.name);
        row->tooling = result->material[m].next_tooling;
        row->has_tooling = true;
        result->next_process.has_tooling = true;
    }
    return BC_OK;
}
