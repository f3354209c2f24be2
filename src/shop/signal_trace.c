/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal.h"
#include <math.h>
#include <stdlib.h>

#define SAMPLES_PER_QUARTER 32.0
#define MOST_QUARTERS       1000.0
#define QUARTERS_BEYOND     2.5   /* so that the next turning point is among them */
#define FLAT                1e-12 /* a slope per quarter wave that is nothing but rounding */

static bc_status add_turning(bc_trace *trace, bc_turning turning, bc_error *error)
{
    if (trace->turnings == trace->room) {
        const size_t room = 2 * trace->room + 16;
        bc_turning *grown = realloc(trace->turning, room * sizeof *grown);
        if (grown == NULL)
            return bc_fail_memory(error);
        trace->turning = grown;
        trace->room = room;
    }
    trace->turning[trace->turnings++] = turning;
    return BC_OK;
}

void bc_trace_clear(bc_trace *trace)
{
    free(trace->turning);
    *trace = (bc_trace){0};
}

static double slope_at(double monitor_nm, void *context)
{
    double slope;
    bc_signal_at(context, monitor_nm, &slope);
    return slope;
}

bc_status bc_signal_trace(bc_signal *signal, bc_trace *trace, bc_error *error)
{
    const double cut_nm = bc_signal_cut_nm(signal), quarter_nm = bc_signal_quarter_nm(signal);
    double last_nm = 0.0, last_slope = 0.0; /* where the slope was last anything but zero */
    bc_status status = BC_OK;
    size_t steps;
    trace->turnings = 0;
    if (cut_nm > MOST_QUARTERS * quarter_nm)
        return bc_fail(
            error, BC_ERROR_INPUT,
            "a layer of %g nm at the monitor is %.0f quarter waves thick for its light; expected %.0f at most", cut_nm,
            cut_nm / quarter_nm, MOST_QUARTERS);
    trace->end_nm = cut_nm + QUARTERS_BEYOND * quarter_nm;
    steps = (size_t)ceil(SAMPLES_PER_QUARTER * trace->end_nm / quarter_nm);
    for (size_t i = 0; i <= steps && status == BC_OK; i++) {
        const double at_nm = trace->end_nm * (double)i / (double)steps;
        const double slope = slope_at(at_nm, signal);
        if (fabs(slope) * quarter_nm < FLAT)
            continue;
        if (last_slope * slope < 0.0) {
            const double turn_nm = bc_signal_solve(signal, slope_at, signal, last_nm, at_nm);
            const bc_turning turning = {turn_nm, NAN, bc_signal_at(signal, turn_nm, NULL), last_slope > 0.0};
            status = add_turning(trace, turning, error);
        }
        last_nm = at_nm;
        last_slope = slope;
    }
    return status;
}
