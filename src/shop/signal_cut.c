/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal.h"
#include <math.h>

#define AT_TURNING  1e-4  /* of a quarter wave: the signal is off its turning value by 3e-8 of the swing */
#define NO_MOVEMENT 1e-9  /* of a signal of 1 */
#define NO_ERROR    1e-12 /* a share of no signal says nothing */

typedef struct crossing {
    bc_signal *signal;
    double from; /* the signal at the cut */
    double error;
} crossing;

/* Below zero as long as the signal cannot be told from that at the cut. */
static double told(double monitor_nm, void *context)
{
    const crossing *c = context;
    return fabs(bc_signal_at(c->signal, monitor_nm, NULL) - c->from) - c->error;
}

/* How far from the cut the signal is first told from it, along the pieces between turning points: `knots` of them from
 * turning[first] on, one after the other (`step` 1) or one before the other (-1), and then end_nm. */
static double reach(crossing *c, const bc_trace *trace, size_t first, size_t knots, long step, double end_nm)
{
    const double cut_nm = bc_signal_cut_nm(c->signal);
    double last_nm = cut_nm;
    for (size_t i = 0; i <= knots; i++) {
        const double next_nm = i == knots ? end_nm : trace->turning[(long)first + (long)i * step].monitor_nm;
        if (told(next_nm, c) >= 0.0)
            return fabs(bc_signal_solve(c->signal, told, c, last_nm, next_nm) - cut_nm);
        last_nm = next_nm;
    }
    return INFINITY;
}

static double larger(double one, double other)
{
    return one > other ? one : other;
}

/* The turning points up to the cut that count, the one after it, and the highest signal up to the cut. */
static void take_turnings(const bc_trace *trace, double cut_nm, double near_nm, bc_layer_signal *seen)
{
    size_t first = 0, end;
    while (first < trace->turnings && trace->turning[first].monitor_nm <= near_nm)
        first++;
    for (end = first; end < trace->turnings && trace->turning[end].monitor_nm <= cut_nm + near_nm;)
        end++;
    seen->turnings = end - first;
    seen->turning = seen->turnings == 0 ? NULL : trace->turning + first;
    seen->cut_at_turning = end > first && trace->turning[end - 1].monitor_nm >= cut_nm - near_nm;
    seen->has_next = end < trace->turnings;
    if (seen->has_next)
        seen->next = trace->turning[end];
    seen->high = larger(seen->start, seen->cut);
    for (size_t i = 0; i < seen->turnings; i++)
        seen->high = larger(seen->high, seen->turning[i].signal);
}

static double swing_of(const bc_layer_signal *seen)
{
    const size_t before = seen->turnings - (seen->cut_at_turning ? 1 : 0);
    const double from = before == 0 ? seen->start : seen->turning[before - 1].signal;
    double to;
    if (!seen->cut_at_turning && !seen->has_next)
        return NAN;
    to = seen->cut_at_turning ? seen->turning[before].signal : seen->next.signal;
    if (fabs(to - from) < NO_MOVEMENT)
        return NAN;
    return fmin(1.0, fabs(seen->cut - from) / fabs(to - from));
}

/* What the error of the signal costs, in nm on the part. */
static void price(bc_signal *signal, const bc_trace *trace, double tooling, bc_layer_signal *seen)
{
    const double cut_nm = bc_signal_cut_nm(signal);
    crossing c = {signal, seen->cut, seen->error};
    size_t reached = 0;
    seen->early_nm = seen->late_nm = INFINITY;
    /* A slope that moves the signal by less over a quarter wave than can be told from rounding is none. */
    seen->linear_nm = fabs(seen->slope_per_nm) * bc_signal_quarter_nm(signal) < NO_MOVEMENT
                          ? INFINITY
                          : tooling * seen->error / fabs(seen->slope_per_nm);
    while (reached < trace->turnings && trace->turning[reached].monitor_nm < cut_nm)
        reached++;
    if (seen->error > NO_ERROR) {
        seen->early_nm = tooling * reach(&c, trace, reached - 1, reached, -1, 0.0);
        seen->late_nm = tooling * reach(&c, trace, reached, trace->turnings - reached, 1, trace->end_nm);
    }
    seen->cost_nm = larger(seen->early_nm, seen->late_nm);
}

bc_status bc_signal_judge(bc_signal *signal, const bc_monitor *monitor, double tooling, double allowed_nm,
                          bc_trace *trace, bc_layer_signal *seen, bc_error *error)
{
    const double cut_nm = bc_signal_cut_nm(signal);
    const bc_status status = bc_signal_trace(signal, trace, error);
    *seen = (bc_layer_signal){0};
    if (status != BC_OK)
        return status;
    bc_signal_index(signal, &seen->n, &seen->k);
    seen->start = bc_signal_at(signal, 0.0, NULL);
    seen->cut = bc_signal_at(signal, cut_nm, &seen->slope_per_nm);
    take_turnings(trace, cut_nm, AT_TURNING * bc_signal_quarter_nm(signal), seen);
    for (size_t i = 0; i <= seen->turnings; i++) {
        const double value = i == seen->turnings ? seen->cut : seen->turning[i].signal;
        if (bc_refuse_impossible(bc_signal_wavelength_nm(signal), value, 0.0, error) != BC_OK)
            return BC_ERROR_INPUT;
    }
    seen->swing = swing_of(seen);
    seen->error = monitor->error * (monitor->error_of == BC_ERROR_OF_CUT ? seen->cut : seen->high);
    price(signal, trace, tooling, seen);
    seen->cut_by = isinf(seen->cost_nm) ? BC_CUT_FLAT : seen->cost_nm > allowed_nm ? BC_CUT_COARSE : BC_CUT_OPTICAL;
    return BC_OK;
}
