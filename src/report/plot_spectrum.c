/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/plot_words.h"
#include "print.h"
#include <math.h>
#include <stdio.h>

#define ABSORBS 1e-9 /* fraction: less is the rounding of 1 - R - T */

static const double *values_of(const bc_spectrum *spectrum, bc_quantity quantity, bc_plane_or_mean plane)
{
    return quantity == BC_R ? spectrum->R[plane] : quantity == BC_T ? spectrum->T[plane] : spectrum->A[plane];
}

static int count_planes(const bc_spectrum_report *report)
{
    return report->polarization == BC_POL_EACH ? 2 : 1;
}

static bc_plane_or_mean plane_at(const bc_spectrum_report *report, int index)
{
    static const bc_plane_or_mean first[] = {[BC_POL_UNPOLARIZED] = BC_PLANE_UNPOLARIZED,
                                             [BC_POL_S] = BC_PLANE_S,
                                             [BC_POL_P] = BC_PLANE_P,
                                             [BC_POL_EACH] = BC_PLANE_S};
    return index == 0 ? first[report->polarization] : BC_PLANE_P;
}

/* At normal incidence s and p are one curve. */
static bool is_repeated(const bc_spectrum_report *report, size_t angle, bc_plane_or_mean plane)
{
    return report->aoi_rad[angle] == 0.0 && report->polarization == BC_POL_EACH && plane == BC_PLANE_P;
}

static bc_plot_extent extent_of(size_t stacks, const bc_spectrum_report *reports, bc_quantity quantity)
{
    bc_plot_extent extent = BC_PLOT_NO_EXTENT;
    for (size_t a = 0; a < stacks * reports->angles; a++)
        for (int p = 0; p < count_planes(reports); p++) {
            const bc_spectrum_report *report = &reports[a / reports->angles];
            const bc_spectrum *spectrum = &report->spectrum[a % reports->angles];
            bc_plot_stretch(&extent, spectrum->count, spectrum->wavelength_nm,
                            values_of(spectrum, quantity, plane_at(report, p)), -HUGE_VAL, HUGE_VAL);
        }
    return extent;
}

/* `stack` 0: there is but one. */
static void label_of(const bc_spectrum_report *report, size_t stack, size_t angle, bc_plane_or_mean plane,
                     char to[BC_CHART_TEXT])
{
    char number[24] = "";
    static const char *const word[] = {[BC_PLANE_S] = " s", [BC_PLANE_P] = " p", [BC_PLANE_UNPOLARIZED] = ""};
    if (stack > 0)
        bc_print(number, sizeof number, "%zu, ", stack);
    bc_print(to, BC_CHART_TEXT, "%s%.4g°%s", number, bc_degrees(report->aoi_rad[angle]),
             report->aoi_rad[angle] == 0.0 ? "" : word[plane]);
}

/* Each stack has a style of its own for the first of its curves; further angles and planes follow after all stacks. */
static void add_curves(bc_chart *chart, const bc_spectrum_report *report, size_t stack, size_t stacks,
                       bc_quantity quantity, bool named)
{
    int style = (int)stack;
    for (size_t a = 0; a < report->angles; a++) {
        const bc_spectrum *spectrum = &report->spectrum[a];
        for (int p = 0; p < count_planes(report); p++) {
            const bc_plane_or_mean plane = plane_at(report, p);
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
            item->style = style;
            style += (int)stacks;
            label_of(report, stacks > 1 ? stack + 1 : 0, a, plane, label);
            if (named)
                bc_chart_add_key(chart, BC_CHART_EVERYWHERE, item->kind, item->style, false, label);
        }
    }
}

static void add_panel(bc_chart *chart, size_t stacks, const bc_spectrum_report *report, bc_quantity quantity,
                      bool named)
{
    const bc_spectrum *spectrum = &report->spectrum[0];
    bc_chart_panel *panel = bc_chart_add_panel(chart);
    if (panel == NULL)
        return;
    bc_plot_quantity_axis(quantity, &panel->y);
    panel->y.range = bc_plot_range(extent_of(stacks, report, quantity));
    bc_plot_wavelength_axis(spectrum->wavelength_nm[0], spectrum->wavelength_nm[spectrum->count - 1], &panel->x);
    panel->x_below = true;
    if (!named && chart->panels == 1) {
        const bc_callout light = {
            .aoi_from_rad = report->aoi_rad[0], .aoi_to_rad = report->aoi_rad[0], .polarization = report->polarization};
        bc_plot_light(panel->heading, &light);
    }
    for (size_t s = 0; s < stacks; s++)
        add_curves(chart, &report[s], s, stacks, quantity, named);
}

static void add_notes(bc_chart *chart, size_t stacks, const char *const *path)
{
    bc_chart_note *note;
    for (size_t s = 0; stacks > 1 && s < stacks; s++) {
        char name[200];
        note = bc_chart_add_note(chart);
        if (note == NULL)
            return;
        bc_print(note->mark, sizeof note->mark, "%zu", s + 1);
        bc_plot_name(chart, name, sizeof name, path[s]);
        bc_print(note->text, sizeof note->text, "%s", name);
    }
    note = bc_chart_add_note(chart);
    if (note != NULL)
        bc_print(note->text, sizeof note->text, "%s", BC_PREDICTED);
}

bc_status bc_plot_spectra(size_t stacks, const bc_spectrum_report *reports, const char *const *path, unsigned only,
                          const bc_plot_options *options, bc_text *out, bc_error *error)
{
    const bool named =
        stacks > 1 || reports->angles > 1 || (reports->polarization == BC_POL_EACH && reports->aoi_rad[0] > 0.0);
    bc_chart chart;
    bc_chart_open(&chart, options);
    if (only == 0)
        only = 1u << BC_R | 1u << BC_T | (extent_of(stacks, reports, BC_A).most > ABSORBS ? 1u << BC_A : 0);
    for (bc_quantity quantity = BC_R; quantity <= BC_A; quantity++)
        if ((only & 1u << quantity) != 0)
            add_panel(&chart, stacks, reports, quantity, named);
    if (chart.panels > 0)
        chart.panel[chart.panels - 1].x_below = false;
    add_notes(&chart, stacks, path);
    return bc_chart_write(&chart, options, out, error);
}

bc_status bc_plot_spectrum(const bc_spectrum_report *report, unsigned only, const bc_plot_options *options,
                           bc_text *out, bc_error *error)
{
    return bc_plot_spectra(1, report, NULL, only, options, out, error);
}
