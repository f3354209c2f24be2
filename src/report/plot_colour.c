/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The path of a reflection's colour in the a*b* plane, angle by angle, with its scatter over simulated runs.
 */
#include "internal/chart_scale.h"
#include "internal/numbers.h"
#include "internal/plot_words.h"
#include "print.h"
#include <math.h>

#define ROOM          0.12 /* of the range of a* and b*, around the path */
#define LEAST_ROOM    0.5  /* of a* and b* */
#define MOST_NAMED    7    /* angles with a label of their own */
#define MOST_DOTS     ((size_t)200)
#define SCREEN_Y      0.4
#define SWATCH_WEIGHT 0.16

static const double observer_deg[] = {[BC_OBSERVER_2] = 2.0, [BC_OBSERVER_10] = 10.0};

static bc_chart_range around(double least, double most)
{
    const double room = fmax(ROOM * (most - least), LEAST_ROOM);
    return bc_chart_whole_steps((bc_chart_range){fmin(least, 0.0) - room, fmax(most, 0.0) + room}, 6);
}

/* Grey: where a* and b* are 0. */
static void add_axes(bc_chart *chart)
{
    bc_chart_item *item = bc_chart_add(chart, BC_CHART_LEVEL);
    if (item != NULL)
        item->low = 0.0;
    item = bc_chart_add(chart, BC_CHART_RULE);
    if (item != NULL)
        item->from = item->to = 0.0;
}

/* Of a cloud of runs what is drawn of it: the same ones of every angle. */
static size_t shown_runs(const bc_colour_report *report)
{
    return report->runs == NULL || report->runs->no_errors ? 0
           : report->runs->runs < MOST_DOTS                ? report->runs->runs
                                                           : MOST_DOTS;
}

static size_t named_every(const bc_colour_report *report)
{
    return 1 + (report->angles - 1) / MOST_NAMED;
}

static bool is_named(const bc_colour_report *report, size_t angle)
{
    return angle % named_every(report) == 0 || angle + 1 == report->angles;
}

static void add_path(bc_chart *chart, const bc_colour_report *report)
{
    double *a = bc_chart_array(chart, report->angles), *b = bc_chart_array(chart, report->angles);
    bc_chart_item *path = bc_chart_add(chart, BC_CHART_LINE);
    if (a == NULL || b == NULL || path == NULL)
        return;
    path->count = report->angles;
    path->x = a;
    path->y = b;
    for (size_t i = 0; i < report->angles; i++) {
        bc_chart_item *mark = bc_chart_add(chart, BC_CHART_MARK);
        if (mark == NULL)
            return;
        a[i] = mark->from = mark->to = report->colour[i].a;
        b[i] = mark->low = report->colour[i].b;
        if (is_named(report, i))
            bc_print(mark->text, sizeof mark->text, "%.4g°", bc_degrees(report->aoi_rad[i]));
    }
}

static void add_clouds(bc_chart *chart, const bc_colour_report *report)
{
    const size_t runs = shown_runs(report);
    int style = 0;
    for (size_t i = 0; runs > 0 && i < report->angles; i++) {
        double *a, *b;
        bc_chart_item *dots;
        if (!is_named(report, i))
            continue;
        a = bc_chart_array(chart, runs);
        b = bc_chart_array(chart, runs);
        dots = bc_chart_add(chart, BC_CHART_DOTS);
        if (a == NULL || b == NULL || dots == NULL)
            return;
        for (size_t run = 0; run < runs; run++) {
            a[run] = report->runs->scatter[i].run[run].a;
            b[run] = report->runs->scatter[i].run[run].b;
        }
        dots->count = runs;
        dots->x = a;
        dots->y = b;
        dots->style = style++;
    }
}

static void stretch_to_clouds(const bc_colour_report *report, bc_plot_extent *a, bc_plot_extent *b)
{
    for (size_t i = 0; i < report->angles; i++)
        for (size_t run = 0; is_named(report, i) && run < shown_runs(report); run++) {
            const double at = 0.0;
            bc_plot_stretch(a, 1, &at, &report->runs->scatter[i].run[run].a, -1.0, 1.0);
            bc_plot_stretch(b, 1, &at, &report->runs->scatter[i].run[run].b, -1.0, 1.0);
        }
}

/* The colours side by side, all as bright: their own brightness no screen shows beside white. */
static void add_swatches(bc_chart *chart, const bc_colour_report *report)
{
    bc_chart_panel *panel = bc_chart_add_panel(chart);
    size_t place = 0;
    if (panel == NULL)
        return;
    bc_print(panel->heading, sizeof panel->heading,
             "Approximate colours on this screen or paper, each made as bright as a reflectance of %g %%",
             100.0 * SCREEN_Y);
    panel->weight = SWATCH_WEIGHT;
    panel->y.range = (bc_chart_range){0.0, 1.0};
    panel->x.numbered = panel->y.numbered = (bc_chart_range){-2.0, -1.0}; /* no numbers */
    for (size_t i = 0; i < report->angles; i++) {
        double *rgb = is_named(report, i) ? bc_chart_array(chart, 3) : NULL;
        bc_chart_item *bar = rgb == NULL ? NULL : bc_chart_add(chart, BC_CHART_BAR);
        if (bar == NULL)
            continue;
        bc_colour_screen(&report->colour[i], report->illuminant, report->observer, SCREEN_Y, rgb);
        bar->rgb = rgb;
        bar->from = (double)place;
        bar->to = (double)++place;
        bar->low = 0.0;
        bar->high = 1.0;
        bc_print(bar->text, sizeof bar->text, "%.4g°", bc_degrees(report->aoi_rad[i]));
    }
    chart->panel[chart->panels - 1].x.range = (bc_chart_range){0.0, (double)place};
}

bc_status bc_plot_colour(const bc_colour_report *report, const bc_plot_options *options, bc_text *out, bc_error *error)
{
    bc_plot_extent a = BC_PLOT_NO_EXTENT, b = BC_PLOT_NO_EXTENT;
    bc_chart chart;
    bc_chart_panel *panel;
    bc_chart_note *note;
    bc_chart_open(&chart, options);
    for (size_t i = 0; i < report->angles; i++) {
        const double at = 0.0;
        bc_plot_stretch(&a, 1, &at, &report->colour[i].a, -1.0, 1.0);
        bc_plot_stretch(&b, 1, &at, &report->colour[i].b, -1.0, 1.0);
    }
    stretch_to_clouds(report, &a, &b);
    panel = bc_chart_add_panel(&chart);
    if (panel != NULL) {
        bc_print(panel->heading, sizeof panel->heading, "Colour of the reflection, %s, %g° observer, %s",
                 bc_illuminant_word(report->illuminant), observer_deg[report->observer],
                 bc_polarization_word(report->polarization));
        bc_print(panel->x.name, sizeof panel->x.name, "a*");
        bc_print(panel->y.name, sizeof panel->y.name, "b*");
        panel->x.range = around(a.least, a.most);
        panel->y.range = around(b.least, b.most);
        add_axes(&chart);
        add_clouds(&chart, report);
        add_path(&chart, report);
        add_swatches(&chart, report);
    }
    note = bc_chart_add_note(&chart);
    if (note != NULL && shown_runs(report) > 0)
        bc_print(
            note->text, sizeof note->text,
            "Dots: %zu simulated runs at each angle. 95 %% of all runs differ from the design by less than CIEDE2000 "
            "%.2f at %.4g°, from one another by less than %.2f.",
            shown_runs(report), report->runs->scatter[0].from_design, bc_degrees(report->aoi_rad[0]),
            report->runs->scatter[0].between);
    if (note != NULL && shown_runs(report) > 0)
        note = bc_chart_add_note(&chart);
    if (note != NULL)
        bc_print(note->text, sizeof note->text,
                 "Angles of incidence along the path; grey is at a* = b* = 0. The colours below are brighter than the "
                 "reflection by far. Luminous reflectance %.3f %% at %.4g°. %s",
                 100.0 * report->colour[0].luminous, bc_degrees(report->aoi_rad[0]), BC_PREDICTED);
    return bc_chart_write(&chart, options, out, error);
}
