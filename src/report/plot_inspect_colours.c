/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/plot_colours.h"
#include "internal/plot_inspect.h"
#include <math.h>

#define MEASURED BC_STYLE_INK
#define FITTED   0

/* The measured colour of every witness, with the design; of one also the fitted stack's, beneath. */
static void add_colours(bc_chart *chart, const bc_inspect_report *report, const bc_colour_panel *panel)
{
    const size_t number = chart->panels - 1;
    const bool one = report->witnesses == 1;
    bc_colour colour;
    bc_chart_add_key(chart, number, BC_CHART_DOTS, MEASURED, false, one ? "measured" : "measured, each witness");
    if (one && bc_inspect_colour(&report->result[0], panel->callout, BC_SEEN_FITTED, &colour)) {
        bc_colour_panel_add_cloud(chart, panel, 1, &colour, FITTED);
        bc_chart_add_key(chart, number, BC_CHART_DOTS, FITTED, false,
                         report->result[0].good_fit ? "fitted" : "nearest fit, no explanation");
    }
    for (size_t w = 0; w < report->witnesses; w++)
        if (bc_inspect_colour(&report->result[w], panel->callout, BC_SEEN_MEASURED, &colour))
            bc_colour_panel_add_cloud(chart, panel, 1, &colour, MEASURED);
    if (bc_inspect_colour(&report->result[0], panel->callout, BC_SEEN_DESIGN, &colour)) {
        bc_colour_panel_add_mark(chart, panel, &colour, false, "", "");
        bc_chart_add_key(chart, number, BC_CHART_MARK, 0, false, "design");
    }
}

static void add_panel(bc_chart *chart, const bc_inspect_report *report, bc_colour_panel *panel)
{
    const bc_inspect_finding *finding = report->result[0].finding;
    const bc_callout light = {.aoi_from_rad = report->setup->aoi_rad,
                              .aoi_to_rad = report->setup->aoi_rad,
                              .polarization = report->setup->polarization,
                              .scope = panel->callout->scope};
    bool any = false;
    char letter[BC_CHART_BRIEF];
    for (size_t w = 0; w < report->witnesses; w++)
        for (bc_seen_curve which = BC_SEEN_MEASURED; which <= BC_SEEN_FITTED; which++) {
            bc_colour colour;
            if (!bc_inspect_colour(&report->result[w], panel->callout, which, &colour))
                continue;
            bc_colour_panel_reach(panel, 1, &colour);
            any = true;
        }
    for (size_t c = 0; c < report->result[0].count; c++)
        if (bc_inspect_sees(&finding[c]) && bc_colour_panel_holds(panel, finding[c].callout))
            bc_colour_panel_reach_limit(panel, finding[c].callout);
    panel->light = &light;
    if (!any || bc_colour_panel_add(chart, panel) == NULL)
        return;
    for (size_t c = 0; c < report->result[0].count; c++) {
        if (!bc_inspect_sees(&finding[c]) || !bc_colour_panel_holds(panel, finding[c].callout))
            continue;
        bc_seen_letter(report, c, letter);
        bc_colour_panel_add_limit(chart, panel, finding[c].callout, letter);
    }
    add_colours(chart, report, panel);
}

static bool has_panel(const bc_inspect_report *report, size_t callout, const bc_colour_panel *panel)
{
    const bc_inspect_finding *finding = report->result[0].finding;
    for (size_t before = 0; before < callout; before++)
        if (bc_inspect_sees(&finding[before]) && bc_colour_panel_holds(panel, finding[before].callout))
            return true;
    return false;
}

void bc_plot_inspect_colours(bc_chart *chart, const bc_inspect_report *report)
{
    for (size_t c = 0; c < report->result[0].count; c++) {
        const bc_inspect_finding *finding = &report->result[0].finding[c];
        bc_colour_panel panel;
        if (!bc_inspect_sees(finding))
            continue;
        panel = bc_colour_panel_of(finding->callout, bc_is_chromaticity(finding->callout));
        if (!has_panel(report, c, &panel))
            add_panel(chart, report, &panel);
    }
}
