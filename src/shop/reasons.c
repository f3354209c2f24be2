/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reasons.h"
#include "screen.h"
#include <bloomcoat/sampling.h>
#include <math.h>

#define BROAD         1.4 /* B above which the estimate was made */
#define NEARLY_NORMAL (10.0 * M_PI / 180.0)
#define CLEARLY_MORE  0.01 /* of index */

double bc_index_at(const bc_medium *medium, double wavelength_nm)
{
    double n = NAN;
    return bc_dispersion_index(medium->dispersion, 1, &wavelength_nm, &n, NULL, NULL) == BC_OK ? n : NAN;
}

static void find_extremes(const bc_quote_request *request, double at_nm, bc_quote_result *result)
{
    bc_material_limit *limit = &result->materials;
    for (size_t m = 0; m < result->layers; m++) {
        const double n = bc_index_at(&result->layer[m], at_nm);
        if (limit->lowest == NULL || n < limit->lowest_n) {
            limit->lowest = &result->layer[m];
            limit->lowest_n = n;
        }
        if (limit->highest == NULL || n > limit->highest_n) {
            limit->highest = &result->layer[m];
            limit->highest_n = n;
        }
    }
    double lower = limit->lowest_n - CLEARLY_MORE, higher = limit->highest_n + CLEARLY_MORE;
    for (size_t m = 0; m < request->other_layers; m++) {
        const double n = bc_index_at(&request->other_layer[m], at_nm);
        bc_remark remark[BC_MOST_REMARKS];
        if (bc_screen_layer(request, &request->other_layer[m], remark) > 0 && remark[0].refused)
            continue;
        if (n < lower) {
            lower = n;
            limit->lower = &request->other_layer[m];
        }
        if (n > higher) {
            higher = n;
            limit->higher = &request->other_layer[m];
        }
    }
}

/* The mean R of the recommended design in the deciding band at normal incidence, by the verdict itself. */
static bc_status mean_residue(const bc_quote_request *request, const bc_stack *stack, const bc_callout *decisive,
                              const bc_medium *glass, double *mean, bc_error *error)
{
    const bc_design_problem *problem = request->problem;
    bc_callout callout = *decisive;
    const bc_callouts callouts = {.count = 1, .callout = &callout};
    bc_check_result check;
    bc_status status;
    callout.statistic = BC_AVERAGE;
    callout.aoi_from_rad = callout.aoi_to_rad = 0.0;
    callout.polarization = BC_POL_UNPOLARIZED;
    callout.substrate[0] = '\0';
    status = bc_check(stack, &callouts, 1, glass, &problem->back, &check, error);
    if (status != BC_OK)
        return status;
    *mean = check.finding[0].value;
    bc_check_result_clear(&check);
    return BC_OK;
}

/* Willey, Appl. Opt. 32, 5447 (1993): R% ~ (4.378 / D) (1 / T)^0.31 (exp(B - 1.4) - 1) (L - 1)^3.5. Constants, and what
 * T is counted in, from memory. */
static bc_status estimate_residue(const bc_quote_request *request, const bc_callout *decisive, const bc_medium *glass,
                                  bc_quote_result *result, bc_error *error)
{
    const bc_stack *stack = &result->option[result->recommended].stack;
    const double centre_nm = 2.0 / (1.0 / decisive->from_nm + 1.0 / decisive->to_nm);
    bc_residue *residue = &result->residue;
    double optical_nm;
    bc_status status;
    residue->bandwidth = decisive->to_nm / decisive->from_nm;
    if (!(residue->bandwidth > BROAD) || decisive->quantity != BC_R || decisive->scope != BC_SCOPE_SURFACE ||
        decisive->aoi_from_rad > NEARLY_NORMAL || stack->layers == 0 || request->problem->zones > 0)
        return BC_OK;
    status = bc_optical_thickness(stack, centre_nm, &optical_nm, error);
    if (status == BC_OK)
        status = mean_residue(request, stack, decisive, glass, &residue->mean, error);
    if (status != BC_OK)
        return status;
    residue->low_n = bc_index_at(&stack->layer[0].material, centre_nm);
    residue->high_n = result->materials.highest_n;
    residue->waves = optical_nm / centre_nm;
    residue->applies = residue->high_n > residue->low_n && residue->low_n > 1.0;
    if (residue->applies)
        residue->estimate = 0.01 * 4.378 / (residue->high_n - residue->low_n) * pow(1.0 / residue->waves, 0.31) *
                            (exp(residue->bandwidth - BROAD) - 1.0) * pow(residue->low_n - 1.0, 3.5);
    return BC_OK;
}

bc_status bc_quote_reasons(const bc_quote_request *request, bc_quote_result *result, bc_error *error)
{
    const bc_finding *finding = &result->check.finding[result->decisive_finding];
    const bc_callout *decisive = finding->callout;
    result->residue = (bc_residue){0};
    result->materials = (bc_material_limit){0};
    find_extremes(request, 2.0 / (1.0 / decisive->from_nm + 1.0 / decisive->to_nm), result);
    result->materials.normal = decisive->aoi_to_rad <= 0.0 && request->problem->zones == 0;
    return estimate_residue(request, decisive, finding->substrate, result, error);
}
