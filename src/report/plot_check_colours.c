/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/plot_colours.h"
#include "print.h"
#include <math.h>

/* Whether an earlier callout has brought the panel of this one. */
static bool has_panel(const bc_check_result *result, size_t f, const bc_colour_panel *panel)
{
    for (size_t before = 0; before < f; before++)
        if (bc_colour_panel_holds(panel, result->finding[before].callout))
            return true;
    return false;
}

/* Where a callout is worst, named by its letter and angle. A luminous value has its place on the axis of R or T. */
static void add_worst(bc_chart *chart, const bc_check_report *report, const bc_colour_panel *panel,
                      const bc_callout *callout, const char *letter)
{
    const bc_finding *worst = bc_plot_worst_finding(report->result, callout);
    char text[BC_CHART_TEXT];
    bc_colour colour;
    if (callout->colour == BC_NO_COLOUR)
        return;
    if (bc_finding_colour(report->stack, report->back, worst, &colour, NULL) != BC_OK) {
        chart->failed = true;
        return;
    }
    bc_print(text, sizeof text, "%s%s%.3g°", letter, letter[0] == '\0' ? "" : ": ", bc_degrees(worst->at_aoi_rad));
    bc_colour_panel_add_mark(chart, panel, &colour, !worst->pass, text, letter);
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_MARK, 0, !worst->pass,
                     worst->pass ? "worst point" : "worst point (not met)");
}

static void add_paths(bc_chart *chart, const bc_check_curves *curves, const bc_colour_panel *panel)
{
    const size_t number = chart->panels - 1;
    size_t paths = 0;
    int style = 0;
    for (size_t p = 0; p < curves->colours.count; p++)
        paths += bc_same_colour(curves->colours.path[p].callout, panel->callout);
    for (size_t p = 0; p < curves->colours.count; p++) {
        const bc_colour_path *path = &curves->colours.path[p];
        char key[BC_CHART_TEXT];
        if (!bc_same_colour(path->callout, panel->callout))
            continue;
        bc_print(key, sizeof key, "%s, %s", path->substrate->name, bc_polarization_word(path->plane));
        if (paths > 1)
            bc_chart_add_key(chart, number, path->count > 1 ? BC_CHART_LINE : BC_CHART_DOTS, style, false, key);
        bc_colour_panel_add_path(chart, panel, path, style++);
    }
}

static void add_panel(bc_chart *chart, const bc_check_report *report, const bc_check_curves *curves,
                      bc_colour_panel *panel)
{
    const bc_check_result *result = report->result;
    char letter[BC_CHART_BRIEF];
    for (size_t p = 0; p < curves->colours.count; p++)
        if (bc_same_colour(curves->colours.path[p].callout, panel->callout))
            bc_colour_panel_reach(panel, curves->colours.path[p].count, curves->colours.path[p].colour);
    for (size_t f = 0; f < result->count; f++)
        if (bc_colour_panel_holds(panel, result->finding[f].callout))
            bc_colour_panel_reach_limit(panel, result->finding[f].callout);
    if (bc_colour_panel_add(chart, panel) == NULL)
        return;
    add_paths(chart, curves, panel);
    for (size_t f = 0; f < result->count; f++) {
        const bc_callout *callout = result->finding[f].callout;
        if (!bc_plot_is_first_finding(result, f) || !bc_colour_panel_holds(panel, callout))
            continue;
        bc_plot_callout_letter(result, callout, letter);
        bc_colour_panel_add_limit(chart, panel, callout, letter);
        add_worst(chart, report, panel, callout, letter);
    }
}

/* Whether a panel has a limit to show, `panel` NULL: whether any of them has. */
static bool has_limit(const bc_check_result *result, const bc_colour_panel *panel)
{
    for (size_t f = 0; f < result->count; f++)
        if (result->finding[f].callout->colour != BC_NO_COLOUR &&
            (panel == NULL || bc_colour_panel_holds(panel, result->finding[f].callout)))
            return true;
    return false;
}

/* Beside panels with limits, one of a luminous value alone would be an empty frame around a point. */
void bc_plot_check_colours(bc_chart *chart, const bc_check_report *report, const bc_check_curves *curves)
{
    for (size_t f = 0; f < report->result->count; f++) {
        const bc_callout *callout = report->result->finding[f].callout;
        bc_colour_panel panel;
        if (!bc_callout_is_seen(callout))
            continue;
        panel = bc_colour_panel_of(callout, bc_is_chromaticity(callout));
        if (!has_panel(report->result, f, &panel) &&
            (has_limit(report->result, &panel) || !has_limit(report->result, NULL)))
            add_panel(chart, report, curves, &panel);
    }
}
