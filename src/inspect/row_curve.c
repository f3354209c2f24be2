/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "correct.h"
#include "doubt.h"
#include "row_verdict.h"
#include <math.h>

/* Everything that the wavelengths of a value share: the reading's own, its scale, its wavelength. */
static double systematic_of(const bc_row_verdict *d, const bc_reading *reading, size_t i)
{
    const bc_inspect_setup *setup = d->inspection->setup;
    const double k = setup->coverage_factor;
    const double scale = reading->quantity == BC_R ? setup->scale_uncertainty / k * reading->value[i] : 0.0;
    return hypot(reading->systematic[i], hypot(scale, setup->wavelength_uncertainty_nm / k * reading->along[i]));
}

void bc_row_take_values(bc_row_verdict *d, size_t first, size_t count)
{
    const bc_readings *readings = &d->inspection->readings;
    const bc_reading *reading = d->callout->quantity == BC_T ? &readings->T : &readings->R;
    d->curve.count = count;
    d->curve.wavelength_nm = readings->wavelength_nm + first;
    d->curve.freedom = reading->summary.freedom;
    for (size_t i = 0; i < count; i++) {
        d->curve.value[i] = reading->value[first + i];
        d->curve.random[i] = reading->noise[first + i];
        d->curve.systematic[i] = systematic_of(d, reading, first + i);
        d->curve.angle[i] = 0.0;
        if (d->callout->quantity == BC_A) {
            d->curve.value[i] = 1.0 - reading->value[first + i] - readings->T.value[first + i];
            d->curve.random[i] = hypot(reading->noise[first + i], readings->T.noise[first + i]);
            d->curve.systematic[i] = hypot(d->curve.systematic[i], systematic_of(d, &readings->T, first + i));
        }
    }
    if (d->callout->quantity == BC_A)
        d->curve.freedom = fmin(reading->summary.freedom, readings->T.summary.freedom);
}

bc_status bc_row_set_curve(bc_row_verdict *d, bc_error *error)
{
    const bc_readings *readings = &d->inspection->readings;
    const bc_inspect_setup *setup = d->inspection->setup;
    const bool corrected = d->match.remove_back || d->match.correct_angle || d->finding->judged == BC_JUDGED_CURVE;
    bc_status status = BC_OK;
    bc_row_take_values(d, corrected ? readings->first : 0, corrected ? readings->inside : readings->count);
    if (d->match.remove_back)
        status = bc_remove_back(d->inspection, d->callout->quantity, &d->curve, error);
    if (status == BC_OK && d->match.correct_angle)
        status = bc_correct_angle(d->inspection, d->callout->scope == BC_SCOPE_PART ? &setup->back : NULL, d->callout,
                                  &d->curve, &d->finding->largest_correction, error);
    if (status == BC_OK && d->finding->judged == BC_JUDGED_AVERAGE)
        bc_take_worse_of_outliers(d->inspection, d->callout, corrected ? readings->first : 0, &d->curve);
    d->finding->back_removed = d->match.remove_back;
    d->finding->angle_corrected = d->match.correct_angle;
    return status;
}

void bc_row_choose_way(bc_row_verdict *d)
{
    const bc_readings *readings = &d->inspection->readings;
    const double first = readings->wavelength_nm[readings->first];
    const double last = readings->wavelength_nm[readings->first + readings->inside - 1];
    bc_inspect_finding *finding = d->finding;
    finding->judged = d->callout->statistic == BC_AVERAGE ? BC_JUDGED_AVERAGE : BC_JUDGED_POINTS;
    if (finding->judged == BC_JUDGED_AVERAGE)
        return;
    finding->points_because = d->smooth->why;
    if (d->inspection->setup->judge_points)
        finding->points_because = BC_POINTS_CHOSEN;
    else if (d->callout->quantity == BC_A)
        finding->points_because = BC_POINTS_QUANTITY;
    else if (finding->points_because == BC_POINTS_NOT &&
             ((first > d->callout->from_nm && readings->first > 0) ||
              (last < d->callout->to_nm && readings->first + readings->inside < readings->count)))
        finding->points_because = BC_POINTS_OUTSIDE;
    if (finding->points_because == BC_POINTS_NOT)
        finding->judged = BC_JUDGED_CURVE;
}

void bc_row_take_smooth(bc_row_verdict *d)
{
    const bc_readings *readings = &d->inspection->readings;
    const bc_reading *reading = d->callout->quantity == BC_T ? &readings->T : &readings->R;
    const double *smooth = d->smooth->value[d->callout->quantity == BC_T ? 1 : 0];
    for (size_t i = 0; i < d->curve.count; i++) {
        const size_t at = readings->first + i;
        d->stretch[i] = reading->noise[at] > 0.0 ? d->curve.random[i] / reading->noise[at] : 1.0;
        d->curve.value[i] += d->stretch[i] * (smooth[i] - reading->value[at]);
        d->curve.random[i] = d->stretch[i] * bc_smooth_sigma(d->smooth, d->callout->quantity, i);
    }
    d->curve.freedom = d->smooth->freedom;
}
