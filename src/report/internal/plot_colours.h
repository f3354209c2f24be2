/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_PLOT_COLOURS_H
#define BLOOMCOAT_REPORT_PLOT_COLOURS_H
/*
 * A panel of a*, b* or of x, y, with the limits of callouts on a colour.
 */
#include "plot_words.h"
#include <bloomcoat/colour_path.h>

typedef struct bc_colour_panel {
    const bc_callout *callout; /* one of those that see the same */
    const bc_callout *light;   /* what the heading says of the light: the callout, or how it was measured */
    bool chromaticity;         /* x and y; false: a* and b* */
    bc_chart_range across, up;
} bc_colour_panel;

/* Whether a callout limits x or y; all others have their place in a panel of a* and b*. */
bool bc_is_chromaticity(const bc_callout *callout);
/* An empty panel of what `callout` sees. */
bc_colour_panel bc_colour_panel_of(const bc_callout *callout, bool chromaticity);
/* Whether a callout belongs in it: it sees the same, and its limit has a place there. */
bool bc_colour_panel_holds(const bc_colour_panel *panel, const bc_callout *callout);

/* Make it reach so far. */
void bc_colour_panel_reach(bc_colour_panel *panel, size_t count, const bc_colour *colour);
void bc_colour_panel_reach_limit(bc_colour_panel *panel, const bc_callout *callout);

/* Add it to the chart; what follows goes into it. */
bc_chart_panel *bc_colour_panel_add(bc_chart *chart, bc_colour_panel *panel);
/* The region outside the limit, hatched; nothing for a luminous value. */
void bc_colour_panel_add_limit(bc_chart *chart, const bc_colour_panel *panel, const bc_callout *callout,
                               const char *letter);
/* A line along the angles with a dot at each, the first and the last named. */
void bc_colour_panel_add_path(bc_chart *chart, const bc_colour_panel *panel, const bc_colour_path *path, int style);
/* A dot for each, 200 at most. */
void bc_colour_panel_add_cloud(bc_chart *chart, const bc_colour_panel *panel, size_t count, const bc_colour *colour,
                               int style);
/* One that is marked; `text` goes beside it. */
void bc_colour_panel_add_mark(bc_chart *chart, const bc_colour_panel *panel, const bc_colour *colour, bool bad,
                              const char *text, const char *brief);

/* The panels of what the callouts of a check see. */
void bc_plot_check_colours(bc_chart *chart, const bc_check_report *report, const bc_check_curves *curves);
/* And of its simulated runs. */
void bc_plot_yield_colours(bc_chart *chart, const bc_yield_report *report);

#endif
