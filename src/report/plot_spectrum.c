/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/plot_words.h"
#include "print.h"
#include <math.h>
#include <stdio.h>

#define ABSORBS 1e-9 /* fraction: less is the rounding of 1 - R - T */

static const double *values_of(const bc_spectrum *spectrum, bc_quantity quantity, bc_polarization plane)
{
    return quantity == BC_R ? spectrum->R[plane] : quantity == BC_T ? spectrum->T[plane] : spectrum->A[plane];
}

static int count_planes(const bc_spectrum_report *report)
{
    return report->polarization == BC_POL_EACH ? 2 : 1;
}

static bc_polarization plane_at(const bc_spectrum_report *report, int index)
{
    if (report->polarization != BC_POL_EACH)
        return report->polarization;
    return index == 0 ? BC_POL_S : BC_POL_P;
}

/* At normal incidence s and p are one curve. */
static bool is_repeated(const bc_spectrum_report *report, size_t angle, bc_polarization plane)
{
    return report->aoi_rad[angle] == 0.0 && report->polarization == BC_POL_EACH && plane == BC_POL_P;
}

static bc_plot_extent extent_of(const bc_spectrum_report *report, bc_quantity quantity)
{
    bc_plot_extent extent = BC_PLOT_NO_EXTENT;
    for (size_t a = 0; a < report->angles; a++)
        for (int p = 0; p < count_planes(report); p++)
            bc_plot_stretch(&extent, report->spectrum[a].count, report->spectrum[a].wavelength_nm,
                            values_of(&report->spectrum[a], quantity, plane_at(report, p)), -HUGE_VAL, HUGE_VAL);
    return extent;
}

static void label_of(const bc_spectrum_report *report, size_t angle, bc_polarization plane, char to[BC_CHART_TEXT])
{
    static const char *const word[] = {[BC_POL_S] = " s", [BC_POL_P] = " p", [BC_POL_UNPOLARIZED] = ""};
    bc_print(to, BC_CHART_TEXT, "%.4g°%s", bc_degrees(report->aoi_rad[angle]),
             report->aoi_rad[angle] == 0.0 ? "" : word[plane]);
}

static void add_curves(bc_chart *chart, const bc_spectrum_report *report, bc_quantity quantity, bool named)
{
    int style = 0;
    for (size_t a = 0; a < report->angles; a++) {
        const bc_spectrum *spectrum = &report->spectrum[a];
        for (int p = 0; p < count_planes(report); p++) {
            const bc_polarization plane = plane_at(report, p);
            bc_chart_item *item;
            char label[BC_CHART_TEXT];
            if (is_repeated(report, a, plane))
                continue;
            item = bc_chart_add(chart, spectrum->count == 1 ? BC_CHART_DOTS : BC_CHART_LINE);
            if (item == NULL)
                return;
            item->count = spectrum->count;
            item->x = spectrum->wavelength_nm;
            item->y = values_of(spectrum, quantity, plane);
            item->scale = 100.0;
            item->style = style++;
            label_of(report, a, plane, label);
            if (named)
                bc_chart_add_key(chart, BC_CHART_EVERYWHERE, item->kind, item->style, false, label);
        }
    }
}

static void add_panel(bc_chart *chart, const bc_spectrum_report *report, bc_quantity quantity, bool named)
{
    const bc_spectrum *spectrum = &report->spectrum[0];
    bc_chart_panel *panel = bc_chart_add_panel(chart);
    if (panel == NULL)
        return;
    bc_plot_quantity_axis(quantity, &panel->y);
    panel->y.range = bc_plot_range(extent_of(report, quantity));
    bc_plot_wavelength_axis(spectrum->wavelength_nm[0], spectrum->wavelength_nm[spectrum->count - 1], &panel->x);
    panel->x_below = true;
    if (!named && chart->panels == 1) {
        const bc_callout light = {
            .aoi_from_rad = report->aoi_rad[0], .aoi_to_rad = report->aoi_rad[0], .polarization = report->polarization};
        bc_plot_light(panel->heading, &light);
    }
    add_curves(chart, report, quantity, named);
}

bc_status bc_plot_spectrum(const bc_spectrum_report *report, unsigned only, const bc_plot_options *options,
                           bc_text *out, bc_error *error)
{
    const bool named = report->angles > 1 || (report->polarization == BC_POL_EACH && report->aoi_rad[0] > 0.0);
    bc_chart chart;
    bc_chart_note *note;
    bc_chart_open(&chart, options);
    if (only == 0)
        only = 1u << BC_R | 1u << BC_T | (extent_of(report, BC_A).most > ABSORBS ? 1u << BC_A : 0);
    for (bc_quantity quantity = BC_R; quantity <= BC_A; quantity++)
        if ((only & 1u << quantity) != 0)
            add_panel(&chart, report, quantity, named);
    if (chart.panels > 0)
        chart.panel[chart.panels - 1].x_below = false;
    note = bc_chart_add_note(&chart);
    if (note != NULL)
        bc_print(note->text, sizeof note->text, "%s", BC_PREDICTED);
    return bc_chart_write(&chart, options, out, error);
}
