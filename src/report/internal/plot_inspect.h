/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_PLOT_INSPECT_H
#define BLOOMCOAT_REPORT_PLOT_INSPECT_H
/*
 * What the pictures of one witness and of a lot share.
 */
#include "inspect_words.h"
#include "plot_words.h"
#include <bloomcoat/colour_path.h>

/* The measured quantity, a panel of curves and one of differences. */
typedef struct bc_seen {
    const bc_inspect_report *report;
    bc_quantity quantity;
    double from_nm, to_nm; /* what is shown */
    bool limited;          /* a callout applies to these curves */
} bc_seen;

/* The overlay of one witness; its count is 0 where the quantity was not measured. */
const bc_overlay *bc_seen_overlay(const bc_inspect_result *result, bc_quantity quantity);
/* Whether a callout is about the very curve that was measured: its region may be drawn around it. */
bool bc_seen_concerns(const bc_inspect_finding *finding, bc_quantity quantity);
/* What is to be shown of a quantity: the scan, or as much of it as lies near the bands of the callouts. */
bc_seen bc_seen_of(const bc_inspect_report *report, bc_quantity quantity);
/* Stretched over what counts for the height of a panel: inside the bands where there are any. */
void bc_seen_stretch(const bc_seen *seen, const bc_overlay *overlay, const double *value, bc_plot_extent *extent);

/* A panel of curves with room for all `values`, and one of differences; the regions and worst points in the first. */
bc_chart_panel *bc_seen_add_panel(bc_chart *chart, const bc_seen *seen, bc_plot_extent values);
bc_chart_panel *bc_seen_add_differences(bc_chart *chart, const bc_seen *seen, bc_plot_extent values, bool last);
void bc_seen_add_callouts(bc_chart *chart, const bc_seen *seen);
/* A curve, or points where there is one wavelength only. */
void bc_seen_add_curve(bc_chart *chart, const bc_overlay *overlay, const double *value, int style);

/* The letter of a callout; "" where there is one only. */
void bc_seen_letter(const bc_inspect_report *report, size_t callout, char to[BC_CHART_BRIEF]);
/* "R ≤ 0.5 % ... Measured 0.47 ± 0.05 % at 512 nm; uses 94 % of the limit; accept.", a note for each callout. */
void bc_seen_add_notes(bc_chart *chart, const bc_inspect_report *report);

/* The panels without notes, for a page too. */
void bc_plot_inspect_panels(bc_chart *chart, const bc_inspect_report *report);
void bc_plot_lot_panels(bc_chart *chart, const bc_inspect_report *report);
/* The measured spectra alone, for a customer's page. */
void bc_plot_measured_panels(bc_chart *chart, const bc_inspect_report *report);
void bc_plot_lot_notes(bc_chart *chart, const bc_inspect_report *report);

/* Where callouts ask for the colour of what was measured, or for its luminous value. */
bool bc_inspect_sees(const bc_inspect_finding *finding);
/* And no callout before this one asks for the same. */
bool bc_inspect_sees_anew(const bc_inspect_report *report, size_t callout);
typedef enum bc_seen_curve { BC_SEEN_MEASURED, BC_SEEN_DESIGN, BC_SEEN_FITTED } bc_seen_curve;
/* In the callout's light and to its eye; false where the scan does not reach. */
bool bc_inspect_colour(const bc_inspect_result *result, const bc_callout *callout, bc_seen_curve which,
                       bc_colour *colour);
void bc_plot_inspect_colours(bc_chart *chart, const bc_inspect_report *report);

#endif
