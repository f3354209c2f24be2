/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/parts.h"
#include "internal/plot_colours.h"
#include "print.h"
#include <math.h>
#include <stdio.h>

#define BAND   0    /* style of the percentiles */
#define BESIDE 0.04 /* of the band, shown at either side */

enum { LOWEST, LOW, MEDIAN, HIGH, HIGHEST };

static void add_percentiles(bc_chart *chart, const bc_percentile_curve *curve)
{
    static const int lower[] = {LOWEST, LOW}, upper[] = {HIGHEST, HIGH};
    for (int band = 0; band < 2 && curve->count > 1; band++) {
        bc_chart_item *item = bc_chart_add(chart, BC_CHART_FILL);
        if (item == NULL)
            return;
        item->count = curve->count;
        item->x = curve->wavelength_nm;
        item->y = curve->value[upper[band]];
        item->lower = curve->value[lower[band]];
        item->scale = 100.0;
        item->style = BAND;
        item->bad = band == 0; /* the outer one is paler */
        bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_FILL, BAND, band == 0,
                         band == 0 ? "2.5–97.5 % of runs" : "16–84 %");
    }
    for (int p = LOWEST; p <= HIGHEST; p++) {
        bc_chart_item *item;
        if (p != MEDIAN && curve->count > 1)
            continue;
        item = bc_chart_add(chart, curve->count > 1 ? BC_CHART_LINE : BC_CHART_DOTS);
        if (item == NULL)
            return;
        item->count = curve->count;
        item->x = curve->wavelength_nm;
        item->y = curve->value[p];
        item->scale = 100.0;
        item->style = BAND;
        bc_chart_add_key(chart, BC_CHART_EVERYWHERE, item->kind, BAND, false,
                         curve->count > 1 ? "median" : "2.5, 16, 50, 84, 97.5 %");
    }
}

/* Whether a callout applies to what a percentile curve shows. */
static bool concerns(const bc_callout *callout, const bc_percentile_curve *curve)
{
    return bc_same_light(callout, curve->callout) && bc_callout_applies(callout, curve->substrate->name) &&
           callout->from_nm <= curve->wavelength_nm[curve->count - 1] && callout->to_nm >= curve->wavelength_nm[0];
}

static bool is_same_angle(const bc_percentile_curve *one, const bc_percentile_curve *other)
{
    return bc_same_light(one->callout, other->callout) && one->substrate == other->substrate &&
           one->aoi_rad == other->aoi_rad && one->polarization == other->polarization;
}

/* Whether another curve shows all of this one's band, and of two that show the same the earlier one counts. */
static bool is_contained(const bc_yield_result *result, size_t c)
{
    const bc_percentile_curve *curve = &result->curve[c];
    const double from = curve->wavelength_nm[0], to = curve->wavelength_nm[curve->count - 1];
    for (size_t o = 0; o < result->curves; o++) {
        const bc_percentile_curve *other = &result->curve[o];
        const double other_from = other->wavelength_nm[0], other_to = other->wavelength_nm[other->count - 1];
        const bool same = other_from == from && other_to == to;
        if (o != c && is_same_angle(other, curve) && other_from <= from && other_to >= to && (!same || o < c))
            return true;
    }
    return false;
}

static void set_axes(bc_chart_panel *panel, const bc_callouts *callouts, const bc_percentile_curve *curve)
{
    const double from = curve->wavelength_nm[0], to = curve->wavelength_nm[curve->count - 1];
    bc_plot_limits limits = BC_PLOT_NO_LIMITS;
    for (size_t c = 0; c < callouts->count; c++)
        if (concerns(&callouts->callout[c], curve))
            bc_plot_add_limit(&limits, &callouts->callout[c]);
    for (int p = LOWEST; p <= HIGHEST; p++)
        bc_plot_stretch(&limits.values, curve->count, curve->wavelength_nm, curve->value[p], from, to);
    bc_plot_callout_axis(curve->callout, &panel->y);
    panel->y.range = bc_plot_range_with_limits(&limits);
    bc_plot_wavelength_axis(from - BESIDE * (to - from), to + BESIDE * (to - from), &panel->x);
}

static void add_panel(bc_chart *chart, const bc_yield_report *report, const bc_percentile_curve *curve, bool name_glass)
{
    static const char *const plane[] = {[BC_POL_UNPOLARIZED] = ", unpolarized",
                                        [BC_POL_S] = ", s",
                                        [BC_POL_P] = ", p",
                                        [BC_POL_EACH] = "",
                                        [BC_POL_RATIO] = ", ratio s/p"};
    bc_chart_panel *panel = bc_chart_add_panel(chart);
    char letter[BC_CHART_BRIEF], angle[64], cone[BC_PLOT_CONE];
    if (panel == NULL)
        return;
    bc_plot_angles(angle, curve->aoi_rad, curve->aoi_rad);
    bc_plot_cone(curve->callout, cone);
    bc_print(panel->heading, sizeof panel->heading, "%s%s%s%s%s%s", curve->aoi_rad == 0.0 ? "Normal incidence" : angle,
             cone, curve->aoi_rad == 0.0 ? "" : plane[curve->polarization],
             curve->callout->scope == BC_SCOPE_PART ? ", whole part" : "", name_glass ? ", on " : "",
             name_glass ? curve->substrate->name : "");
    set_axes(panel, report->callouts, curve);
    add_percentiles(chart, curve);
    for (size_t c = 0; c < report->callouts->count; c++) {
        if (!concerns(&report->callouts->callout[c], curve))
            continue;
        letter[0] = '\0';
        if (report->callouts->count > 1)
            bc_plot_letter(letter, c);
        bc_plot_add_callout(chart, &report->callouts->callout[c], letter);
    }
}

static void add_notes(bc_chart *chart, const bc_yield_report *report)
{
    const bc_yield_result *result = report->result;
    bc_chart_note *note = bc_chart_add_note(chart);
    if (note == NULL)
        return;
    bc_print(note->text, sizeof note->text,
             "Yield %.1f %% (95 %% interval %.1f to %.1f %%) in %zu simulated runs; percentiles of %zu.",
             100.0 * result->yield, 100.0 * result->yield_low, 100.0 * result->yield_high, result->runs,
             result->curve_runs);
    for (size_t c = 0; c < report->callouts->count; c++) {
        const bc_callout *callout = &report->callouts->callout[c];
        char asked[BC_CHART_TEXT], name[60];
        note = bc_chart_add_note(chart);
        if (note == NULL)
            return;
        if (report->callouts->count > 1)
            bc_plot_letter(note->mark, c);
        bc_plot_name(chart, name, sizeof name, callout->name);
        bc_plot_callout(asked, callout);
        bc_print(note->text, sizeof note->text, "%s: %s. Fails in %.3g %% of the runs.", name, asked,
                 100.0 * result->fails[c]);
    }
    note = bc_chart_add_note(chart);
    if (note != NULL)
        bc_print(note->text, sizeof note->text, "%s", BC_PREDICTED);
}

void bc_plot_yield_panels(bc_chart *chart, const bc_yield_report *report)
{
    const bc_yield_result *result = report->result;
    const bc_check_result *check = report->check.result;
    const bool several = bc_next_glass(check, bc_next_glass(check, NULL)) != NULL;
    for (size_t c = 0; c < result->curves; c++)
        if (!is_contained(result, c))
            add_panel(chart, report, &result->curve[c], several);
    bc_plot_yield_colours(chart, report);
}

bc_status bc_plot_yield(const bc_yield_report *report, const bc_plot_options *options, bc_text *out, bc_error *error)
{
    bc_chart chart;
    if (report->result->curves == 0)
        return bc_fail(error, BC_ERROR_INPUT, "found no percentile curves; expected a yield computed with percentiles");
    bc_chart_open(&chart, options);
    bc_plot_yield_panels(&chart, report);
    add_notes(&chart, report);
    return bc_chart_write(&chart, options, out, error);
}
