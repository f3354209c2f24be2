/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SHOP_SIGNAL_H
#define BLOOMCOAT_SHOP_SIGNAL_H
/*
 * What the monitor sees of a monitor glass at one setting of its filter, while one layer grows on those before it.
 */
#include <bloomcoat/deposit.h>

typedef struct bc_signal bc_signal;

/* `monitor_nm` [layers]: thickness at the monitor in order of deposition; copied. BC_ERROR_INPUT when the passband
 * leaves a table. */
bc_status bc_signal_alloc(const bc_stack *stack, const bc_monitor *monitor, double wavelength_nm,
                          const double *monitor_nm, bc_signal **out, bc_error *error);
void bc_signal_free(bc_signal *signal);

/* The layer, in order of deposition, that grows from now on, on layer `lowest` to the one below it. */
void bc_signal_grow(bc_signal *signal, size_t lowest, size_t layer);

/* The signal when it is `monitor_nm` thick at the monitor, and its slope per nm (NULL: not wanted). */
double bc_signal_at(bc_signal *signal, double monitor_nm, double *slope);

/* Of the layer that grows: n and k at the middle of the passband, a quarter wave at the monitor's angle (of |N|: a
 * metal's signal changes as fast as its k says), and where it is cut, at the monitor. */
void bc_signal_index(const bc_signal *signal, double *n, double *k);
double bc_signal_quarter_nm(const bc_signal *signal);
double bc_signal_cut_nm(const bc_signal *signal);

/* The largest k of any layer in the passband. */
double bc_signal_largest_k(const bc_signal *signal);

/* The zero of f between two thicknesses where it has opposite signs (Brent). f may use the signal. */
double bc_signal_solve(bc_signal *signal, double (*f)(double, void *), void *context, double one_nm, double other_nm);

/* Every turning point of the layer that grows, up to its cut and beyond, by rising thickness. Starts as {0}, is used
 * again and again; bc_trace_clear() releases it. */
typedef struct bc_trace {
    double end_nm; /* the signal was followed up to here */
    size_t turnings, room;
    bc_turning *turning; /* without a time */
} bc_trace;

bc_status bc_signal_trace(bc_signal *signal, bc_trace *trace, bc_error *error);
void bc_trace_clear(bc_trace *trace);

/* All of a bc_layer_signal but what is a matter of time; `tooling` turns nm at the monitor into nm on the part.
 * seen->turning points into `trace`. */
bc_status bc_signal_judge(bc_signal *signal, const bc_monitor *monitor, double tooling, double allowed_nm,
                          bc_trace *trace, bc_layer_signal *seen, bc_error *error);

#endif
