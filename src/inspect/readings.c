/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "readings.h"
#include "noise.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

static void lay_out(bc_readings *readings, bc_arena *arena)
{
    bc_reading *const reading[] = {&readings->R, &readings->T};
    readings->wavelength_nm = bc_arena_take(arena, readings->count, sizeof(double));
    readings->scratch = bc_arena_take(arena, readings->count, sizeof(double));
    for (size_t r = 0; r < 2; r++) {
        reading[r]->value = bc_arena_take(arena, readings->count, sizeof(double));
        reading[r]->noise = bc_arena_take(arena, readings->count, sizeof(double));
        reading[r]->systematic = bc_arena_take(arena, readings->count, sizeof(double));
        reading[r]->along = bc_arena_take(arena, readings->count, sizeof(double));
        reading[r]->outlier = bc_arena_take(arena, readings->count, sizeof(bool));
    }
}

static bc_status take(bc_readings *readings, const bc_measurement *measurement, const bc_measured *measured,
                      double standard_uncertainty, bc_quantity quantity, bc_reading *reading, bc_error *error)
{
    reading->quantity = quantity;
    reading->count = readings->count;
    reading->wavelength_nm = readings->wavelength_nm;
    reading->measured = measured->value != NULL;
    for (size_t i = 0; reading->measured && i < readings->count; i++) {
        const double given = measured->uncertainty == NULL ? 0.0 : measured->uncertainty[i];
        reading->value[i] = measured->value[i];
        if (!(fabs(reading->value[i]) <= 2.0))
            return bc_fail(error, BC_ERROR_INPUT, "measured %s of %g %% at %g nm; expected a value from -200 to 200 %%",
                           quantity == BC_R ? "R" : "T", 100.0 * reading->value[i], readings->wavelength_nm[i]);
        if (given < 0.0 || isinf(given))
            return bc_fail(error, BC_ERROR_INPUT, "an uncertainty of %g %% at %g nm; expected 0 or more", 100.0 * given,
                           readings->wavelength_nm[i]);
        reading->systematic[i] = hypot(standard_uncertainty, isnan(given) ? 0.0 : given);
    }
    if (reading->measured)
        reading->summary = bc_noise_of_measured(readings->count, readings->wavelength_nm, measured,
                                                measurement->repeats, reading->noise, readings->scratch);
    return BC_OK;
}

static bc_status rising(const bc_measurement *measurement, bc_error *error)
{
    if (measurement->count == 0)
        return bc_fail(error, BC_ERROR_INPUT, "the measurement has no points; expected one at least");
    if (measurement->R.value == NULL && measurement->T.value == NULL)
        return bc_fail(error, BC_ERROR_INPUT, "the measurement holds neither R nor T; expected one of them at least");
    for (size_t i = 0; i < measurement->count; i++) {
        const double nm = measurement->wavelength_nm[i];
        if (!(nm > 0.0 && isfinite(nm)))
            return bc_fail(error, BC_ERROR_INPUT, "a measured wavelength of %g nm; expected more than 0", nm);
        if (i > 0 && nm <= measurement->wavelength_nm[i - 1])
            return bc_fail(error, BC_ERROR_INPUT, "measured wavelengths that do not rise: %.9g nm follows %.9g nm", nm,
                           measurement->wavelength_nm[i - 1]);
    }
    return BC_OK;
}

static void narrow(const bc_medium *medium, double *from_nm, double *to_nm)
{
    double from, to;
    bc_dispersion_range(medium->dispersion, &from, &to);
    *from_nm = fmax(*from_nm, from);
    *to_nm = fmin(*to_nm, to);
}

static void narrow_to(const bc_stack *stack, double *from_nm, double *to_nm)
{
    narrow(&stack->incident, from_nm, to_nm);
    narrow(&stack->substrate, from_nm, to_nm);
    for (size_t j = 0; j < stack->layers; j++)
        narrow(&stack->layer[j].material, from_nm, to_nm);
}

static bc_status find_inside(const bc_inspect_setup *setup, bc_readings *readings, bc_error *error)
{
    double from_nm = 0.0, to_nm = INFINITY;
    narrow_to(setup->design, &from_nm, &to_nm);
    if (setup->back.kind == BC_BACK_OWN)
        narrow_to(setup->back.stack, &from_nm, &to_nm);
    while (readings->first < readings->count && readings->wavelength_nm[readings->first] < from_nm)
        readings->first++;
    while (readings->first + readings->inside < readings->count &&
           readings->wavelength_nm[readings->first + readings->inside] <= to_nm)
        readings->inside++;
    if (readings->inside == 0)
        return bc_fail(error, BC_ERROR_INPUT,
                       "the scan runs from %g to %g nm, and the tables of the design only from %g to %g nm: they have "
                       "nothing in common",
                       readings->wavelength_nm[0], readings->wavelength_nm[readings->count - 1], from_nm, to_nm);
    return BC_OK;
}

bc_status bc_readings_open(const bc_measurement *measurement, const bc_inspect_setup *setup, bc_readings *readings,
                           bc_error *error)
{
    const double standard_uncertainty = setup->uncertainty / setup->coverage_factor;
    bc_status status = rising(measurement, error);
    memset(readings, 0, sizeof *readings);
    if (status != BC_OK)
        return status;
    readings->count = measurement->count;
    readings->missing = measurement->missing;
    readings->missing_nm = measurement->missing_nm;
    lay_out(readings, &readings->arena);
    status = bc_arena_open(&readings->arena, error);
    if (status != BC_OK)
        return status;
    lay_out(readings, &readings->arena);
    memcpy(readings->wavelength_nm, measurement->wavelength_nm, readings->count * sizeof(double));
    status = take(readings, measurement, &measurement->R, standard_uncertainty, BC_R, &readings->R, error);
    if (status == BC_OK)
        status = take(readings, measurement, &measurement->T, standard_uncertainty, BC_T, &readings->T, error);
    if (status == BC_OK)
        status = find_inside(setup, readings, error);
    if (status != BC_OK)
        bc_readings_close(readings);
    return status;
}

void bc_readings_close(bc_readings *readings)
{
    free(readings->arena.memory);
    memset(readings, 0, sizeof *readings);
}

bool bc_readings_noise_of(bc_readings *readings, bc_reading *reading, const double *remainder)
{
    const double before = reading->summary.rms;
    bc_noise noise;
    if (!reading->measured || reading->summary.source != BC_NOISE_SCAN)
        return false;
    noise = bc_noise_of_scan(readings->inside, readings->wavelength_nm + readings->first, remainder, readings->scratch);
    if (noise.source == BC_NOISE_UNKNOWN || noise.rms >= before)
        return false;
    reading->summary = bc_noise_not_below_rounding(
        noise, bc_rounding_step(reading->count, reading->value, readings->scratch) / sqrt(12.0), reading->count,
        reading->noise);
    return reading->summary.rms < 0.8 * before;
}
