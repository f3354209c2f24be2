/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "correct.h"
#include <math.h>
#include <stdlib.h>

#define RECTANGULAR 1.7320508075688772 /* half-width over standard deviation: GUM, JCGM 100:2008, 4.3.7 */

static double value_at(const bc_model_spectrum *simulated, bc_quantity quantity, size_t i)
{
    if (quantity == BC_A)
        return 1.0 - bc_model_spectrum_value(simulated, BC_R)[i] - bc_model_spectrum_value(simulated, BC_T)[i];
    return bc_model_spectrum_value(simulated, quantity)[i];
}

static bc_status look_at(const bc_inspection *inspection, const bc_back *back, const bc_curve *curve, double aoi_rad,
                         bc_polarization polarization, bc_model_spectrum *simulated, bc_error *error)
{
    const bc_status status =
        bc_model_spectrum_open(inspection->setup->design, back, curve->count, curve->wavelength_nm, aoi_rad,
                               polarization == BC_POL_EACH ? BC_POL_UNPOLARIZED : polarization, simulated, error);
    if (status != BC_OK)
        return status;
    for (size_t m = 0; m < simulated->materials; m++)
        bc_model_spectrum_shift_index(simulated, m, inspection->dn[m]);
    bc_model_spectrum_compute(simulated, inspection->solution.point.thickness_nm, false);
    return BC_OK;
}

bc_status bc_correct_angle(const bc_inspection *inspection, const bc_back *back, const bc_callout *callout,
                           bc_curve *curve, double *largest, bc_error *error)
{
    const bc_inspect_setup *setup = inspection->setup;
    bc_model_spectrum measured = {0}, asked = {0};
    bc_status status = look_at(inspection, back, curve, setup->aoi_rad, setup->polarization, &measured, error);
    if (status == BC_OK)
        status = look_at(inspection, back, curve, callout->aoi_from_rad, callout->polarization, &asked, error);
    *largest = 0.0;
    for (size_t i = 0; status == BC_OK && i < curve->count; i++) {
        const double correction = value_at(&asked, callout->quantity, i) - value_at(&measured, callout->quantity, i);
        curve->value[i] += correction;
        curve->angle[i] = fabs(correction) / RECTANGULAR;
        curve->systematic[i] = hypot(curve->systematic[i], curve->angle[i]);
        *largest = fabs(correction) > fabs(*largest) ? correction : *largest;
    }
    bc_model_spectrum_close(&measured);
    bc_model_spectrum_close(&asked);
    return status;
}
