/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "parts.h"
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

void bc_parts_stretch(double sigma, double part[BC_PARTS])
{
    double square = 0.0;
    for (size_t p = 0; p < BC_PARTS; p++)
        square += part[p] * part[p];
    for (size_t p = 0; p < BC_PARTS; p++)
        part[p] *= square > 0.0 ? sigma / sqrt(square) : 0.0;
}

static void add_reading(const bc_inspect_setup *setup, const bc_reading *reading, size_t i, double part[BC_PARTS])
{
    const double k = setup->coverage_factor;
    const double scale = reading->quantity == BC_R ? setup->scale_uncertainty / k * reading->value[i] : 0.0;
    part[BC_PART_READING] = hypot(part[BC_PART_READING], reading->systematic[i]);
    part[BC_PART_SCALE] = hypot(part[BC_PART_SCALE], scale);
    part[BC_PART_WAVELENGTH] =
        hypot(part[BC_PART_WAVELENGTH], setup->wavelength_uncertainty_nm / k * reading->along[i]);
}

static size_t nearest(const bc_curve *curve, double nm)
{
    size_t best = 0;
    for (size_t i = 1; i < curve->count; i++)
        if (fabs(curve->wavelength_nm[i] - nm) < fabs(curve->wavelength_nm[best] - nm))
            best = i;
    return best;
}

void bc_measured_parts(const bc_inspect_setup *setup, const bc_reading *reading, const bc_reading *other, size_t first,
                       const bc_curve *curve, const bc_callout *callout, double at_nm, double random, double systematic,
                       double part[BC_PARTS])
{
    const size_t only = isnan(at_nm) ? SIZE_MAX : nearest(curve, at_nm);
    memset(part, 0, BC_PARTS * sizeof *part);
    for (size_t i = 0; i < curve->count; i++) {
        const double nm = curve->wavelength_nm[i];
        double here[BC_PARTS] = {0};
        if (only == SIZE_MAX ? nm < callout->from_nm || nm > callout->to_nm : i != only)
            continue;
        add_reading(setup, reading, first + i, here);
        if (other != NULL)
            add_reading(setup, other, first + i, here);
        bc_parts_stretch(
            sqrt(fmax(0.0, curve->systematic[i] * curve->systematic[i] - curve->angle[i] * curve->angle[i])), here);
        here[BC_PART_ANGLE] = curve->angle[i];
        for (size_t p = 0; p < BC_PARTS; p++)
            part[p] += here[p];
    }
    bc_parts_stretch(systematic, part);
    part[BC_PART_NOISE] = random;
}

bc_status bc_fit_inputs_open(bc_fit *fit, const bc_solution *solution, bc_fit_inputs *inputs, bc_error *error)
{
    const size_t size = solution->size, rows = fit->rows + size;
    double *memory = calloc(rows * size + rows + size + 1, sizeof *memory);
    *inputs = (bc_fit_inputs){fit, solution, memory, memory + rows * size};
    if (memory == NULL)
        return bc_fail_memory(error);
    return bc_fit_linearize(fit, &solution->point, inputs->J, inputs->along + size, error);
}

void bc_fit_inputs_close(bc_fit_inputs *inputs)
{
    free(inputs->J);
}

/* Whose uncertainty variable v has beforehand. */
static bc_uncertainty_part part_of(const bc_fit *fit, size_t v)
{
    const size_t shared = bc_fit_place(fit, BC_SHARED_FIRST);
    if (v < shared)
        return v < fit->layers ? BC_PART_PROCESS : BC_PART_INDEX;
    if (v >= bc_fit_place(fit, BC_SHARED_RUN))
        return BC_PART_PROCESS;
    if (fit->has[BC_SHARED_SCALE] && v == bc_fit_place(fit, BC_SHARED_SCALE))
        return BC_PART_SCALE;
    if (fit->has[BC_SHARED_WAVELENGTH] && v == bc_fit_place(fit, BC_SHARED_WAVELENGTH))
        return BC_PART_WAVELENGTH;
    return BC_PART_READING;
}

void bc_fit_inputs_share(const bc_fit_inputs *inputs, const double *slope, double part[BC_PARTS])
{
    const bc_solution *solution = inputs->solution;
    const size_t size = solution->size, data = inputs->fit->rows;
    memset(part, 0, BC_PARTS * sizeof *part);
    for (size_t v = 0; v < size; v++) {
        inputs->along[v] = 0.0;
        for (size_t i = 0; i < size; i++)
            inputs->along[v] += solution->covariance[v * size + i] * slope[i];
    }
    for (size_t row = 0; row < data + size; row++) {
        double by = 0.0;
        for (size_t v = 0; v < size; v++)
            by += inputs->J[row * size + v] * inputs->along[v];
        const bc_uncertainty_part which = row < data ? BC_PART_NOISE : part_of(inputs->fit, row - data);
        part[which] = hypot(part[which], by);
    }
}
