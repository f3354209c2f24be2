/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspection.h"
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
#define NO_MATTER   5e-4 /* of a thickness: no chamber is set finer */

static double sigma_of(const bc_inspection *inspection, size_t variable)
{
    const bc_solution *solution = &inspection->solution;
    return sqrt(solution->covariance[variable * solution->size + variable]);
}

/* The factor all films but one share, each weighted by what is known of it. */
static double factor_of_others(const bc_inspect_result *result, size_t but)
{
    double sum = 0.0, weights = 0.0;
    for (size_t j = 0; j < result->films; j++) {
        const bc_film_found *film = &result->film[j];
        const double relative = film->sigma_nm / film->design_nm;
        if (j == but || !film->known || !(film->design_nm > 0.0))
            continue;
        sum += film->fitted_nm / film->design_nm / (relative * relative);
        weights += 1.0 / (relative * relative);
    }
    return weights > 0.0 ? sum / weights : 1.0;
}

bc_status bc_tell_films(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    const bc_solution *solution = &inspection->solution;
    const double z = gsl_cdf_ugaussian_Qinv(0.5 * CHANCE / (double)(result->films + (result->films == 0)));
    (void)error;
    for (size_t j = 0; j < result->films; j++) {
        bc_film_found *film = &result->film[j];
        film->design_nm = inspection->setup->design->film[j].thickness_nm;
        film->fitted_nm = solution->point.thickness_nm[j];
        film->sigma_nm = sigma_of(inspection, j);
        film->known = film->sigma_nm <= KNOWN_SHARE * film->design_nm + KNOWN_NM;
        film->group = SIZE_MAX;
        film->off = film->known &&
                    fabs(film->fitted_nm - film->design_nm) > fmax(z * film->sigma_nm, NO_MATTER * film->design_nm);
        for (size_t i = 0; i < result->films; i++)
            result->covariance[j * result->films + i] = solution->covariance[j * solution->size + i];
    }
    for (size_t j = 0; j < result->films; j++)
        result->film[j].beyond =
            result->film[j].fitted_nm / (result->film[j].design_nm * factor_of_others(result, j)) - 1.0;
    memcpy(inspection->dn, solution->point.dn, result->materials * sizeof(double));
    return BC_OK;
}

/* Least squares for one factor per material, with the covariance of the films: factors and their covariance. */
static bc_status weigh(const bc_inspection *inspection, gsl_matrix *inverse, gsl_vector *factor, bc_error *error)
{
    const bc_inspect_result *result = inspection->result;
    const unsigned *material = inspection->fit.sight.material;
    const size_t films = result->films;
    gsl_matrix *weight = gsl_matrix_alloc(films, films);
    gsl_vector *right = gsl_vector_calloc(result->materials);
    bc_status status = weight == NULL || right == NULL ? bc_fail_memory(error) : BC_OK;
    if (status == BC_OK) {
        gsl_matrix_set_zero(inverse);
        for (size_t i = 0; i < films * films; i++)
            weight->data[i] = result->covariance[i];
        if (gsl_linalg_cholesky_decomp1(weight) != GSL_SUCCESS || gsl_linalg_cholesky_invert(weight) != GSL_SUCCESS)
            gsl_matrix_set_identity(weight);
        for (size_t i = 0; i < films; i++)
            for (size_t k = 0; k < films; k++) {
                const double w = gsl_matrix_get(weight, i, k) * result->film[i].design_nm;
                *gsl_vector_ptr(right, material[i]) += w * result->film[k].fitted_nm;
                *gsl_matrix_ptr(inverse, material[i], material[k]) += w * result->film[k].design_nm;
            }
        if (gsl_linalg_cholesky_decomp1(inverse) != GSL_SUCCESS ||
            gsl_linalg_cholesky_solve(inverse, right, factor) != GSL_SUCCESS ||
            gsl_linalg_cholesky_invert(inverse) != GSL_SUCCESS)
            gsl_vector_set_all(factor, 1.0);
    }
    gsl_matrix_free(weight);
    gsl_vector_free(right);
    return status;
}

/* How much more the films of one material differ than their errors explain (Birge, Phys. Rev. 40, 207 (1932)): a run
 * that hits one film and misses the next does not ask for another tooling. */
static double disagreement(const bc_inspect_result *result, const unsigned *material, size_t m, double factor,
                           size_t *films)
{
    double sum = 0.0;
    *films = 0;
    for (size_t j = 0; j < result->films; j++) {
        const bc_film_found *film = &result->film[j];
        const double away = (film->fitted_nm - factor * film->design_nm) / film->sigma_nm;
        if (material[j] == m) {
            sum += away * away;
            ++*films;
        }
    }
    return *films > 1 ? sqrt(sum / (double)(*films - 1)) : 1.0;
}

static void judge_material(const bc_inspection *inspection, size_t m, double factor, double sigma)
{
    bc_inspect_result *result = inspection->result;
    bc_material_found *found = &result->material[m];
    const bc_process_row row = bc_process_for(inspection->setup->process, found->material.name);
    size_t films;
    const double scatter = disagreement(result, inspection->fit.sight.material, m, factor, &films);
    double limit = gsl_cdf_ugaussian_Qinv(0.5 * CHANCE);
    found->factor = factor;
    found->factor_sigma = sigma * fmax(1.0, scatter);
    if (films > 1 && scatter > 1.0)
        limit = gsl_cdf_tdist_Qinv(0.5 * CHANCE, (double)(films - 1));
    else if (films == 1)
        found->factor_sigma = hypot(sigma, row.thickness_sigma); /* one film's own error looks like a tooling */
    found->off = fabs(factor - 1.0) > fmax(limit * found->factor_sigma, NO_MATTER);
    found->tooling_known = row.has_tooling;
    found->tooling = row.tooling;
    found->next_tooling = found->off && result->good_fit ? row.tooling * factor : row.tooling;
}

bc_status bc_tell_materials(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    const bc_fit *fit = &inspection->fit;
    gsl_matrix *covariance;
    gsl_vector *factor;
    bc_status status;
    if (result->materials == 0)
        return BC_OK;
    covariance = gsl_matrix_alloc(result->materials, result->materials);
    factor = gsl_vector_alloc(result->materials);
    status =
        covariance == NULL || factor == NULL ? bc_fail_memory(error) : weigh(inspection, covariance, factor, error);
    for (size_t m = 0; status == BC_OK && m < result->materials; m++) {
        bc_material_found *found = &result->material[m];
        found->material = *fit->sight.medium[m];
        if (fit->setup.fit_index) {
            found->dn = inspection->dn[m];
            found->dn_sigma = sigma_of(inspection, result->films + m);
        }
        judge_material(inspection, m, gsl_vector_get(factor, m), sqrt(gsl_matrix_get(covariance, m, m)));
    }
    gsl_matrix_free(covariance);
    gsl_vector_free(factor);
    return status;
}
