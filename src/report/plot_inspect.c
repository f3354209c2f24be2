/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/plot_inspect.h"
#include "internal/numbers.h"
#include "print.h"
#include <math.h>
#include <string.h>

#define MEASURED BC_STYLE_INK
#define DESIGN   1
#define FITTED   0
#define NAME     60

/* The expanded uncertainty of each value; NULL where there is none. */
static const double *uncertainty_of(bc_chart *chart, const bc_inspect_report *report, const bc_overlay *overlay)
{
    double *expanded = bc_chart_array(chart, overlay->count);
    bool any = false;
    for (size_t i = 0; expanded != NULL && i < overlay->count; i++) {
        expanded[i] = report->setup->coverage_factor * hypot(overlay->noise[i], overlay->systematic[i]);
        any = any || expanded[i] > 0.0;
    }
    return any ? expanded : NULL;
}

/* The band of width 2 U about the measured values, or about no difference. */
static void add_uncertainty(bc_chart *chart, const bc_inspect_report *report, const bc_overlay *overlay,
                            bool about_zero)
{
    const double *expanded = uncertainty_of(chart, report, overlay);
    double *lower = bc_chart_array(chart, overlay->count), *upper = bc_chart_array(chart, overlay->count);
    bc_chart_item *item;
    char key[BC_CHART_TEXT];
    if (lower == NULL || upper == NULL || expanded == NULL || overlay->count < 2)
        return;
    for (size_t i = 0; i < overlay->count; i++) {
        const double middle = about_zero ? 0.0 : overlay->measured[i];
        lower[i] = middle - expanded[i];
        upper[i] = middle + expanded[i];
    }
    item = bc_chart_add(chart, BC_CHART_FILL);
    if (item == NULL)
        return;
    item->count = overlay->count;
    item->x = overlay->wavelength_nm;
    item->y = upper;
    item->lower = lower;
    item->scale = 100.0;
    item->style = MEASURED;
    item->bad = true; /* pale: curves are seen upon it */
    bc_print(key, sizeof key, "uncertainty (k = %g)", report->setup->coverage_factor);
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_FILL, MEASURED, true, key);
}

static void add_curves(bc_chart *chart, const bc_seen *seen, const bc_overlay *overlay)
{
    const bc_inspect_report *report = seen->report;
    const bc_chart_kind kind = overlay->count == 1 ? BC_CHART_DOTS : BC_CHART_LINE;
    bc_plot_extent values = BC_PLOT_NO_EXTENT;
    bc_chart_panel *panel;
    char name[NAME], angle[64];
    bc_callout light = {.aoi_from_rad = report->setup->aoi_rad,
                        .aoi_to_rad = report->setup->aoi_rad,
                        .polarization = report->setup->polarization};
    bc_seen_stretch(seen, overlay, overlay->measured, &values);
    bc_seen_stretch(seen, overlay, overlay->design, &values);
    bc_seen_stretch(seen, overlay, overlay->fitted, &values);
    panel = bc_seen_add_panel(chart, seen, values);
    if (panel == NULL)
        return;
    bc_plot_name(chart, name, sizeof name, report->result[0].label);
    bc_plot_light(panel->heading, &light);
    memcpy(angle, panel->heading, sizeof angle);
    angle[sizeof angle - 1] = '\0';
    bc_print(panel->heading, sizeof panel->heading, "%s%s%s", name, name[0] == '\0' ? "" : ": ", angle);
    add_uncertainty(chart, report, overlay, false);
    bc_seen_add_curve(chart, overlay, overlay->measured, MEASURED);
    bc_seen_add_curve(chart, overlay, overlay->design, DESIGN);
    bc_seen_add_curve(chart, overlay, overlay->fitted, FITTED);
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, kind, MEASURED, false, "measured");
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, kind, DESIGN, false, "design");
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, kind, FITTED, false,
                     report->result[0].good_fit ? "fitted" : "nearest fit, no explanation");
    bc_seen_add_callouts(chart, seen);
}

static void add_differences(bc_chart *chart, const bc_seen *seen, const bc_overlay *overlay, bool last)
{
    const bc_chart_kind kind = overlay->count == 1 ? BC_CHART_DOTS : BC_CHART_LINE;
    bc_plot_extent values = BC_PLOT_NO_EXTENT;
    const double *uncertainty = uncertainty_of(chart, seen->report, overlay);
    size_t panel;
    if (uncertainty != NULL) {
        bc_seen_stretch(seen, overlay, uncertainty, &values);
        values.least = -values.most;
    }
    bc_seen_stretch(seen, overlay, overlay->from_design, &values);
    bc_seen_stretch(seen, overlay, overlay->from_fitted, &values);
    if (bc_seen_add_differences(chart, seen, values, last) == NULL)
        return;
    panel = chart->panels - 1;
    add_uncertainty(chart, seen->report, overlay, true);
    bc_seen_add_curve(chart, overlay, overlay->from_design, DESIGN);
    bc_seen_add_curve(chart, overlay, overlay->from_fitted, FITTED);
    bc_chart_add_key(chart, panel, kind, DESIGN, false, "measured − design");
    bc_chart_add_key(chart, panel, kind, FITTED, false, "measured − fitted");
}

/* What was measured of every piece, without a word about how the coating is made or what a file is called. */
static void add_measured(bc_chart *chart, const bc_seen *seen)
{
    const bc_inspect_report *report = seen->report;
    const bc_callout light = {.aoi_from_rad = report->setup->aoi_rad,
                              .aoi_to_rad = report->setup->aoi_rad,
                              .polarization = report->setup->polarization};
    bc_plot_extent values = BC_PLOT_NO_EXTENT;
    bc_chart_panel *panel;
    for (size_t w = 0; w < report->witnesses; w++) {
        const bc_overlay *overlay = bc_seen_overlay(&report->result[w], seen->quantity);
        bc_seen_stretch(seen, overlay, overlay->measured, &values);
    }
    panel = bc_seen_add_panel(chart, seen, values);
    if (panel == NULL)
        return;
    panel->x_below = false;
    bc_plot_light(panel->heading, &light);
    for (size_t w = 0; w < report->witnesses; w++) {
        const bc_overlay *overlay = bc_seen_overlay(&report->result[w], seen->quantity);
        if (overlay->count == 0)
            continue;
        if (report->witnesses == 1)
            add_uncertainty(chart, report, overlay, false);
        bc_seen_add_curve(chart, overlay, overlay->measured, MEASURED);
        bc_chart_add_key(chart, BC_CHART_EVERYWHERE, overlay->count == 1 ? BC_CHART_DOTS : BC_CHART_LINE, MEASURED,
                         false, report->witnesses == 1 ? "measured" : "measured, each piece");
    }
    bc_seen_add_callouts(chart, seen);
}

void bc_plot_measured_panels(bc_chart *chart, const bc_inspect_report *report)
{
    for (bc_quantity quantity = BC_R; quantity <= BC_T; quantity++) {
        const bc_seen seen = bc_seen_of(report, quantity);
        bool measured = false;
        for (size_t w = 0; w < report->witnesses; w++)
            measured = measured || bc_seen_overlay(&report->result[w], quantity)->count > 0;
        if (measured)
            add_measured(chart, &seen);
    }
}

void bc_plot_inspect_panels(bc_chart *chart, const bc_inspect_report *report)
{
    if (report->lot != NULL) {
        bc_plot_lot_panels(chart, report);
        bc_plot_inspect_colours(chart, report);
        return;
    }
    for (bc_quantity quantity = BC_R; quantity <= BC_T; quantity++) {
        const bc_overlay *overlay = bc_seen_overlay(&report->result[0], quantity);
        const bool last = quantity == BC_T || report->result[0].T.count == 0;
        bc_seen seen;
        if (overlay->count == 0)
            continue;
        seen = bc_seen_of(report, quantity);
        add_curves(chart, &seen, overlay);
        add_differences(chart, &seen, overlay, last);
    }
    bc_plot_inspect_colours(chart, report);
}

/* The verdict and what the run did; the curves alone do not say it. */
static void add_verdict(bc_chart *chart, const bc_inspect_report *report)
{
    const bc_inspect_result *result = &report->result[0];
    bc_chart_note *note = bc_chart_add_note(chart);
    bc_text run = {0};
    char *end;
    bc_add_run(&run, result);
    chart->failed = chart->failed || run.failed;
    if (note != NULL && run.data != NULL) {
        end = strchr(run.data, '\n');
        if (end != NULL)
            *end = '\0';
        bc_print(note->text, sizeof note->text, "Verdict: %s%s%.330s%s. %.400s",
                 result->count == 0 ? "none, no callouts were given" : bc_conformity_word(result->verdict),
                 result->evidence.held == BC_HELD_NOT ? "" : ", held: ", result->evidence.text,
                 bc_uncertainty_given(report) ? "" : " (no uncertainty of the measurement was given)", run.data);
    }
    bc_text_clear(&run);
}

bc_status bc_plot_inspect(const bc_inspect_report *report, const bc_plot_options *options, bc_text *out,
                          bc_error *error)
{
    bc_chart chart;
    bc_chart_open(&chart, options);
    bc_plot_inspect_panels(&chart, report);
    if (report->lot != NULL)
        bc_plot_lot_notes(&chart, report);
    else
        add_verdict(&chart, report);
    bc_seen_add_notes(&chart, report);
    return bc_chart_write(&chart, options, out, error);
}
