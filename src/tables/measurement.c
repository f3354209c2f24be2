/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "arena.h"
#include <bloomcoat/measurement.h>
#include <stdbool.h>
#include <stdlib.h>

static double *take_if(bc_arena *arena, size_t count, bool wanted)
{
    return wanted ? bc_arena_take(arena, count, sizeof(double)) : NULL;
}

static void lay_out(bc_arena *arena, size_t count, unsigned what, bc_measurement *measurement)
{
    measurement->wavelength_nm = take_if(arena, count, true);
    measurement->R.value = take_if(arena, count, what & BC_MEASURED_R);
    measurement->R.deviation = take_if(arena, count, what & BC_MEASURED_R_DEVIATION);
    measurement->R.uncertainty = take_if(arena, count, what & BC_MEASURED_R_UNCERTAINTY);
    measurement->T.value = take_if(arena, count, what & BC_MEASURED_T);
    measurement->T.deviation = take_if(arena, count, what & BC_MEASURED_T_DEVIATION);
    measurement->T.uncertainty = take_if(arena, count, what & BC_MEASURED_T_UNCERTAINTY);
}

bc_status bc_measurement_alloc(size_t count, unsigned what, bc_measurement *measurement, bc_error *error)
{
    bc_arena arena = {0};
    *measurement = (bc_measurement){0};
    lay_out(&arena, count, what, measurement);
    bc_status status = bc_arena_open(&arena, error);
    if (status != BC_OK)
        return status;
    lay_out(&arena, count, what, measurement);
    measurement->memory = arena.memory;
    measurement->count = count;
    return BC_OK;
}

void bc_measurement_clear(bc_measurement *measurement)
{
    free(measurement->memory);
    *measurement = (bc_measurement){0};
}
