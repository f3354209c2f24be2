/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_PLOT_INSPECT_H
#define BLOOMCOAT_REPORT_PLOT_INSPECT_H
/*
 * What the pictures of one witness and of a lot share.
 */
#include "inspect_words.h"
#include "plot_words.h"

/* The measured quantity, a panel of curves and one of differences. */
typedef struct bc_seen {
    const bc_inspect_report *report;
    bc_quantity quantity;
    double from_nm, to_nm; /* what is shown */
    bool limited;          /* a callout applies to these curves */
} bc_seen;

/* The overlay of one witness; its count is 0 where the quantity was not measured. */
const bc_overlay *bc_seen_overlay(const bc_inspect_result *result, bc_quantity quantity);
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

#endif
