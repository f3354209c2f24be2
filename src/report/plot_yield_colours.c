/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/plot_colours.h"
#include "print.h"
#include <math.h>

static bool has_panel(const bc_yield_result *result, size_t cloud, const bc_colour_panel *panel)
{
    for (size_t before = 0; before < cloud; before++)
        if (bc_colour_panel_holds(panel, result->cloud[before].callout))
            return true;
    return false;
}

/* The runs of one callout about the design. Two that differ by the angle alone look different. */
static void add_cloud(bc_chart *chart, const bc_yield_result *result, const bc_colour_panel *panel,
                      const bc_colour_cloud *cloud, int style)
{
    char text[BC_CHART_TEXT];
    if (!result->no_errors) {
        bc_colour_panel_add_cloud(chart, panel, result->cloud_runs, cloud->scatter.run, style);
        bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_DOTS, 0, false, "simulated runs");
    }
    bc_print(text, sizeof text, "%.3g°%s%s", bc_degrees(cloud->aoi_rad),
             cloud->callout->polarization == BC_POL_EACH ? BC_PLOT_NO_BREAK : "",
             cloud->callout->polarization == BC_POL_EACH ? bc_polarization_word(cloud->polarization) : "");
    bc_colour_panel_add_mark(chart, panel, &cloud->design, false, text, "");
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_MARK, 0, false, "design");
}

static void add_panel(bc_chart *chart, const bc_yield_report *report, bc_colour_panel *panel)
{
    const bc_yield_result *result = report->result;
    char letter[BC_CHART_BRIEF] = "";
    int style = 0;
    for (size_t c = 0; c < result->clouds; c++) {
        const bc_colour_cloud *cloud = &result->cloud[c];
        if (!bc_same_colour(cloud->callout, panel->callout))
            continue;
        bc_colour_panel_reach(panel, 1, &cloud->design);
        bc_colour_panel_reach(panel, result->cloud_runs, cloud->scatter.run);
    }
    for (size_t c = 0; c < report->callouts->count; c++)
        if (bc_colour_panel_holds(panel, &report->callouts->callout[c]))
            bc_colour_panel_reach_limit(panel, &report->callouts->callout[c]);
    if (bc_colour_panel_add(chart, panel) == NULL)
        return;
    for (size_t c = 0; c < report->callouts->count; c++) {
        if (!bc_colour_panel_holds(panel, &report->callouts->callout[c]))
            continue;
        if (report->callouts->count > 1)
            bc_plot_letter(letter, c);
        bc_colour_panel_add_limit(chart, panel, &report->callouts->callout[c], letter);
    }
    for (size_t c = 0; c < result->clouds; c++)
        if (bc_same_colour(result->cloud[c].callout, panel->callout))
            add_cloud(chart, result, panel, &result->cloud[c], style++);
}

void bc_plot_yield_colours(bc_chart *chart, const bc_yield_report *report)
{
    for (size_t c = 0; c < report->result->clouds; c++) {
        const bc_callout *callout = report->result->cloud[c].callout;
        bc_colour_panel panel = bc_colour_panel_of(callout, bc_is_chromaticity(callout));
        if (!has_panel(report->result, c, &panel))
            add_panel(chart, report, &panel);
    }
}
