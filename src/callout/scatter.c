/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/scatter.h>
#include <math.h>

#define MATTERS 0.1 /* of the margin */

/* 1 - exp(-x^2) without cancellation where it is small. */
static double share(double phase)
{
    return -expm1(-phase * phase);
}

double bc_scatter_reflected(double rms_nm, double wavelength_nm, double n0, double aoi_rad)
{
    return share(4.0 * M_PI * n0 * rms_nm * cos(aoi_rad) / wavelength_nm);
}

double bc_scatter_transmitted(double rms_nm, double wavelength_nm, double n0, double ns, double aoi_rad)
{
    const double along = n0 * sin(aoi_rad);
    const double inside = sqrt(fmax(ns * ns - along * along, 0.0));
    return share(2.0 * M_PI * rms_nm * (inside - n0 * cos(aoi_rad)) / wavelength_nm);
}

bc_status bc_scatter_shares(const bc_stack *stack, const bc_medium *substrate, double rms_nm, double wavelength_nm,
                            double aoi_rad, double *reflected, double *transmitted, bc_error *error)
{
    double n0, ns;
    bc_status status = bc_dispersion_index(stack->incident.dispersion, 1, &wavelength_nm, &n0, NULL, error);
    if (status == BC_OK)
        status = bc_dispersion_index(substrate->dispersion, 1, &wavelength_nm, &ns, NULL, error);
    if (status != BC_OK)
        return status;
    *reflected = bc_scatter_reflected(rms_nm, wavelength_nm, n0, aoi_rad);
    *transmitted = bc_scatter_transmitted(rms_nm, wavelength_nm, n0, ns, aoi_rad);
    return BC_OK;
}

/* R and T of the smooth surface at the row's worst point are not kept in a finding: what of them it does not say is
 * taken as all that is left, the most it can be. */
static double change_of(const bc_finding *finding, const bc_scatter *scatter)
{
    const bool part = finding->callout->scope == BC_SCOPE_PART;
    const double passes = 1.0 - scatter->transmitted, left = 1.0 - finding->value;
    const double of_R = part ? 1.0 - (1.0 - scatter->reflected) * passes * passes : scatter->reflected;
    const double of_T = part ? 1.0 - passes * passes : scatter->transmitted;
    if (finding->callout->quantity == BC_R)
        return of_R * finding->value;
    if (finding->callout->quantity == BC_T)
        return of_T * finding->value;
    return fmax(of_R, of_T) * fmax(left, 0.0);
}

bc_status bc_scatter_of(const bc_stack *stack, const bc_finding *finding, double rms_nm, bc_scatter *scatter,
                        bc_error *error)
{
    const bc_callout *callout = finding->callout;
    const double at_nm = callout->statistic == BC_AVERAGE ? callout->from_nm : finding->at_nm;
    const bc_status status = bc_scatter_shares(stack, finding->substrate, rms_nm, at_nm, finding->at_aoi_rad,
                                               &scatter->reflected, &scatter->transmitted, error);
    if (status != BC_OK)
        return status;
    scatter->at_nm = at_nm;
    scatter->change = change_of(finding, scatter);
    scatter->margin = callout->sense == BC_AT_MOST ? callout->limit - finding->value : finding->value - callout->limit;
    scatter->matters = scatter->change > MATTERS * fabs(scatter->margin);
    return BC_OK;
}
