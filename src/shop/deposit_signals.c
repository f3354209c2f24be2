/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "deposit.h"
#include "signal.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define POINTS_PER_QUARTER 32.0
#define LEAST_INTERVALS    16.0
#define ON_THE_GRID        1e-9

typedef struct work {
    const bc_stack *stack;
    const bc_monitor *monitor;
    bc_deposit_result *result;
    double *monitor_nm; /* [layers] in order of deposition */
    bc_trace trace;
} work;

/* The first layer on the monitor glass that layer `order` grows on. */
static size_t lowest_of(const work *w, size_t order)
{
    size_t lowest = order;
    while (lowest > 0 && w->result->layer[lowest - 1].glass_number == w->result->layer[order].glass_number)
        lowest--;
    return lowest;
}

static bc_status judge(work *w, bc_signal *signal, size_t order, bc_layer_signal *seen, bc_error *error)
{
    const bc_sheet_layer *layer = &w->result->layer[order];
    bc_signal_grow(signal, lowest_of(w, order), order);
    return bc_signal_judge(signal, w->monitor, layer->tooling, layer->allowed_nm, &w->trace, seen, error);
}

static bool is_surer(const bc_layer_signal *seen, const bc_sheet_layer *layer)
{
    if (layer->best_wavelength_nm == 0.0)
        return true;
    if (seen->cut_by != layer->best_cut_by)
        return seen->cut_by < layer->best_cut_by;
    return seen->cost_nm < layer->best_cost_nm;
}

/* Judge every layer at one wavelength, and remember where each was surest. */
static bc_status look_at(work *w, bc_signal *signal, bc_monitor_choice *choice, bc_error *error)
{
    double allowed = 0.0, whole = 0.0; /* sums of squares, capped at what is allowed and at the layer */
    for (size_t order = 0; order < w->result->layers; order++) {
        bc_sheet_layer *layer = &w->result->layer[order];
        bc_layer_signal seen;
        double share;
        const bc_status status = judge(w, signal, order, &seen, error);
        if (status != BC_OK)
            return status;
        if (is_surer(&seen, layer)) {
            layer->best_wavelength_nm = choice->wavelength_nm;
            layer->best_cost_nm = seen.cost_nm;
            layer->best_cut_by = seen.cut_by;
        }
        share = seen.cost_nm / layer->thickness_nm;
        choice->crystal += seen.cut_by != BC_CUT_OPTICAL;
        allowed += pow(fmin(share, layer->allowed_nm / layer->thickness_nm), 2.0);
        whole += pow(fmin(share, 1.0), 2.0);
    }
    choice->share = sqrt((choice->crystal == w->result->layers ? whole : allowed) / (double)w->result->layers);
    return BC_OK;
}

/* A wavelength that was given must do; one of the range is left out where a table ends or a layer absorbs. */
static bc_status try_wavelength(work *w, double wavelength_nm, bool given, bc_error *error)
{
    bc_monitor_choice *choice = &w->result->choice[w->result->choices];
    bc_signal *signal;
    bc_status status = bc_signal_alloc(w->stack, w->monitor, wavelength_nm, w->monitor_nm, &signal, error);
    if (status != BC_OK)
        return given || status != BC_ERROR_INPUT ? status : BC_OK;
    if (given || bc_signal_largest_k(signal) <= BC_MONITOR_CLEAR) {
        *choice = (bc_monitor_choice){.wavelength_nm = wavelength_nm};
        status = look_at(w, signal, choice, error);
        w->result->choices++;
    }
    bc_signal_free(signal);
    return status;
}

static size_t wavelengths_of(const bc_monitor *monitor)
{
    if (monitor->wavelengths > 0)
        return monitor->wavelengths;
    return (size_t)floor((monitor->to_nm - monitor->from_nm) / monitor->step_nm * (1.0 + ON_THE_GRID) + ON_THE_GRID) +
           1;
}

static bc_status try_all(work *w, bc_error *error)
{
    const bc_monitor *monitor = w->monitor;
    const size_t count = wavelengths_of(monitor);
    const bool given = monitor->wavelengths > 0;
    bc_deposit_result *result = w->result;
    bc_status status = BC_OK;
    result->swept = !given;
    result->choice = calloc(count, sizeof *result->choice);
    if (result->choice == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < count && status == BC_OK; i++)
        status = try_wavelength(w,
                                given ? monitor->wavelength_nm[i]
                                      : fmin(monitor->from_nm + (double)i * monitor->step_nm, monitor->to_nm),
                                given, error);
    for (size_t i = 1; i < result->choices; i++) {
        const bc_monitor_choice *one = &result->choice[i], *best = &result->choice[result->chosen];
        if (one->crystal < best->crystal || (one->crystal == best->crystal && one->share < best->share))
            result->chosen = i;
    }
    result->has_signal = result->choices > 0;
    return status;
}

static bc_status keep_turnings(bc_sheet_layer *layer, bc_error *error)
{
    bc_layer_signal *seen = &layer->signal;
    const bc_turning *found = seen->turning;
    seen->turning = NULL;
    seen->next.time_s = layer->has_rate ? seen->next.monitor_nm / layer->rate_nm_per_s : NAN;
    if (seen->turnings == 0)
        return BC_OK;
    seen->turning = calloc(seen->turnings, sizeof *seen->turning);
    if (seen->turning == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < seen->turnings; i++) {
        seen->turning[i] = found[i];
        seen->turning[i].time_s = layer->has_rate ? found[i].monitor_nm / layer->rate_nm_per_s : NAN;
    }
    return BC_OK;
}

static bc_status draw_curve(bc_signal *signal, bc_sheet_layer *layer, bc_error *error)
{
    const double quarters = layer->monitor_nm / bc_signal_quarter_nm(signal);
    const size_t intervals = (size_t)fmax(LEAST_INTERVALS, ceil(POINTS_PER_QUARTER * quarters));
    double *memory = calloc(2 * (intervals + 1), sizeof *memory);
    if (memory == NULL)
        return bc_fail_memory(error);
    layer->points = intervals + 1;
    layer->curve_monitor_nm = memory;
    layer->curve_signal = memory + layer->points;
    for (size_t i = 0; i <= intervals; i++) {
        layer->curve_monitor_nm[i] =
            i == intervals ? layer->monitor_nm : layer->monitor_nm * (double)i / (double)intervals;
        layer->curve_signal[i] = bc_signal_at(signal, layer->curve_monitor_nm[i], NULL);
    }
    return BC_OK;
}

static bc_status fill_signal(work *w, size_t order, bc_error *error)
{
    bc_sheet_layer *layer = &w->result->layer[order];
    const double wavelength_nm =
        w->result->swept ? w->result->choice[w->result->chosen].wavelength_nm : layer->best_wavelength_nm;
    bc_layer_signal seen;
    bc_signal *signal;
    bc_status status = bc_signal_alloc(w->stack, w->monitor, wavelength_nm, w->monitor_nm, &signal, error);
    if (status != BC_OK)
        return status;
    status = judge(w, signal, order, &seen, error);
    if (status == BC_OK) {
        seen.wavelength_nm = wavelength_nm;
        seen.quarter_waves = 4.0 * seen.n * layer->monitor_nm / wavelength_nm;
        layer->signal = seen;
        status = keep_turnings(layer, error);
    }
    if (status == BC_OK)
        status = draw_curve(signal, layer, error);
    w->result->crystal += layer->signal.cut_by != BC_CUT_OPTICAL;
    bc_signal_free(signal);
    return status;
}

bc_status bc_deposit_signals(const bc_stack *stack, const bc_monitor *monitor, bc_deposit_result *result,
                             bc_error *error)
{
    work w = {.stack = stack, .monitor = monitor, .result = result};
    bc_status status;
    w.monitor_nm = calloc(result->layers, sizeof *w.monitor_nm);
    if (w.monitor_nm == NULL)
        return bc_fail_memory(error);
    for (size_t order = 0; order < result->layers; order++)
        w.monitor_nm[order] = result->layer[order].monitor_nm;
    status = try_all(&w, error);
    for (size_t order = 0; order < result->layers && result->has_signal && status == BC_OK; order++)
        status = fill_signal(&w, order, error);
    free(w.monitor_nm);
    bc_trace_clear(&w.trace);
    return status;
}
