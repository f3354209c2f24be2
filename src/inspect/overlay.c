/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspection.h"
#include "stencil.h"
#include <math.h>
#include <string.h>

static void compare(const bc_inspection *inspection, const bc_reading *reading, bc_overlay *overlay)
{
    const size_t first = inspection->readings.first;
    double square = 0.0, square_fitted = 0.0, used = 0.0;
    for (size_t i = 0; i < overlay->count; i++) {
        const double away = reading->value[first + i] - overlay->design[i];
        overlay->wavelength_nm[i] = reading->wavelength_nm[first + i];
        overlay->measured[i] = reading->value[first + i];
        overlay->noise[i] = reading->noise[first + i];
        overlay->systematic[i] = reading->systematic[first + i];
        overlay->from_design[i] = away;
        square += away * away;
        if (i == 0 || fabs(away) > fabs(overlay->worst)) {
            overlay->worst = away;
            overlay->worst_nm = overlay->wavelength_nm[i];
        }
        if (reading->outlier[first + i])
            continue;
        square_fitted += overlay->from_fitted[i] * overlay->from_fitted[i];
        used += 1.0;
    }
    overlay->rms = sqrt(square / (double)overlay->count);
    overlay->rms_fitted = sqrt(square_fitted / fmax(1.0, used));
}

/* The offset as a fraction: b times what all its points share, on the average; and what the fit leaves. */
static void set_offset(const bc_inspection *inspection, bc_fit *fit, const bc_reading *reading, bc_overlay *overlay)
{
    const bc_solution *solution = &inspection->solution;
    for (size_t r = 0; r < fit->setup.readings; r++) {
        const size_t at = bc_fit_place(fit, BC_SHARED_FIRST + r);
        double mean = 0.0;
        if (fit->setup.reading[r]->quantity != reading->quantity)
            continue;
        bc_fit_remainder(fit, &solution->point, r, overlay->from_fitted);
        for (size_t i = 0; fit->has[BC_SHARED_FIRST + r] && i < overlay->count; i++)
            mean += reading->systematic[inspection->readings.first + i] / (double)overlay->count;
        if (!(mean > 0.0))
            continue;
        overlay->offset = solution->point.shared[BC_SHARED_FIRST + r] * mean;
        overlay->offset_sigma = sqrt(solution->covariance[at * solution->size + at]) * mean;
        overlay->offset_prior = mean;
    }
}

/* The fitted stack's slope in wavelength; beyond the tables that of the last point they reach. */
static void set_along(const bc_readings *readings, const bc_model_spectrum *simulated, const bc_reading *reading)
{
    const size_t first = readings->first, end = first + readings->inside;
    if (!reading->measured || readings->inside < BC_STENCIL)
        return;
    bc_stencil_slope(readings->inside, readings->wavelength_nm + first,
                     bc_model_spectrum_value(simulated, reading->quantity), reading->along + first);
    for (size_t i = 0; i < readings->count; i++)
        if (i < first || i >= end)
            reading->along[i] = reading->along[i < first ? first : end - 1];
}

static void set_curve(const bc_inspection *inspection, const bc_model_spectrum *simulated, bool design)
{
    bc_inspect_result *result = inspection->result;
    if (result->R.count > 0)
        memcpy(design ? result->R.design : result->R.fitted, bc_model_spectrum_value(simulated, BC_R),
               result->R.count * sizeof(double));
    if (result->T.count > 0)
        memcpy(design ? result->T.design : result->T.fitted, bc_model_spectrum_value(simulated, BC_T),
               result->T.count * sizeof(double));
}

static bc_status refuse_impossible(const bc_model_spectrum *simulated, const double *wavelength_nm, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i < simulated->count; i++)
        status = bc_refuse_impossible(wavelength_nm[i], bc_model_spectrum_value(simulated, BC_R)[i],
                                      bc_model_spectrum_value(simulated, BC_T)[i], error);
    return status;
}

bc_status bc_set_overlays(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    bc_fit *fit = &inspection->fit;
    const bc_readings *readings = &inspection->readings;
    double square = 0.0;
    bc_status status;
    bc_fit_look(fit, inspection->solution.point.thickness_nm, inspection->solution.point.dn, 0.0, false);
    set_curve(inspection, &fit->simulated, false);
    set_along(readings, &fit->simulated, &readings->R);
    set_along(readings, &fit->simulated, &readings->T);
    for (size_t j = 0; j < fit->layers; j++)
        fit->trial.thickness_nm[j] = inspection->setup->design->layer[j].thickness_nm;
    bc_fit_look(fit, fit->trial.thickness_nm, NULL, 0.0, false);
    set_curve(inspection, &fit->simulated, true);
    status = refuse_impossible(&fit->simulated, readings->wavelength_nm + readings->first, error);
    if (status != BC_OK)
        return status;
    if (result->R.count > 0) {
        set_offset(inspection, fit, &readings->R, &result->R);
        compare(inspection, &readings->R, &result->R);
        square += result->R.rms * result->R.rms;
    }
    if (result->T.count > 0) {
        set_offset(inspection, fit, &readings->T, &result->T);
        compare(inspection, &readings->T, &result->T);
        square += result->T.rms * result->T.rms;
    }
    result->rms = sqrt(square / (result->R.count > 0 && result->T.count > 0 ? 2.0 : 1.0));
    return BC_OK;
}
