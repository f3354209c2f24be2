/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The picture of a single layer's index: measured and fitted, their difference, n, and k where there is any.
 */
#include "internal/chart_scale.h"
#include "internal/plot_words.h"
#include "print.h"
#include <math.h>
#include <string.h>

static bc_chart_item *add_line(bc_chart *chart, size_t count, const double *x, const double *y, double scale, int style)
{
    bc_chart_item *item = bc_chart_add(chart, BC_CHART_LINE);
    if (item == NULL)
        return NULL;
    item->count = count;
    item->x = x;
    item->y = y;
    item->scale = scale;
    item->style = style;
    return item;
}

static bc_chart_panel *add_panel(bc_chart *chart, const bc_layer_index_result *result, const char *name,
                                 const char *unit, bc_plot_extent extent)
{
    bc_chart_panel *panel = bc_chart_add_panel(chart);
    const double room = fmax(0.06 * (extent.most - extent.least), 1e-6);
    if (panel == NULL)
        return NULL;
    bc_print(panel->y.name, sizeof panel->y.name, "%s", name);
    bc_print(panel->y.unit, sizeof panel->y.unit, "%s", unit);
    bc_plot_wavelength_axis(result->wavelength_nm[0], result->wavelength_nm[result->count - 1], &panel->x);
    panel->x_below = true;
    panel->y.range = bc_chart_whole_steps((bc_chart_range){extent.least - room, extent.most + room}, 5);
    return panel;
}

static void stretch(bc_plot_extent *extent, size_t count, const double *x, const double *y)
{
    bc_plot_stretch(extent, count, x, y, -HUGE_VAL, HUGE_VAL);
}

static void scale_extent(bc_plot_extent *extent, double factor)
{
    extent->least *= factor;
    extent->most *= factor;
}

static void add_scans(bc_chart *chart, const bc_layer_index_report *report)
{
    const bc_layer_index_result *result = report->result;
    bc_plot_extent extent = BC_PLOT_NO_EXTENT;
    for (size_t c = 0; c < result->curves; c++)
        stretch(&extent, result->curve[c].count, result->curve[c].wavelength_nm, result->curve[c].measured);
    scale_extent(&extent, 100.0);
    if (add_panel(chart, result, "R, T", "%", extent) == NULL)
        return;
    for (size_t c = 0; c < result->curves; c++) {
        const bc_layer_curve *curve = &result->curve[c];
        add_line(chart, curve->count, curve->wavelength_nm, curve->measured, 100.0, BC_STYLE_INK);
        add_line(chart, curve->count, curve->wavelength_nm, curve->fitted, 100.0, curve->quantity == BC_R ? 0 : 1);
        bc_chart_add_key(chart, 0, BC_CHART_LINE, curve->quantity == BC_R ? 0 : 1, false,
                         curve->quantity == BC_R ? "R fitted" : "T fitted");
    }
    bc_chart_add_key(chart, 0, BC_CHART_LINE, BC_STYLE_INK, false, "measured");
}

static void add_residuals(bc_chart *chart, const bc_layer_index_report *report)
{
    const bc_layer_index_result *result = report->result;
    bc_plot_extent extent = BC_PLOT_NO_EXTENT;
    double *off[64];
    const size_t curves = result->curves < 64 ? result->curves : 64;
    for (size_t c = 0; c < curves; c++) {
        const bc_layer_curve *curve = &result->curve[c];
        off[c] = bc_chart_array(chart, curve->count);
        if (off[c] == NULL)
            return;
        for (size_t i = 0; i < curve->count; i++)
            off[c][i] = 100.0 * (curve->measured[i] - curve->fitted[i]);
        stretch(&extent, curve->count, curve->wavelength_nm, off[c]);
    }
    bc_chart_panel *panel = add_panel(chart, result, "measured − fitted", "%", extent);
    if (panel == NULL)
        return;
    panel->weight = 0.6;
    for (size_t c = 0; c < curves; c++)
        add_line(chart, result->curve[c].count, result->curve[c].wavelength_nm, off[c], 1.0,
                 result->curve[c].quantity == BC_R ? 0 : 1);
}

static void add_index(bc_chart *chart, const bc_layer_index_report *report, bool of_n, bool last)
{
    const bc_layer_index_result *result = report->result;
    const double *value = of_n ? result->n : result->k, *sigma = of_n ? result->n_sigma : result->k_sigma;
    double *lower = bc_chart_array(chart, result->count), *upper = bc_chart_array(chart, result->count);
    bc_plot_extent extent = BC_PLOT_NO_EXTENT;
    bc_chart_panel *panel;
    bc_chart_item *item;
    if (lower == NULL || upper == NULL)
        return;
    for (size_t i = 0; i < result->count; i++) {
        lower[i] = value[i] - report->setup->coverage_factor * sigma[i];
        upper[i] = value[i] + report->setup->coverage_factor * sigma[i];
        if (!of_n)
            lower[i] = fmax(lower[i], 0.0);
    }
    stretch(&extent, result->count, result->wavelength_nm, lower);
    stretch(&extent, result->count, result->wavelength_nm, upper);
    panel = add_panel(chart, result, of_n ? "n" : "k", "", extent);
    if (panel == NULL)
        return;
    panel->x_below = !last;
    panel->weight = 0.8;
    if (!of_n)
        panel->y.range.from = 0.0;
    item = bc_chart_add(chart, BC_CHART_FILL);
    if (item == NULL)
        return;
    item->count = result->count;
    item->x = result->wavelength_nm;
    item->y = upper;
    item->lower = lower;
    item->bad = true;
    add_line(chart, result->count, result->wavelength_nm, value, 1.0, 0);
}

bc_status bc_plot_layer_index(const bc_layer_index_report *report, const bc_plot_options *options, bc_text *out,
                              bc_error *error)
{
    const bool absorbs = report->result->chosen.k != BC_K_NONE;
    bc_chart chart;
    bc_chart_note *note;
    bc_chart_open(&chart, options);
    add_scans(&chart, report);
    add_residuals(&chart, report);
    add_index(&chart, report, true, !absorbs);
    if (absorbs)
        add_index(&chart, report, false, true);
    note = bc_chart_add_note(&chart);
    if (note != NULL)
        bc_print(note->text, sizeof note->text, "One layer, %.1f nm; bands: expanded uncertainty (k = %g).",
                 report->result->thickness_nm[0], report->setup->coverage_factor);
    return bc_chart_write(&chart, options, out, error);
}
