/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "doubt.h"
#include <gsl/gsl_cdf.h>
#include <math.h>

#define A_LITTLE 1.001 /* more than a step */

static const bc_reading *reading_of(const bc_inspection *inspection, const bc_callout *callout)
{
    return callout->quantity == BC_T ? &inspection->readings.T : &inspection->readings.R;
}

/* An outlier that would not be accepted by itself; or one beside the value that decides, which is only said. */
static bc_undecided doubt_outliers(const bc_inspection *inspection, const bc_smooth *smooth, const bc_curve *curve,
                                   const double *stretch, bc_inspect_finding *finding)
{
    const bc_callout *callout = finding->callout;
    const bc_readings *readings = &inspection->readings;
    const bc_reading *reading = reading_of(inspection, callout);
    const double *smoothed = smooth->value[callout->quantity == BC_T ? 1 : 0];
    const double z = gsl_cdf_ugaussian_Pinv(inspection->setup->confidence), beside = A_LITTLE * finding->widest_step_nm;
    for (size_t i = 0; i < curve->count; i++) {
        const size_t at = readings->first + i;
        const double nm = curve->wavelength_nm[i];
        if (!reading->outlier[at] || nm < callout->from_nm - beside || nm > callout->to_nm + beside)
            continue;
        const double value = curve->value[i] + stretch[i] * (reading->value[at] - smoothed[i]);
        const double slack = callout->sense == BC_AT_MOST ? callout->limit - value : value - callout->limit;
        const bool decides = slack < z * hypot(stretch[i] * reading->noise[at], curve->systematic[i]);
        if (decides || fabs(nm - finding->at_nm) <= beside) {
            finding->doubt_nm = nm;
            finding->doubt_value = value;
        }
        if (decides)
            return BC_UNDECIDED_OUTLIER;
    }
    return BC_DECIDED;
}

static bc_undecided doubt_missing(const bc_inspection *inspection, bc_inspect_finding *finding)
{
    const bc_readings *readings = &inspection->readings;
    for (size_t i = 0; i < readings->missing; i++) {
        const double nm = readings->missing_nm[i];
        if (nm < finding->callout->from_nm || nm > finding->callout->to_nm ||
            !(fabs(nm - finding->at_nm) <= A_LITTLE * finding->widest_step_nm))
            continue;
        finding->doubt_nm = nm;
        return BC_UNDECIDED_MISSING;
    }
    return BC_DECIDED;
}

bc_undecided bc_find_doubt(const bc_inspection *inspection, const bc_smooth *smooth, const bc_curve *curve,
                           const double *stretch, bc_inspect_finding *finding)
{
    bc_undecided reason = BC_DECIDED;
    if (finding->judged == BC_JUDGED_CURVE)
        reason = doubt_outliers(inspection, smooth, curve, stretch, finding);
    if (reason == BC_DECIDED && finding->callout->statistic == BC_EXTREME)
        reason = doubt_missing(inspection, finding);
    return reason;
}

void bc_take_worse_of_outliers(const bc_inspection *inspection, const bc_callout *callout, size_t first,
                               bc_curve *curve)
{
    const bc_readings *readings = &inspection->readings;
    const bc_inspect_result *result = inspection->result;
    const bc_overlay *const overlay[] = {&result->R, &result->T};
    for (size_t q = 0; q < 2; q++) {
        const bc_reading *reading = q == 0 ? &readings->R : &readings->T;
        const double sign = callout->quantity == BC_A ? -1.0 : 1.0;
        if (!reading->measured || (callout->quantity != BC_A && callout->quantity != reading->quantity))
            continue;
        for (size_t i = 0; i < overlay[q]->count; i++) {
            const size_t at = readings->first + i;
            const double better = (callout->sense == BC_AT_MOST ? 1.0 : -1.0) * sign * overlay[q]->from_fitted[i];
            if (reading->outlier[at] && better < 0.0)
                curve->value[at - first] -= sign * overlay[q]->from_fitted[i];
        }
    }
}
