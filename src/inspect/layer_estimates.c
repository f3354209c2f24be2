/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "parts.h"
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define KNOWN_SHARE 0.025 /* of a thickness, and */
#define KNOWN_NM    0.2
#define CHANCE      0.01
#define HALVINGS    40
#define TURNS       20
#define NO_MATTER   5e-4 /* of a thickness: no chamber is set finer */

static double sigma_of(const bc_inspection *inspection, size_t variable)
{
    const bc_solution *solution = &inspection->solution;
    return sqrt(solution->covariance[variable * solution->size + variable]);
}

/* The factor all layers but one share, each weighted by what is known of it. */
static double factor_of_others(const bc_inspect_result *result, size_t but)
{
    double sum = 0.0, weights = 0.0;
    for (size_t j = 0; j < result->layers; j++) {
        const bc_layer_estimate *layer = &result->layer[j];
        const double relative = layer->sigma_nm / layer->design_nm;
        if (j == but || !layer->known || !(layer->design_nm > 0.0))
            continue;
        sum += layer->fitted_nm / layer->design_nm / (relative * relative);
        weights += 1.0 / (relative * relative);
    }
    return weights > 0.0 ? sum / weights : 1.0;
}

bc_status bc_tell_layers(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    const bc_solution *solution = &inspection->solution;
    const double z = gsl_cdf_ugaussian_Qinv(0.5 * CHANCE / (double)(result->layers + (result->layers == 0)));
    bc_fit_inputs inputs;
    double *slope = calloc(solution->size + 1, sizeof *slope);
    bc_status status = bc_fit_inputs_open(&inspection->fit, solution, &inputs, error);
    if (slope == NULL && status == BC_OK)
        status = bc_fail_memory(error);
    for (size_t j = 0; status == BC_OK && j < result->layers; j++) {
        bc_layer_estimate *layer = &result->layer[j];
        slope[j] = 1.0;
        bc_fit_inputs_share(&inputs, slope, layer->part_nm);
        slope[j] = 0.0;
        layer->design_nm = inspection->setup->design->layer[j].thickness_nm;
        layer->fitted_nm = solution->point.thickness_nm[j];
        layer->sigma_nm = sigma_of(inspection, j);
        layer->known = layer->sigma_nm <= KNOWN_SHARE * layer->design_nm + KNOWN_NM;
        layer->group = SIZE_MAX;
        layer->off = layer->known && fabs(layer->fitted_nm - layer->design_nm) >
                                         fmax(z * layer->sigma_nm, NO_MATTER * layer->design_nm);
        for (size_t i = 0; i < result->layers; i++)
            result->covariance[j * result->layers + i] = solution->covariance[j * solution->size + i];
    }
    for (size_t j = 0; j < result->layers; j++)
        result->layer[j].beyond =
            result->layer[j].fitted_nm / (result->layer[j].design_nm * factor_of_others(result, j)) - 1.0;
    memcpy(inspection->dn, solution->point.dn, result->materials * sizeof(double));
    bc_fit_inputs_close(&inputs);
    free(slope);
    return status;
}

/* What the factors of the materials are made from. */
typedef struct factors {
    const bc_inspect_result *result;
    const unsigned *material;
    double *scatter;        /* [materials] of the layers of one material among themselves, a fraction */
    gsl_matrix *weight;     /* [layers] */
    gsl_matrix *covariance; /* [materials] */
    gsl_vector *right, *factor;
} factors;

static void close_factors(factors *f)
{
    free(f->scatter);
    gsl_matrix_free(f->weight);
    gsl_matrix_free(f->covariance);
    gsl_vector_free(f->right);
    gsl_vector_free(f->factor);
}

static bc_status open_factors(const bc_inspection *inspection, factors *f, bc_error *error)
{
    const bc_inspect_result *result = inspection->result;
    *f = (factors){.result = result, .material = inspection->fit.simulated.material};
    f->scatter = calloc(result->materials, sizeof *f->scatter);
    f->weight = gsl_matrix_alloc(result->layers, result->layers);
    f->covariance = gsl_matrix_alloc(result->materials, result->materials);
    f->right = gsl_vector_alloc(result->materials);
    f->factor = gsl_vector_alloc(result->materials);
    if (f->scatter != NULL && f->weight != NULL && f->covariance != NULL && f->right != NULL && f->factor != NULL)
        return BC_OK;
    close_factors(f);
    return bc_fail_memory(error);
}

/* Least squares for one factor per material, with the covariance of the layers and their scatter. */
static bool weigh(factors *f)
{
    const bc_inspect_result *result = f->result;
    gsl_matrix_set_zero(f->covariance);
    gsl_vector_set_zero(f->right);
    for (size_t i = 0; i < result->layers; i++)
        for (size_t k = 0; k < result->layers; k++) {
            const double own = i == k ? f->scatter[f->material[i]] * result->layer[i].design_nm : 0.0;
            gsl_matrix_set(f->weight, i, k, result->covariance[i * result->layers + k] + own * own);
        }
    if (gsl_linalg_cholesky_decomp1(f->weight) != GSL_SUCCESS || gsl_linalg_cholesky_invert(f->weight) != GSL_SUCCESS)
        return false;
    for (size_t i = 0; i < result->layers; i++)
        for (size_t k = 0; k < result->layers; k++) {
            const double w = gsl_matrix_get(f->weight, i, k) * result->layer[i].design_nm;
            *gsl_vector_ptr(f->right, f->material[i]) += w * result->layer[k].fitted_nm;
            *gsl_matrix_ptr(f->covariance, f->material[i], f->material[k]) += w * result->layer[k].design_nm;
        }
    return gsl_linalg_cholesky_decomp1(f->covariance) == GSL_SUCCESS &&
           gsl_linalg_cholesky_solve(f->covariance, f->right, f->factor) == GSL_SUCCESS &&
           gsl_linalg_cholesky_invert(f->covariance) == GSL_SUCCESS;
}

/* Squares of the layers of one material, each over its own variance and the scatter's; and how many layers there are.
 */
static double disagreement(const factors *f, size_t m, double scatter, size_t *layers)
{
    const double factor = gsl_vector_get(f->factor, m);
    double sum = 0.0;
    *layers = 0;
    for (size_t j = 0; j < f->result->layers; j++) {
        const bc_layer_estimate *layer = &f->result->layer[j];
        const double away = layer->fitted_nm - factor * layer->design_nm;
        if (f->material[j] != m)
            continue;
        sum += away * away / (layer->sigma_nm * layer->sigma_nm + pow(scatter * layer->design_nm, 2.0));
        ++*layers;
    }
    return sum;
}

/* The scatter with which a material's layers agree as well as chance would have them do. */
static double scatter_of(const factors *f, size_t m)
{
    size_t layers;
    double low = 0.0, high = 1.0;
    const double unexplained = disagreement(f, m, 0.0, &layers);
    if (layers < 2 || unexplained <= (double)(layers - 1))
        return 0.0;
    for (int i = 0; i < HALVINGS; i++) {
        const double middle = 0.5 * (low + high);
        if (disagreement(f, m, middle, &layers) > (double)(layers - 1))
            low = middle;
        else
            high = middle;
    }
    return high;
}

static void judge_material(const bc_inspection *inspection, const factors *f, size_t m)
{
    bc_material_found *found = &inspection->result->material[m];
    const bc_process_row row = bc_process_for(inspection->setup->process, found->material.name);
    size_t layers;
    double limit = gsl_cdf_ugaussian_Qinv(0.5 * CHANCE);
    found->factor = gsl_vector_get(f->factor, m);
    found->factor_sigma = sqrt(gsl_matrix_get(f->covariance, m, m));
    disagreement(f, m, 0.0, &layers);
    if (layers > 1 && f->scatter[m] > 0.0)
        limit = gsl_cdf_tdist_Qinv(0.5 * CHANCE, (double)(layers - 1));
    else if (layers == 1)
        found->factor_sigma = hypot(found->factor_sigma, row.thickness_sigma);
    found->off = fabs(found->factor - 1.0) > fmax(limit * found->factor_sigma, NO_MATTER);
    found->tooling_known = row.has_tooling;
    found->tooling = row.tooling;
    found->next_tooling = row.tooling;
}

/* Factors and scatter of all materials, in turns until they have settled. */
static void settle_factors(factors *f)
{
    bool done = weigh(f);
    for (int turn = 0; done && turn < TURNS; turn++) {
        for (size_t m = 0; m < f->result->materials; m++)
            f->scatter[m] = scatter_of(f, m);
        done = weigh(f);
    }
    if (!done) {
        gsl_vector_set_all(f->factor, 1.0);
        gsl_matrix_set_identity(f->covariance);
    }
}

bc_status bc_tell_materials(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    const bc_fit *fit = &inspection->fit;
    factors f;
    bc_status status;
    if (result->materials == 0)
        return BC_OK;
    status = open_factors(inspection, &f, error);
    if (status != BC_OK)
        return status;
    settle_factors(&f);
    for (size_t m = 0; m < result->materials; m++) {
        bc_material_found *found = &result->material[m];
        found->material = *fit->simulated.medium[m];
        if (fit->has_index) {
            found->dn = inspection->dn[m];
            found->dn_sigma = sigma_of(inspection, result->layers + m);
        }
        judge_material(inspection, &f, m);
    }
    close_factors(&f);
    return BC_OK;
}
