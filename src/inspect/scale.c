/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspection.h"
#include <math.h>
#include <stdlib.h>

#define STEPS 30

bc_status bc_find_scale(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    bc_fit *fit = &inspection->fit;
    const size_t layers = fit->layers;
    const double points = (double)fit->rows;
    double theta = inspection->solution.scale, sigma = NAN, in_noise;
    double *memory = calloc(3 * layers + fit->materials + 1, sizeof *memory);
    const bc_family family = {.free = 1, .base = memory, .map = memory + layers};
    bc_fit_point point = {.thickness_nm = memory + 2 * layers, .dn = memory + 3 * layers};
    bc_status status = memory == NULL ? bc_fail_memory(error) : BC_OK;
    result->scale = 1.0;
    for (size_t j = 0; status == BC_OK && j < layers; j++)
        memory[layers + j] = inspection->setup->design->layer[j].thickness_nm;
    if (status == BC_OK && layers > 0) {
        status = bc_fit_minimize(fit, &family, &theta, &sigma, STEPS, &point, error);
        if (status == BC_OK) {
            bc_fit_residual(fit, &point, &result->scale_rms, &in_noise);
            result->scale = fabs(theta);
            /* sigma is in terms of the noise as the fit took it; what one factor leaves may be more. */
            result->scale_sigma = sigma * fmax(1.0, sqrt(point.chi_squared / fmax(1.0, points - 1.0)));
        }
    }
    free(memory);
    return status;
}
