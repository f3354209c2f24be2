/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspection.h"
#include <math.h>
#include <stdlib.h>

#define GOOD_RESIDUAL 2.0  /* times the noise */
#define GOOD_RMS      1e-4 /* 0.01 %, or the instrument's standard uncertainty where that is more */
#define GOOD_SHARE    0.5  /* of the scan's shape, or */
#define GOOD_LEVEL    0.05 /* of its level, where the noise is not the measure */
#define GOOD_OFFSET   4.0  /* standard uncertainties */

void bc_find_most_left(bc_inspection *inspection)
{
    const bc_fit_setup *setup = &inspection->fit.setup;
    double shape = 0.0, level = 0.0;
    for (size_t r = 0; r < setup->readings; r++) {
        const double *value = setup->reading[r]->value + setup->first;
        double mean = 0.0;
        for (size_t i = 0; i < setup->count; i++)
            mean += value[i] / (double)setup->count;
        for (size_t i = 0; i < setup->count; i++)
            shape += pow(value[i] - mean, 2.0) / (double)inspection->fit.rows;
        level += pow(fmin(mean, 1.0 - mean), 2.0) / (double)setup->readings;
    }
    inspection->most_left = fmax(GOOD_SHARE * sqrt(shape), GOOD_LEVEL * sqrt(level));
}

bool bc_is_good_fit(const bc_inspection *inspection, const bc_solution *solution)
{
    const bc_readings *readings = &inspection->readings;
    double uncertainty = GOOD_RMS;
    for (size_t i = readings->first; i < readings->first + readings->inside; i++)
        uncertainty = fmax(uncertainty, fmax(readings->R.systematic[i], readings->T.systematic[i]));
    /* An offset that the instrument does not have can hide a wrong back; what is left of a loss may look like one. */
    for (size_t r = 0; r < 2 && inspection->result->absorption.shape == BC_ABSORPTION_NONE; r++)
        if (fabs(solution->point.shared[BC_SHARED_FIRST + r]) > GOOD_OFFSET)
            return false;
    return solution->residual <= GOOD_RESIDUAL ||
           solution->rms <= fmax(GOOD_RMS, fmin(uncertainty, inspection->most_left));
}

bc_fit_setup bc_fit_setup_of(const bc_inspection *inspection)
{
    const bc_inspect_setup *setup = inspection->setup;
    const bc_readings *readings = &inspection->readings;
    bc_fit_setup fit = {.stack = setup->design,
                        .back = &setup->back,
                        .aoi_rad = setup->aoi_rad,
                        .polarization = setup->polarization,
                        .first = readings->first,
                        .count = readings->inside,
                        .process = setup->process,
                        .weak = true,
                        .fit_index = setup->fit_index,
                        .wavelength_sigma_nm = setup->wavelength_uncertainty_nm / setup->coverage_factor,
                        .scale_sigma = setup->scale_uncertainty / setup->coverage_factor};
    const bc_reading *const reading[] = {&readings->R, &readings->T};
    for (size_t r = 0; r < 2; r++)
        if (reading[r]->measured) {
            fit.seen_as[fit.readings] = reading[r]->quantity;
            fit.reading[fit.readings++] = reading[r];
        }
    return fit;
}

/* Look at the noise again with the signal taken out, and at the errors with that. */
static bc_status settle_noise(bc_inspection *inspection, bc_error *error)
{
    bc_fit *fit = &inspection->fit;
    bc_reading *const reading[] = {&inspection->readings.R, &inspection->readings.T};
    double *remainder = calloc(fit->setup.count, sizeof *remainder);
    if (remainder == NULL)
        return bc_fail_memory(error);
    for (size_t r = 0; r < fit->setup.readings; r++)
        for (size_t q = 0; q < 2; q++)
            if (fit->setup.reading[r]->quantity == reading[q]->quantity && reading[q]->measured) {
                bc_fit_remainder(fit, &inspection->solution.point, r, remainder);
                bc_readings_noise_of(&inspection->readings, reading[q], remainder);
            }
    free(remainder);
    bc_fit_residual(fit, &inspection->solution.point, &inspection->solution.rms, &inspection->solution.residual);
    return BC_OK;
}

bc_status bc_fit_again(bc_inspection *inspection, const bc_fit_setup *setup, bc_error *error)
{
    bc_status status;
    bc_solution_clear(&inspection->solution);
    inspection->result->fits += inspection->fit.fits;
    bc_fit_close(&inspection->fit);
    status = bc_fit_open(setup, &inspection->fit, error);
    if (status == BC_OK)
        status = bc_solve(&inspection->fit, &inspection->solution, error);
    if (status == BC_OK)
        status = settle_noise(inspection, error);
    if (status == BC_OK)
        status = bc_solve_errors(&inspection->fit, &inspection->solution, error);
    return status;
}
