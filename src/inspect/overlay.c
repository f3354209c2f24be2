/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspection.h"
#include <math.h>
#include <string.h>

static void compare(const bc_inspection *inspection, const bc_reading *reading, bc_overlay *overlay)
{
    const size_t first = inspection->readings.first;
    double square = 0.0, square_fitted = 0.0;
    for (size_t i = 0; i < overlay->count; i++) {
        const double away = reading->value[first + i] - overlay->design[i];
        overlay->wavelength_nm[i] = reading->wavelength_nm[first + i];
        overlay->measured[i] = reading->value[first + i];
        overlay->noise[i] = reading->noise[first + i];
        overlay->systematic[i] = reading->systematic[first + i];
        overlay->from_design[i] = away;
        overlay->from_fitted[i] = overlay->measured[i] - overlay->fitted[i];
        square += away * away;
        if (i == 0 || fabs(away) > fabs(overlay->worst)) {
            overlay->worst = away;
            overlay->worst_nm = overlay->wavelength_nm[i];
        }
    }
    for (size_t i = 0; i < overlay->count; i++) {
        overlay->from_fitted[i] -= overlay->offset;
        square_fitted += overlay->from_fitted[i] * overlay->from_fitted[i];
    }
    overlay->rms = sqrt(square / (double)overlay->count);
    overlay->rms_fitted = sqrt(square_fitted / (double)overlay->count);
}

/* The offset as a fraction: b times what all its points share, on the average. */
static void set_offset(const bc_inspection *inspection, const bc_reading *reading, bc_overlay *overlay)
{
    const bc_fit *fit = &inspection->fit;
    const bc_solution *solution = &inspection->solution;
    size_t at = fit->layers + (fit->setup.fit_index ? fit->materials : 0);
    for (size_t r = 0; r < fit->setup.readings; r++) {
        double mean = 0.0;
        if (fit->has_offset[r] && fit->setup.reading[r]->quantity == reading->quantity) {
            for (size_t i = 0; i < overlay->count; i++)
                mean += reading->systematic[inspection->readings.first + i] / (double)overlay->count;
            overlay->offset = solution->point.offset[r] * mean;
            overlay->offset_sigma = sqrt(solution->covariance[at * solution->size + at]) * mean;
        }
        at += fit->has_offset[r];
    }
}

static void set_curve(const bc_inspection *inspection, const bc_sight *sight, bool design)
{
    bc_inspect_result *result = inspection->result;
    if (result->R.count > 0)
        memcpy(design ? result->R.design : result->R.fitted, bc_sight_value(sight, BC_R),
               result->R.count * sizeof(double));
    if (result->T.count > 0)
        memcpy(design ? result->T.design : result->T.fitted, bc_sight_value(sight, BC_T),
               result->T.count * sizeof(double));
}

static bc_status refuse_impossible(const bc_sight *sight, const double *wavelength_nm, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i < sight->count; i++)
        status = bc_refuse_impossible(wavelength_nm[i], bc_sight_value(sight, BC_R)[i], bc_sight_value(sight, BC_T)[i],
                                      error);
    return status;
}

bc_status bc_set_overlays(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    bc_fit *fit = &inspection->fit;
    const bc_readings *readings = &inspection->readings;
    double square = 0.0;
    const bc_reading *reading = readings->R.count > 0 ? &readings->R : &readings->T;
    bc_status status;
    bc_fit_look(fit, inspection->solution.point.thickness_nm, inspection->solution.point.dn, false);
    set_curve(inspection, &fit->sight, false);
    for (size_t j = 0; j < fit->layers; j++)
        fit->trial.thickness_nm[j] = inspection->setup->design->layer[j].thickness_nm;
    bc_fit_look(fit, fit->trial.thickness_nm, NULL, false);
    set_curve(inspection, &fit->sight, true);
    status = refuse_impossible(&fit->sight, reading->wavelength_nm + readings->first, error);
    if (status != BC_OK)
        return status;
    if (result->R.count > 0) {
        set_offset(inspection, &readings->R, &result->R);
        compare(inspection, &readings->R, &result->R);
        square += result->R.rms * result->R.rms;
    }
    if (result->T.count > 0) {
        set_offset(inspection, &readings->T, &result->T);
        compare(inspection, &readings->T, &result->T);
        square += result->T.rms * result->T.rms;
    }
    result->rms = sqrt(square / (result->R.count > 0 && result->T.count > 0 ? 2.0 : 1.0));
    return BC_OK;
}
