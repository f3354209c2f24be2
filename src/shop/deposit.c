/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "deposit.h"
#include <bloomcoat/quote.h>
#include <math.h>
#include <stdlib.h>

#define MOST_WAVELENGTHS 10000.0

static bc_status check_stack(const bc_stack *stack, bc_error *error)
{
    if (stack->layers == 0)
        return bc_fail(error, BC_ERROR_INPUT, "the stack has no layer; expected one at least to deposit");
    for (size_t order = 0; order < stack->layers; order++) {
        const bc_layer *layer = &stack->layer[stack->layers - 1 - order];
        if (!(layer->thickness_nm > 0.0 && isfinite(layer->thickness_nm)))
            return bc_fail(error, BC_ERROR_INPUT,
                           "layer %zu from the substrate (%s): found a thickness of %g nm; expected more than 0",
                           order + 1, layer->material.name, layer->thickness_nm);
    }
    return BC_OK;
}

static bc_status check_beam(const bc_monitor *monitor, bc_error *error)
{
    if (monitor->signal != BC_R && monitor->signal != BC_T)
        return bc_fail(error, BC_ERROR_INPUT, "a monitor sees R or T; expected one of these for its signal");
    if (monitor->glass_back != BC_BACK_NONE && monitor->glass_back != BC_BACK_UNCOATED)
        return bc_fail(error, BC_ERROR_INPUT,
                       "the monitor glass's back is not seen, or is uncoated; expected one of these");
    if (!(monitor->glass_mm >= 0.0 && isfinite(monitor->glass_mm)))
        return bc_fail(error, BC_ERROR_INPUT, "monitor glass thickness %g mm; expected 0 or more", monitor->glass_mm);
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
    if ((double)monitor->wavelengths > MOST_WAVELENGTHS)
        return bc_fail(error, BC_ERROR_INPUT, "%zu monitor wavelengths; expected %.0f at most", monitor->wavelengths,
                       MOST_WAVELENGTHS);
    for (size_t i = 0; i < monitor->wavelengths; i++)
        if (!(monitor->wavelength_nm[i] > 0.0 && isfinite(monitor->wavelength_nm[i])))
            return bc_fail(error, BC_ERROR_INPUT, "monitor wavelength %g nm; expected more than 0",
                           monitor->wavelength_nm[i]);
    if (monitor->wavelengths > 0)
        return BC_OK;
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
    for (size_t i = 0; i < monitor->new_glasses; i++)
        if (monitor->new_before[i] < 2 || monitor->new_before[i] > stack->layers)
            return bc_fail(
                error, BC_ERROR_INPUT,
                "a new monitor glass before layer %zu; the stack has %zu, and the first has a new one anyway, so "
                "expected a layer from 2 to %zu",
                monitor->new_before[i], stack->layers, stack->layers);
    return BC_OK;
}

static size_t glass_number_of(const bc_monitor *monitor, size_t order)
{
    size_t glass = 1;
    for (size_t before = 2; before <= order + 1; before++) {
        bool changed = false;
        for (size_t i = 0; i < monitor->new_glasses; i++)
            changed = changed || monitor->new_before[i] == before;
        glass += changed;
    }
    return glass;
}

static void fill_layer(const bc_stack *stack, const bc_process *process, const bc_monitor *monitor, size_t order,
                       bc_sheet_layer *layer)
{
    const bc_layer *designed = &stack->layer[stack->layers - 1 - order];
    const bc_process_row row = bc_process_for(process, designed->material.name);
    const bool is_known = row.has_thickness_sigma && row.thickness_sigma > 0.0;
    *layer = (bc_sheet_layer){.layer = stack->layers - 1 - order,
                              .material = &designed->material,
                              .thickness_nm = designed->thickness_nm,
                              .has_tooling = row.has_tooling,
                              .tooling = row.tooling,
                              .monitor_nm = designed->thickness_nm / row.tooling,
                              .has_rate = row.has_rate,
                              .rate_nm_per_s = row.rate_nm_per_s,
                              .thin = row.has_minimum && designed->thickness_nm < row.minimum_nm,
                              .minimum_nm = row.minimum_nm,
                              .glass_number = glass_number_of(monitor, order)};
    layer->allowed_nm = (is_known ? row.thickness_sigma : BC_ALLOWED_SHARE) * layer->thickness_nm;
    layer->time_s = row.has_rate ? layer->monitor_nm / row.rate_nm_per_s : NAN;
}

/* The times between the layers are those of bc_hours_per_load(), so that a sheet takes as long as its quote says. */
static void fill_sheet(const bc_stack *stack, const bc_process *process, const bc_chamber *chamber,
                       const bc_monitor *monitor, bc_deposit_result *result)
{
    double total_nm = 0.0, total_s = 0.0;
    double clock_s = chamber == NULL ? NAN : 60.0 * (chamber->pump_down_min + chamber->heat_min);
    for (size_t order = 0; order < stack->layers; order++) {
        bc_sheet_layer *layer = &result->layer[order];
        fill_layer(stack, process, monitor, order, layer);
        layer->total_nm = total_nm += layer->thickness_nm;
        layer->total_s = total_s += layer->time_s;
        layer->starts_s = clock_s;
        layer->ends_s = clock_s += layer->time_s;
        clock_s += chamber == NULL ? 0.0 : chamber->between_layers_s; /* after the last one nobody reads it */
    }
    result->layer_s = total_s;
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
    result->layer = calloc(stack->layers, sizeof *result->layer);
    if (result->layer == NULL)
        return bc_fail_memory(error);
    result->layers = stack->layers;
    fill_sheet(stack, process, chamber, monitor, result);
    status = bc_deposit_signals(stack, monitor, result, error);
    if (status != BC_OK)
        bc_deposit_result_clear(result);
    return status;
}

void bc_deposit_result_clear(bc_deposit_result *result)
{
    for (size_t order = 0; order < result->layers; order++) {
        free(result->layer[order].signal.turning);
        free(result->layer[order].curve_monitor_nm); /* the signal lies behind it */
    }
    free(result->layer);
    free(result->choice);
    *result = (bc_deposit_result){0};
}
