/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/plot_deposit.h"
#include "internal/chart_scale.h"
#include "internal/numbers.h"
#include "print.h"
#include <math.h>
#include <string.h>

#define MINUTES_FROM 600.0 /* seconds of all layers, from which the axis counts minutes */
#define STRIP_WEIGHT 0.55  /* height of the layers, in panels */
#define MOST_VALUES  12    /* layers whose cuts have their signal beside them; of more only their numbers */
#define MOST_NUMBERS 16
#define ROOM         0.03 /* of the axis, after the last cut: its mark is no part of the frame */
#define SIGNAL       0    /* style of the first wavelength */

/* What runs along the axis: time, or thickness at the monitor. */
typedef struct course {
    bool in_time;
    double unit; /* seconds or nm in one of the axis */
    double whole;
} course;

static course course_of(const bc_deposit_result *result)
{
    course along = {isfinite(result->layer_s), 1.0, 0.0};
    if (along.in_time && result->layer_s > MINUTES_FROM)
        along.unit = 60.0;
    for (size_t order = 0; order < result->layers; order++)
        along.whole += (along.in_time ? result->layer[order].time_s : result->layer[order].monitor_nm) / along.unit;
    return along;
}

static double length_of(const course *along, const bc_sheet_layer *layer)
{
    return (along->in_time ? layer->time_s : layer->monitor_nm) / along->unit;
}

static void set_axis(const course *along, bc_chart_axis *axis)
{
    bc_print(axis->name, sizeof axis->name, along->in_time ? "Time, layers alone" : "Thickness at the monitor");
    bc_print(axis->unit, sizeof axis->unit, "%s", !along->in_time ? "nm" : along->unit > 1.0 ? "min" : "s");
    axis->range = (bc_chart_range){0.0, (1.0 + ROOM) * along->whole};
}

/* The place of the layer's wavelength among those in use. */
static int style_of(const bc_deposit_result *result, size_t layer)
{
    int style = SIGNAL;
    for (size_t i = 0; i < layer; i++) {
        bool first = true;
        if (result->layer[i].signal.wavelength_nm == result->layer[layer].signal.wavelength_nm)
            return style_of(result, i);
        for (size_t before = 0; before < i; before++)
            first = first && result->layer[before].signal.wavelength_nm != result->layer[i].signal.wavelength_nm;
        style += first;
    }
    return style;
}

static void add_curve(bc_chart *chart, const bc_deposit_result *result, size_t order, const course *along, double from)
{
    const bc_sheet_layer *layer = &result->layer[order];
    double *x = bc_chart_array(chart, layer->points);
    bc_chart_item *item = bc_chart_add(chart, BC_CHART_LINE);
    char key[BC_CHART_TEXT];
    if (x == NULL || item == NULL)
        return;
    for (size_t i = 0; i < layer->points; i++)
        x[i] = from + length_of(along, layer) * layer->curve_monitor_nm[i] / layer->monitor_nm;
    item->count = layer->points;
    item->x = x;
    item->y = layer->curve_signal;
    item->scale = 100.0;
    item->style = style_of(result, order);
    bc_print(key, sizeof key, "%.6g nm", layer->signal.wavelength_nm);
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_LINE, item->style, false, key);
}

static void add_turnings(bc_chart *chart, const bc_sheet_layer *layer, const course *along, double from)
{
    const bc_layer_signal *signal = &layer->signal;
    double *x = bc_chart_array(chart, signal->turnings), *y = bc_chart_array(chart, signal->turnings);
    bc_chart_item *item;
    if (x == NULL || y == NULL || signal->turnings == 0)
        return;
    item = bc_chart_add(chart, BC_CHART_DOTS);
    if (item == NULL)
        return;
    for (size_t i = 0; i < signal->turnings; i++) {
        x[i] = from + length_of(along, layer) * signal->turning[i].monitor_nm / layer->monitor_nm;
        y[i] = signal->turning[i].signal;
    }
    item->count = signal->turnings;
    item->x = x;
    item->y = y;
    item->scale = 100.0;
    item->style = BC_STYLE_INK;
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_DOTS, BC_STYLE_INK, false, "turning point");
}

static void add_cut(bc_chart *chart, const bc_deposit_result *result, size_t order, double at)
{
    const bc_layer_signal *signal = &result->layer[order].signal;
    const bool crystal = signal->cut_by != BC_CUT_OPTICAL;
    bc_chart_item *item = bc_chart_add(chart, BC_CHART_MARK);
    if (item == NULL)
        return;
    item->from = at;
    item->low = 100.0 * signal->cut;
    item->bad = crystal;
    if (result->layers <= MOST_NUMBERS)
        bc_print(item->brief, sizeof item->brief, "%zu", order + 1);
    if (result->layers <= MOST_VALUES)
        bc_print(item->text, sizeof item->text, "%zu: %.3g %%", order + 1, item->low);
    else
        bc_print(item->text, sizeof item->text, "%s", item->brief);
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_MARK, 0, crystal, crystal ? "cut, better by crystal" : "cut");
}

static void add_boundary(bc_chart *chart, const bc_deposit_result *result, size_t order, double at)
{
    const bool changed = order > 0 && result->layer[order].glass_number != result->layer[order - 1].glass_number;
    bc_chart_item *item = order == 0 ? NULL : bc_chart_add(chart, BC_CHART_RULE);
    if (item == NULL)
        return;
    item->from = at;
    if (changed && result->layers <= MOST_VALUES)
        bc_print(item->text, sizeof item->text, "monitor glass %zu", result->layer[order].glass_number);
}

static void add_signal(bc_chart *chart, const bc_deposit_report *report, const course *along)
{
    const bc_deposit_result *result = report->result;
    bc_plot_extent extent = BC_PLOT_NO_EXTENT;
    bc_chart_panel *panel = bc_chart_add_panel(chart);
    double from = 0.0;
    if (panel == NULL)
        return;
    for (size_t order = 0; order < result->layers; order++)
        bc_plot_stretch(&extent, result->layer[order].points, result->layer[order].curve_monitor_nm,
                        result->layer[order].curve_signal, -HUGE_VAL, HUGE_VAL);
    bc_plot_quantity_axis(report->monitor->signal, &panel->y);
    panel->y.range = bc_plot_range(extent);
    set_axis(along, &panel->x);
    panel->x_below = true;
    bc_print(panel->heading, sizeof panel->heading, "Signal of the monitor glass (%.40s)",
             bc_monitor_glass_of(report)->name);
    for (size_t order = 0; order < result->layers; order++) {
        const bc_sheet_layer *layer = &result->layer[order];
        add_boundary(chart, result, order, from);
        add_curve(chart, result, order, along, from);
        add_turnings(chart, layer, along, from);
        from += length_of(along, layer);
        add_cut(chart, result, order, from);
    }
}

/* The number of different layer materials before the layer's own. */
static int material_place(const bc_deposit_result *result, size_t layer)
{
    int place = 0;
    for (size_t i = 0; i < layer; i++) {
        bool first = true;
        if (result->layer[i].material->dispersion == result->layer[layer].material->dispersion)
            return material_place(result, i);
        for (size_t before = 0; before < i; before++)
            first = first && result->layer[before].material->dispersion != result->layer[i].material->dispersion;
        place += first;
    }
    return place;
}

/* The layers as they grow, n at the monitor's wavelength upwards. */
static void add_layers(bc_chart *chart, const bc_deposit_result *result, const course *along)
{
    bc_chart_panel *panel = bc_chart_add_panel(chart);
    double least = 1.0, most = 1.0, from = 0.0;
    if (panel == NULL)
        return;
    for (size_t order = 0; order < result->layers; order++) {
        least = fmin(least, result->layer[order].signal.n);
        most = fmax(most, result->layer[order].signal.n);
    }
    panel->weight = STRIP_WEIGHT;
    bc_print(panel->y.name, sizeof panel->y.name, "n at the monitor");
    bc_print(panel->y.brief, sizeof panel->y.brief, "n");
    panel->y.range = bc_chart_whole_steps((bc_chart_range){least < 1.0 ? 0.0 : 1.0, most * 1.05}, 4);
    set_axis(along, &panel->x);
    for (size_t order = 0; order < result->layers; order++) {
        const bc_sheet_layer *layer = &result->layer[order];
        bc_chart_item *item = bc_chart_add(chart, BC_CHART_BAR);
        if (item == NULL)
            return;
        item->from = from;
        from += length_of(along, layer);
        item->to = from;
        item->low = chart->panel[chart->panels - 1].y.range.from;
        item->high = layer->signal.n;
        item->style = material_place(result, order);
        bc_print(item->text, sizeof item->text, "%zu %s", order + 1, layer->material->name);
        bc_chart_add_key(chart, chart->panels - 1, BC_CHART_BAR, item->style, false, layer->material->name);
    }
}

void bc_plot_deposit_panels(bc_chart *chart, const bc_deposit_report *report)
{
    const course along = course_of(report->result);
    add_signal(chart, report, &along);
    add_layers(chart, report->result, &along);
}

/* "R of a monitor glass of 517642, back not seen, from vacuum at 0°; 500 nm, the best of 131." */
static void add_monitor_note(bc_chart *chart, const bc_deposit_report *report)
{
    const bc_monitor *monitor = report->monitor;
    const bc_deposit_result *result = report->result;
    const double chosen_nm = result->choice[result->chosen].wavelength_nm;
    bc_chart_note *note = bc_chart_add_note(chart);
    char glass[60], filter[64] = "", wavelength[120];
    if (note == NULL)
        return;
    bc_plot_name(chart, glass, sizeof glass, bc_monitor_glass_of(report)->name);
    if (monitor->bandwidth_nm > 0.0)
        bc_print(filter, sizeof filter, ", filter %.4g" BC_PLOT_NO_BREAK "nm wide", monitor->bandwidth_nm);
    if (result->swept)
        bc_print(wavelength, sizeof wavelength, "%.6g" BC_PLOT_NO_BREAK "nm, the best of %zu wavelengths", chosen_nm,
                 result->choices);
    else if (result->choices == 1)
        bc_print(wavelength, sizeof wavelength, "%.6g" BC_PLOT_NO_BREAK "nm", chosen_nm);
    else
        bc_print(wavelength, sizeof wavelength, "each layer at the surest of %zu wavelengths", result->choices);
    bc_print(note->text, sizeof note->text, "%s of a monitor glass of %s, back %s, from vacuum at %.3g°; %s%s.",
             bc_quantity_word(monitor->signal), glass, monitor->glass_back == BC_BACK_NONE ? "not seen" : "uncoated",
             bc_degrees(monitor->aoi_rad), wavelength, filter);
}

/* "Better cut by crystal: layer 2 (HfO2), 5 (HfO2)." */
static void add_crystal_note(bc_chart *chart, const bc_deposit_result *result)
{
    const bool all = result->layers > 1 && result->crystal == result->layers;
    bc_text words = {0};
    bc_chart_note *note;
    size_t told = 0;
    if (result->crystal == 0)
        return;
    bc_text_add(&words, "Better cut by crystal: %s", all ? "every layer" : "layer");
    for (size_t order = 0; order < result->layers && !all; order++) {
        const bc_sheet_layer *layer = &result->layer[order];
        if (layer->signal.cut_by != BC_CUT_OPTICAL && told++ < MOST_VALUES)
            bc_text_add(&words, "%s %zu (%s)", told == 1 ? "" : ",", order + 1, layer->material->name);
    }
    if (told > MOST_VALUES)
        bc_text_add(&words, " and %zu others", told - MOST_VALUES);
    chart->failed = chart->failed || words.failed;
    note = bc_chart_add_note(chart);
    if (note != NULL && words.data != NULL)
        bc_print(note->text, sizeof note->text, "%.600s.", words.data);
    bc_text_clear(&words);
}

static void add_notes(bc_chart *chart, const bc_deposit_report *report)
{
    bc_chart_note *note;
    add_monitor_note(chart, report);
    add_crystal_note(chart, report->result);
    note = bc_chart_add_note(chart);
    if (note != NULL)
        bc_print(note->text, sizeof note->text, "%s", BC_PREDICTED);
}

bc_status bc_plot_deposit(const bc_deposit_report *report, const bc_plot_options *options, bc_text *out,
                          bc_error *error)
{
    bc_chart chart;
    if (!report->result->has_signal)
        return bc_fail(error, BC_ERROR_INPUT,
                       "found no signal to draw: no wavelength was given, and there is none that every table reaches "
                       "and no layer absorbs; expected one (--monitor-nm)");
    bc_chart_open(&chart, options);
    bc_plot_deposit_panels(&chart, report);
    add_notes(&chart, report);
    return bc_chart_write(&chart, options, out, error);
}
