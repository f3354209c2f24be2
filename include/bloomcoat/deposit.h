/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DEPOSIT_H
#define BLOOMCOAT_DEPOSIT_H
/*
 * The sheet for the chamber: layers in order of deposition, thickness and time at the monitor, and the optical signal.
 *
 * A layer of thickness d on the part is d / tooling thick at the monitor and takes d / (tooling * rate). The monitor
 * glass grows the thicknesses at the monitor. Its signal is R or T met from vacuum (n = 1, whatever the stack's
 * incident medium), unpolarized, by the engine of surface.h and part.h with the indices of the tables: that of the
 * layers grown so far and a part of the one that grows. At normal incidence the signal of a clear layer turns at each
 * quarter wave, a layer on bare glass at R = ((n0 ns - n1^2)/(n0 ns + n1^2))^2 (Knittl, Optics of Thin Films, 1976;
 * Born and Wolf, Principles of Optics, ch. 1.6.4).
 *
 * The monitor's filter is a Gaussian of full width `bandwidth_nm` at half maximum, sampled evenly in steps of a quarter
 * of its standard deviation out to 4 of them (1.7 full widths) on either side, the weights adding up to 1; lamp and
 * detector count as flat. A turning point is a zero of the analytic slope dS/dt, bracketed at 32 samples or more per
 * quarter wave and found by Brent's method (GSL); two that lie closer together than a sample are missed.
 *
 * Holds while layer and table have the same index: layers in vacuum, hot and before they take up water, may differ.
 */
#include <bloomcoat/callouts.h>
#include <bloomcoat/chamber.h>
#include <bloomcoat/process.h>
#include <bloomcoat/spectrum.h>

BC_API_BEGIN

/* What the monitor's error is a share of. */
typedef enum bc_error_of {
    BC_ERROR_OF_HIGH, /* of the highest signal from the layer's start to its cut: also means something where a coating's
                         R comes near zero */
    BC_ERROR_OF_CUT,  /* of the signal at the cut */
} bc_error_of;

typedef struct bc_monitor {
    const bc_medium *glass;  /* NULL: the glass of the stack */
    bc_quantity signal;      /* BC_R or BC_T */
    bc_back_kind glass_back; /* BC_BACK_NONE: its back face is not seen (T then enters the glass); BC_BACK_UNCOATED */
    double glass_mm;         /* where the back is seen and the glass absorbs; >= 0 */
    double aoi_rad;          /* of the monitor's beam, [0, pi/2) */
    double bandwidth_nm;     /* of its filter, full width at half maximum; 0: one wavelength */
    double error;            /* of the signal, a fraction, in (0, 1) */
    bc_error_of error_of;
    /* One wavelength serves the whole run. Of several each layer has the one at which its cut is surest. None: the one
     * that is best for the whole run is looked for from from_nm to to_nm in steps of step_nm, where every table reaches
     * and no layer has k > BC_MONITOR_CLEAR. */
    size_t wavelengths;
    const double *wavelength_nm;
    double from_nm, to_nm, step_nm;
    size_t new_glasses; /* the monitor glass is changed before these layers, counted from 1 in order of deposition */
    const size_t *new_before; /* each from 2 to the number of layers */
} bc_monitor;

#define BC_MONITOR_CLEAR 1e-3

/* Where the signal turns. */
typedef struct bc_turning {
    double monitor_nm; /* of this layer, at the monitor */
    double time_s;     /* since the layer's start; NAN: no rate is known */
    double signal;     /* fraction */
    bool maximum;
} bc_turning;

typedef enum bc_cut {
    BC_CUT_OPTICAL,
    BC_CUT_COARSE, /* better by crystal: the signal's error costs more than allowed_nm */
    BC_CUT_FLAT, /* better by crystal: on one side of the cut the signal never moves by its error: not from the layer's
                    start on, or not within 2.5 quarter waves after the cut */
} bc_cut;

/* One layer seen at one monitor wavelength. Signals are fractions. */
typedef struct bc_layer_signal {
    double wavelength_nm;
    double n, k;             /* of the layer there */
    double quarter_waves;    /* 4 n monitor_nm / wavelength */
    double start, cut, high; /* at the layer's start and cut, and the highest from one to the other */
    /* Turning points after the start, up to the cut. Closer to the start or the cut than 1e-4 of a quarter wave they
     * count as being there: at the start they are left out, at the cut `cut_at_turning` is set. */
    size_t turnings;
    bc_turning *turning;
    bool cut_at_turning;
    bool has_next; /* another turning point would follow if the layer went on: this one */
    bc_turning next;
    /* How far the signal has come: |cut - from| / |to - from|, `from` being the last turning point before the cut, or
     * the start where there is none, `to` the turning point at the cut, or the next one. In [0, 1]; NAN where no
     * turning point follows or the signal does not move (1e-9). */
    double swing;
    double slope_per_nm; /* dS/dt at the cut, per nm at the monitor */
    double error;        /* of the signal: monitor.error times the signal that error_of names */
    /* The thickness on the part, earlier and later than the cut, at which the signal first differs from the cut's by
     * `error`: exact, also at a turning point, where the slope is zero; INFINITY where it never does (see BC_CUT_FLAT).
     * Far from turning points it is linear_nm = error / |slope| on the part. */
    double early_nm, late_nm, linear_nm;
    double cost_nm; /* the larger of early_nm and late_nm: what the error of the signal costs, the layers below being as
                       planned */
    bc_cut cut_by;
} bc_layer_signal;

typedef struct bc_sheet_layer {
    size_t layer; /* in the stack: 0 is the outer one */
    const bc_medium *material;
    double thickness_nm; /* on the part */
    bool has_tooling;    /* false: taken as 1 */
    double tooling;
    double monitor_nm; /* thickness at the monitor */
    bool has_rate;
    double rate_nm_per_s; /* at the monitor; 0: not known */
    double time_s;        /* of this layer; NAN: not known */
    double total_nm;      /* on the part, this layer and those before it */
    double total_s;       /* time of this layer and those before it, without anything between; NAN: not known */
    /* Since the door was closed, with pumping down, heating and the time between layers as far as the chamber file
     * gives them; NAN without a chamber or a rate. */
    double starts_s, ends_s;
    bool thin; /* thinner than the process can control: minimum_nm */
    double minimum_nm;
    double allowed_nm;   /* a cut that costs more is better made by crystal: thickness_sigma of the process, or
                            BC_ALLOWED_SHARE where it gives none, of the layer */
    size_t glass_number; /* which monitor glass it grows on, from 1 */
    bc_layer_signal signal;
    size_t points;            /* the curve, evenly spaced from start to cut, 32 or more per quarter wave */
    double *curve_monitor_nm; /* [points] of this layer */
    double *curve_signal;     /* [points] fractions */
    /* Of all wavelengths looked at, the one at which this layer's cut costs least (where only one was given: that one)
     */
    double best_wavelength_nm, best_cost_nm;
    bc_cut best_cut_by;
} bc_sheet_layer;

#define BC_ALLOWED_SHARE 0.02

/* One wavelength for the whole run. */
typedef struct bc_monitor_choice {
    double wavelength_nm;
    size_t crystal; /* layers that are better cut by crystal there */
    double share;   /* root mean square over the layers of cost_nm / thickness_nm, none counted for more than allowed_nm
                       (or, where crystal is all layers, than all of its thickness) */
} bc_monitor_choice;

typedef struct bc_deposit_result {
    size_t layers;
    bc_sheet_layer *layer; /* in order of deposition: from the substrate outwards */
    double layer_s;        /* time of all layers; NAN: a rate is not known */
    double load_s;         /* as bc_hours_per_load(), in seconds; NAN: not known */
    size_t crystal;        /* layers that are better cut by crystal */
    /* false: no wavelength was given, and in the range there is none that every table reaches and no layer absorbs;
     * then signal, curve and best are empty. */
    bool has_signal;
    bool swept; /* no wavelength was given: that of choice[chosen] was taken */
    size_t choices;
    bc_monitor_choice *choice; /* the wavelengths looked at, in their order */
    size_t chosen;             /* the best for the whole run: fewest layers by crystal, of these the smallest share */
} bc_deposit_result;

/* `process` and `chamber` may be NULL: not known. The result points into the stack. BC_ERROR_INPUT for a stack without
 * layers, a layer without thickness or of more than 1000 quarter waves, a wavelength whose passband leaves a table,
 * more than 10000 wavelengths, and options out of range. */
bc_status bc_deposit(const bc_stack *stack, const bc_process *process, const bc_chamber *chamber,
                     const bc_monitor *monitor, bc_deposit_result *result, bc_error *error);
void bc_deposit_result_clear(bc_deposit_result *result);

BC_API_END

#endif
