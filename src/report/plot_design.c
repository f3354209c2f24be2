/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_scale.h"
#include "internal/plot_words.h"
#include "print.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define END_IN_STRIP 0.08 /* of the layers' thickness: what is shown of the medium and the glass */
#define STRIP_WEIGHT 0.55 /* height of the strip, in panels */

/* The number of different layer materials before layer `j`'s own. */
static int material_place(const bc_stack *stack, size_t j)
{
    int place = 0;
    for (size_t i = 0; i < j; i++) {
        bool first = true;
        if (stack->layer[i].material.dispersion == stack->layer[j].material.dispersion)
            return material_place(stack, i);
        for (size_t before = 0; before < i; before++)
            first = first && stack->layer[before].material.dispersion != stack->layer[i].material.dispersion;
        place += first;
    }
    return place;
}

static bc_chart_item *add_bar(bc_chart *chart, const bc_medium *medium, double from, double to, double at_nm,
                              bc_status *status, bc_error *error)
{
    bc_chart_item *item = bc_chart_add(chart, BC_CHART_BAR);
    double n = 1.0;
    if (*status == BC_OK)
        *status = bc_dispersion_index(medium->dispersion, 1, &at_nm, &n, NULL, error);
    if (item == NULL)
        return NULL;
    item->from = from;
    item->to = to;
    item->high = n;
    bc_print(item->text, sizeof item->text, "%s", medium->name);
    return item;
}

static bc_status add_layers(bc_chart *chart, const bc_stack *stack, double at_nm, double end, bc_error *error)
{
    bc_status status = BC_OK;
    double height = 0.0;
    bc_chart_item *item = add_bar(chart, &stack->substrate, -end, 0.0, at_nm, &status, error);
    if (item != NULL)
        item->bad = true;
    for (size_t j = stack->layers; j-- > 0;) {
        const bc_layer *layer = &stack->layer[j];
        item = add_bar(chart, &layer->material, height, height + layer->thickness_nm, at_nm, &status, error);
        height += layer->thickness_nm;
        if (item != NULL) {
            item->style = material_place(stack, j);
            bc_chart_add_key(chart, chart->panels - 1, BC_CHART_BAR, item->style, false, layer->material.name);
        }
    }
    item = add_bar(chart, &stack->incident, height, height + end, at_nm, &status, error);
    if (item != NULL)
        item->bad = true;
    return status;
}

/* Bars stand on the axis' lower end: 1, or less where a metal's n is. */
static void set_heights(bc_chart_panel *panel)
{
    double least = 1.0, most = 1.0;
    for (size_t i = 0; i < panel->items; i++) {
        least = fmin(least, panel->item[i].high);
        most = fmax(most, panel->item[i].high);
    }
    panel->y.range = bc_chart_whole_steps((bc_chart_range){least < 1.0 ? 0.0 : 1.0, most * 1.05}, 4);
    for (size_t i = 0; i < panel->items; i++)
        panel->item[i].low = panel->y.range.from;
}

bc_status bc_plot_stack_panel(bc_chart *chart, const bc_stack *stack, double at_nm, bc_error *error)
{
    const double total = bc_stack_total_nm(stack), end = total > 0.0 ? END_IN_STRIP * total : 1.0;
    bc_chart_panel *panel = bc_chart_add_panel(chart);
    bc_status status;
    if (panel == NULL)
        return bc_fail_memory(error);
    panel->weight = STRIP_WEIGHT;
    bc_print(panel->heading, sizeof panel->heading, "%zu layer%s, %.1f nm", stack->layers,
             stack->layers == 1 ? "" : "s", total);
    bc_print(panel->x.name, sizeof panel->x.name, "Distance from the substrate");
    bc_print(panel->x.unit, sizeof panel->x.unit, "nm");
    bc_print(panel->y.name, sizeof panel->y.name, "n at %.5g nm", at_nm);
    bc_print(panel->y.brief, sizeof panel->y.brief, "n");
    panel->x.range = (bc_chart_range){-end, total + end};
    panel->x.numbered = (bc_chart_range){total > 0.0 ? 0.0 : -1.0, total > 0.0 ? total : -1.0};
    status = add_layers(chart, stack, at_nm, end, error);
    set_heights(&chart->panel[chart->panels - 1]);
    return status;
}

bc_status bc_plot_design(const bc_design_report *report, const bc_check_curves *curves, const bc_plot_options *options,
                         bc_text *out, bc_error *error)
{
    const bc_check_result *result = report->check.result;
    const bc_finding *decisive = &result->finding[result->decisive];
    const double at_nm = 0.5 * (decisive->callout->from_nm + decisive->callout->to_nm);
    bc_stack shown = *report->check.stack;
    bc_chart chart;
    bc_status status;
    shown.substrate = *decisive->substrate;
    bc_chart_open(&chart, options);
    bc_plot_check_panels(&chart, &report->check, curves);
    status = bc_plot_stack_panel(&chart, &shown, at_nm, error);
    if (status != BC_OK) {
        bc_chart_clear(&chart);
        return status;
    }
    bc_plot_check_notes(&chart, &report->check);
    return bc_chart_write(&chart, options, out, error);
}
