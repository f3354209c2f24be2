/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_PLOT_WORDS_H
#define BLOOMCOAT_REPORT_PLOT_WORDS_H
/*
 * What pictures say alike: short numbers, callouts in a line, axes, and how far an axis of R, T or A reaches.
 */
#include "chart.h"

#define BC_PREDICTED     "Predicted, not measured."
#define BC_PLOT_NO_BREAK "\u00a0" /* between a number and its unit */

/* A range of values, as fractions. */
typedef struct bc_plot_extent {
    double least, most;
} bc_plot_extent;

#define BC_PLOT_NO_EXTENT ((bc_plot_extent){HUGE_VAL, -HUGE_VAL})

/* Stretched to the finite values of an array whose x lies in from..to. */
void bc_plot_stretch(bc_plot_extent *extent, size_t count, const double *x, const double *value, double from,
                     double to);
/* The axis for values alone: from 0, unless they are all far from it. In percent. */
bc_chart_range bc_plot_range(bc_plot_extent extent);
/* The axis for values that have limits: the limits decide, and the values in their bands are seen. In percent. */
typedef struct bc_plot_limits {
    double most, least; /* the largest "at most", the smallest "at least"; NAN: there is none */
    bool ratio;         /* s / p, which may be above 1 */
    bc_plot_extent values;
} bc_plot_limits;
#define BC_PLOT_NO_LIMITS ((bc_plot_limits){NAN, NAN, false, BC_PLOT_NO_EXTENT})
void bc_plot_add_limit(bc_plot_limits *limits, const bc_callout *callout);
bc_chart_range bc_plot_range_with_limits(const bc_plot_limits *limits);

/* "Reflectance", "R", "%"; of a callout on a ratio "Reflectance s/p"; the wavelength axis from..to. */
void bc_plot_quantity_axis(bc_quantity quantity, bc_chart_axis *axis);
void bc_plot_callout_axis(const bc_callout *callout, bc_chart_axis *axis);
void bc_plot_wavelength_axis(double from_nm, double to_nm, bc_chart_axis *axis);

#define BC_PLOT_NUMBER 64
/* In percent, six significant digits. */
void bc_plot_percent(double fraction, char to[BC_PLOT_NUMBER]);
/* In percent, three significant digits of the value and of what it lacks to 100 %, or as many as it takes to lie on the
 * same side of the limit as the verdict. */
void bc_plot_value(char to[BC_PLOT_NUMBER], const bc_finding *finding);

/* A name from a file, cut with an ellipsis. */
void bc_plot_name(bc_chart *chart, char *to, size_t size, const char *from);

/* "420–680 nm", "550 nm"; "0–30°", "0°". */
void bc_plot_band(char to[64], double from_nm, double to_nm);
#define BC_PLOT_CONE   (40 + BC_WEIGHT_NAME_SIZE)
#define BC_PLOT_ANGLES (64 + BC_PLOT_CONE)
/* " cone 10°", " cone 10° weighted by pupil", or nothing. */
void bc_plot_cone(const bc_callout *callout, char to[BC_PLOT_CONE]);
void bc_plot_angles(char to[64], double from_rad, double to_rad);
/* "0–30°", "20° cone 10°" */
void bc_plot_angles_of(const bc_callout *callout, char to[BC_PLOT_ANGLES]);
/* "0–30°, s and p, whole part, 517642 only" */
void bc_plot_light(char to[BC_CHART_TEXT], const bc_callout *callout);
/* "R ≤ 0.5 % mean, 420–680 nm, 0–30°" */
void bc_plot_callout(char to[BC_CHART_TEXT], const bc_callout *callout);
/* "≤ 0.5 %", "chroma ≤ 8", "a* 2 ± 4". */
#define BC_PLOT_LIMIT (2 * BC_PLOT_NUMBER + 64)
void bc_plot_limit(const bc_callout *callout, char to[BC_PLOT_LIMIT]);
/* "average ", "luminous ", or nothing. */
const char *bc_plot_mean_word(const bc_callout *callout);
/* a, b, ... z, aa, ab, ... */
void bc_plot_letter(char to[BC_CHART_BRIEF], size_t index);

/* The hatched region of a `max` or `min` row, or the line of an average's limit, with its entry in the key. `letter`
 * may be "". */
void bc_plot_add_callout(bc_chart *chart, const bc_callout *callout, const char *letter);

/* Whether no finding before it is of the same callout: one of each callout, whatever the substrates. */
bool bc_plot_is_first_finding(const bc_check_result *result, size_t finding);

/* Of a callout's findings on all substrates, the one that uses most of the limit; NULL where it has none. */
const bc_finding *bc_plot_worst_finding(const bc_check_result *result, const bc_callout *callout);

/* The letter that a check's picture calls a callout by; "" where there is one callout only. */
void bc_plot_callout_letter(const bc_check_result *result, const bc_callout *callout, char to[BC_CHART_BRIEF]);

/* The panels of a check, for bc_plot_check() and bc_plot_design(), and the notes beneath. */
void bc_plot_check_panels(bc_chart *chart, const bc_check_report *report, const bc_check_curves *curves);
void bc_plot_check_notes(bc_chart *chart, const bc_check_report *report);
/* The panels of simulated runs, for a page too. */
void bc_plot_yield_panels(bc_chart *chart, const bc_yield_report *report);
/* The layers, n against depth, at one wavelength. */
bc_status bc_plot_stack_panel(bc_chart *chart, const bc_stack *stack, double at_nm, bc_error *error);

#endif
