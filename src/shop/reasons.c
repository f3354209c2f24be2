/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reasons.h"
#include "screen.h"
#include <math.h>

#define CLEARLY_MORE 0.01 /* of index */

double bc_index_at(const bc_medium *medium, double wavelength_nm)
{
    double n = NAN;
    return bc_dispersion_index(medium->dispersion, 1, &wavelength_nm, &n, NULL, NULL) == BC_OK ? n : NAN;
}

double bc_middle_nm(const bc_callout *callout)
{
    return 2.0 / (1.0 / callout->from_nm + 1.0 / callout->to_nm);
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
    if (limit->lowest == NULL) /* every layer is refused */
        return;
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

void bc_quote_reasons(const bc_quote_request *request, bc_quote_result *result)
{
    const bc_callout *decisive = result->check.finding[result->decisive_finding].callout;
    result->materials = (bc_material_limit){0};
    find_extremes(request, bc_middle_nm(decisive), result);
    result->materials.normal = decisive->aoi_to_rad <= 0.0 && request->problem->zones == 0;
}
