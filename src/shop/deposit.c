/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "deposit.h"
#include <bloomcoat/quote.h>
#include <math.h>
#include <stdlib.h>

#define MOST_WAVELENGTHS 10000.0

static bc_status check_stack(const bc_stack *stack, bc_error *error)
{
    if (stack->films == 0)
        return bc_fail(error, BC_ERROR_INPUT, "the stack has no film; expected one at least to deposit");
    for (size_t order = 0; order < stack->films; order++) {
        const bc_film *film = &stack->film[stack->films - 1 - order];
        if (!(film->thickness_nm > 0.0 && isfinite(film->thickness_nm)))
            return bc_fail(error, BC_ERROR_INPUT,
                           "film %zu from the substrate (%s): found a thickness of %g nm; expected more than 0",
                           order + 1, film->material.name, film->thickness_nm);
    }
    return BC_OK;
}

static bc_status check_beam(const bc_monitor *monitor, bc_error *error)
{
    if (monitor->signal != BC_R && monitor->signal != BC_T)
        return bc_fail(error, BC_ERROR_INPUT, "a monitor sees R or T; expected one of these for its signal");
    if (monitor->witness_back != BC_BACK_NONE && monitor->witness_back != BC_BACK_UNCOATED)
        return bc_fail(error, BC_ERROR_INPUT, "the witness's back is not seen, or is uncoated; expected one of these");
    if (!(monitor->witness_mm >= 0.0 && isfinite(monitor->witness_mm)))
        return bc_fail(error, BC_ERROR_INPUT, "witness thickness %g mm; expected 0 or more", monitor->witness_mm);
    if (!(monitor->aoi_rad >= 0.0 && monitor->aoi_rad < 0.5 * M_PI))
        return bc_fail(error, BC_ERROR_INPUT, "monitor angle %g rad; expected 0 to below pi/2", monitor->aoi_rad);
    if (!(monitor->bandwidth_nm >= 0.0 && isfinite(monitor->bandwidth_nm)))
        return bc_fail(error, BC_ERROR_INPUT, "monitor bandwidth %g nm; expected 0 or more", monitor->bandwidth_nm);
    if (!(monitor->error > 0.0 && monitor->error < 1.0))
        return bc_fail(error, BC_ERROR_INPUT, "signal error %g %%; expected more than 0 and less than 100",
                       100.0 * monitor->error);
    return BC_OK;
}

static bc_status check_wavelengths(const bc_monitor *monitor, bc_error *error)
{
    for (size_t i = 0; i < monitor->wavelengths; i++)
        if (!(monitor->wavelength_nm[i] > 0.0 && isfinite(monitor->wavelength_nm[i])))
            return bc_fail(error, BC_ERROR_INPUT, "monitor wavelength %g nm; expected more than 0",
                           monitor->wavelength_nm[i]);
    if (monitor->wavelengths > 0)
        return (double)monitor->wavelengths <= MOST_WAVELENGTHS
                   ? BC_OK
                   : bc_fail(error, BC_ERROR_INPUT, "%zu monitor wavelengths; expected %.0f at most",
                             monitor->wavelengths, MOST_WAVELENGTHS);
    if (!(monitor->from_nm > 0.0 && monitor->to_nm >= monitor->from_nm && isfinite(monitor->to_nm) &&
          monitor->step_nm > 0.0))
        return bc_fail(error, BC_ERROR_INPUT,
                       "monitor wavelengths from %g to %g nm in steps of %g nm; expected a range and a step above 0",
                       monitor->from_nm, monitor->to_nm, monitor->step_nm);
    if ((monitor->to_nm - monitor->from_nm) / monitor->step_nm >= MOST_WAVELENGTHS)
        return bc_fail(error, BC_ERROR_INPUT,
                       "a step of %g nm from %g to %g nm makes more than %.0f monitor wavelengths; expected fewer",
                       monitor->step_nm, monitor->from_nm, monitor->to_nm, MOST_WAVELENGTHS);
    return BC_OK;
}

static bc_status check_glasses(const bc_stack *stack, const bc_monitor *monitor, bc_error *error)
{
    for (size_t i = 0; i < monitor->fresh; i++)
        if (monitor->fresh_before[i] < 2 || monitor->fresh_before[i] > stack->films)
            return bc_fail(error, BC_ERROR_INPUT,
                           "a new witness before film %zu; the stack has %zu, and the first has a new one anyway, so "
                           "expected a film from 2 to %zu",
                           monitor->fresh_before[i], stack->films, stack->films);
    return BC_OK;
}

static size_t witness_of(const bc_monitor *monitor, size_t order)
{
    size_t glass = 1;
    for (size_t before = 2; before <= order + 1; before++) {
        bool fresh = false;
        for (size_t i = 0; i < monitor->fresh; i++)
            fresh = fresh || monitor->fresh_before[i] == before;
        glass += fresh;
    }
    return glass;
}

static void fill_film(const bc_stack *stack, const bc_process *process, const bc_monitor *monitor, size_t order,
                      bc_sheet_film *film)
{
    const bc_film *designed = &stack->film[stack->films - 1 - order];
    const bc_process_row row = bc_process_for(process, designed->material.name);
    const bool is_known = row.has_thickness_sigma && row.thickness_sigma > 0.0;
    *film = (bc_sheet_film){.film = stack->films - 1 - order,
                            .material = &designed->material,
                            .thickness_nm = designed->thickness_nm,
                            .has_tooling = row.has_tooling,
                            .tooling = row.tooling,
                            .monitor_nm = designed->thickness_nm / row.tooling,
                            .has_rate = row.has_rate,
                            .rate_nm_per_s = row.rate_nm_per_s,
                            .thin = row.has_minimum && designed->thickness_nm < row.minimum_nm,
                            .minimum_nm = row.minimum_nm,
                            .witness = witness_of(monitor, order)};
    film->allowed_nm = (is_known ? row.thickness_sigma : BC_ALLOWED_SHARE) * film->thickness_nm;
    film->time_s = row.has_rate ? film->monitor_nm / row.rate_nm_per_s : NAN;
}

/* The times between the films are those of bc_hours_per_load(), so that a sheet takes as long as its quote says. */
static void fill_sheet(const bc_stack *stack, const bc_process *process, const bc_chamber *chamber,
                       const bc_monitor *monitor, bc_deposit_result *result)
{
    double total_nm = 0.0, total_s = 0.0;
    double clock_s = chamber == NULL ? NAN : 60.0 * (chamber->pump_down_min + chamber->heat_min);
    for (size_t order = 0; order < stack->films; order++) {
        bc_sheet_film *film = &result->film[order];
        fill_film(stack, process, monitor, order, film);
        film->total_nm = total_nm += film->thickness_nm;
        film->total_s = total_s += film->time_s;
        film->starts_s = clock_s;
        film->ends_s = clock_s += film->time_s;
        clock_s += chamber == NULL ? 0.0 : chamber->between_films_s;
    }
    result->film_s = total_s;
    result->load_s = 3600.0 * bc_hours_per_load(stack, process, chamber);
}

bc_status bc_deposit(const bc_stack *stack, const bc_process *process, const bc_chamber *chamber,
                     const bc_monitor *monitor, bc_deposit_result *result, bc_error *error)
{
    bc_status status = check_stack(stack, error);
    *result = (bc_deposit_result){0};
    if (status == BC_OK)
        status = check_beam(monitor, error);
    if (status == BC_OK)
        status = check_wavelengths(monitor, error);
    if (status == BC_OK)
        status = check_glasses(stack, monitor, error);
    if (status != BC_OK)
        return status;
    result->film = calloc(stack->films, sizeof *result->film);
    if (result->film == NULL)
        return bc_fail_memory(error);
    result->films = stack->films;
    fill_sheet(stack, process, chamber, monitor, result);
    status = bc_deposit_signals(stack, monitor, result, error);
    if (status != BC_OK)
        bc_deposit_result_clear(result);
    return status;
}

void bc_deposit_result_clear(bc_deposit_result *result)
{
    for (size_t order = 0; order < result->films; order++) {
        free(result->film[order].signal.turning);
        free(result->film[order].curve_monitor_nm); /* the signal lies behind it */
    }
    free(result->film);
    free(result->choice);
    *result = (bc_deposit_result){0};
}
