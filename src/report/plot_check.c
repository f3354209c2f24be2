/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/parts.h"
#include "internal/plot_colours.h"
#include "print.h"
#include <bloomcoat/zones.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define LONGEST_NAME 60 /* bytes of a callout's name in its note */
#define NO_BREAK     BC_PLOT_NO_BREAK

static bool several_glasses(const bc_check_result *result)
{
    return bc_next_glass(result, bc_next_glass(result, NULL)) != NULL;
}

/* The place of a callout among those of the result, each counted once. */
static size_t place_of(const bc_check_result *result, const bc_callout *callout)
{
    size_t place = 0;
    for (size_t f = 0; f < result->count && result->finding[f].callout != callout; f++)
        place += bc_plot_is_first_finding(result, f);
    return place;
}

bool bc_plot_is_first_finding(const bc_check_result *result, size_t f)
{
    for (size_t before = 0; before < f; before++)
        if (result->finding[before].callout == result->finding[f].callout)
            return false;
    return true;
}

void bc_plot_callout_letter(const bc_check_result *result, const bc_callout *callout, char to[BC_CHART_BRIEF])
{
    bool one = true;
    for (size_t f = 0; f < result->count; f++)
        one = one && result->finding[f].callout == result->finding[0].callout;
    to[0] = '\0';
    if (!one)
        bc_plot_letter(to, place_of(result, callout));
}

const bc_finding *bc_plot_worst_finding(const bc_check_result *result, const bc_callout *callout)
{
    const bc_finding *worst = NULL;
    for (size_t f = 0; f < result->count; f++)
        if (result->finding[f].callout == callout &&
            (worst == NULL || result->finding[f].limit_used > worst->limit_used))
            worst = &result->finding[f];
    return worst;
}

static int style_of(bc_chart *chart, const char *label)
{
    int style = 0;
    for (size_t i = 0; i < chart->keys; i++) {
        if (chart->key[i].kind != BC_CHART_LINE)
            continue;
        if (strcmp(chart->key[i].text, label) == 0)
            return chart->key[i].style;
        style++;
    }
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_LINE, style, false, label);
    return style;
}

static void add_curve(bc_chart *chart, const bc_check_curves *curves, const bc_light_curve *curve,
                      const bc_check_result *result)
{
    static const char *const plane[] = {
        [BC_POL_S] = " s", [BC_POL_P] = " p", [BC_POL_UNPOLARIZED] = "", [BC_POL_RATIO] = ""};
    char angle[64], place[64] = "", label[BC_CHART_TEXT];
    const bool name_glass = several_glasses(result), curved = result->finding[0].zone != NULL;
    bc_chart_item *item = bc_chart_add(chart, BC_CHART_LINE);
    if (item == NULL)
        return;
    bc_plot_angles(angle, curve->aoi_rad, curve->aoi_rad);
    if (curved && curve->zone == NULL)
        bc_print(place, sizeof place, " at the vertex");
    else if (curved)
        bc_print(place, sizeof place, ", %.3g mm from the axis", curve->zone->radius_mm);
    bc_print(label, sizeof label, "%s%s%s%s%s", name_glass ? curve->substrate->name : "", name_glass ? ", " : "", angle,
             plane[curve->plane], place);
    item->count = curves->count;
    item->x = curves->wavelength_nm;
    item->y = curve->value;
    item->scale = 100.0;
    item->style = style_of(chart, label);
}

/* The worst point, or the mean where that is what is limited. */
static void add_worst(bc_chart *chart, const bc_finding *worst, const char *letter)
{
    const bool mean = worst->callout->statistic == BC_AVERAGE;
    bc_chart_item *item;
    char value[BC_PLOT_NUMBER];
    if (worst->callout->colour != BC_NO_COLOUR) /* not on this axis */
        return;
    item = bc_chart_add(chart, mean ? BC_CHART_MEAN : BC_CHART_MARK);
    if (item == NULL)
        return;
    bc_plot_value(value, worst);
    item->from = mean ? worst->callout->from_nm : worst->at_nm;
    item->to = mean ? worst->callout->to_nm : worst->at_nm;
    item->low = 100.0 * worst->value;
    item->bad = !worst->pass;
    if (mean)
        bc_print(item->text, sizeof item->text, "%s%saverage %s %%, %.3g°", letter, letter[0] == '\0' ? "" : ": ",
                 value, bc_degrees(worst->at_aoi_rad));
    else
        bc_print(item->text, sizeof item->text, "%s%s%s %% at %.4g nm, %.3g°", letter, letter[0] == '\0' ? "" : ": ",
                 value, worst->at_nm, bc_degrees(worst->at_aoi_rad));
    bc_print(item->brief, sizeof item->brief, "%s", letter);
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, item->kind, 0, item->bad,
                     mean        ? item->bad ? "average (not met)" : "average"
                     : item->bad ? "worst point (not met)"
                                 : "worst point");
}

static bc_plot_limits limits_of(const bc_check_result *result, const bc_check_curves *curves, const bc_light *light)
{
    bc_plot_limits limits = BC_PLOT_NO_LIMITS;
    for (size_t f = 0; f < result->count; f++) {
        const bc_callout *callout = result->finding[f].callout;
        if (!bc_same_light(callout, light->callout))
            continue;
        bc_plot_add_limit(&limits, callout);
        if (callout->colour == BC_NO_COLOUR) {
            limits.values.least = fmin(limits.values.least, result->finding[f].value);
            limits.values.most = fmax(limits.values.most, result->finding[f].value);
        }
        for (size_t c = 0; c < light->curves; c++)
            bc_plot_stretch(&limits.values, curves->count, curves->wavelength_nm, light->curve[c].value,
                            callout->from_nm, callout->to_nm);
    }
    return limits;
}

static void add_panel(bc_chart *chart, const bc_check_result *result, const bc_check_curves *curves,
                      const bc_light *light, bool last)
{
    const bc_plot_limits limits = limits_of(result, curves, light);
    bc_chart_panel *panel = bc_chart_add_panel(chart);
    char letter[BC_CHART_BRIEF];
    if (panel == NULL)
        return;
    bc_plot_light(panel->heading, light->callout);
    bc_plot_callout_axis(light->callout, &panel->y);
    panel->y.range = bc_plot_range_with_limits(&limits);
    bc_plot_wavelength_axis(curves->wavelength_nm[0], curves->wavelength_nm[curves->count - 1], &panel->x);
    panel->x_below = !last;
    for (size_t c = 0; c < light->curves; c++)
        add_curve(chart, curves, &light->curve[c], result);
    for (size_t f = 0; f < result->count; f++) {
        const bc_callout *callout = result->finding[f].callout;
        if (!bc_plot_is_first_finding(result, f) || !bc_same_light(callout, light->callout))
            continue;
        bc_plot_callout_letter(result, callout, letter);
        bc_plot_add_callout(chart, callout, letter);
        add_worst(chart, bc_plot_worst_finding(result, callout), letter);
    }
}

/* One curve needs no name: the heading says what it is. */
static void drop_only_curve(bc_chart *chart)
{
    size_t lines = 0, kept = 0;
    for (size_t i = 0; i < chart->keys; i++)
        lines += chart->key[i].kind == BC_CHART_LINE;
    for (size_t i = 0; lines == 1 && i < chart->keys; i++)
        if (chart->key[i].kind != BC_CHART_LINE)
            chart->key[kept++] = chart->key[i];
    if (lines == 1)
        chart->keys = kept;
}

void bc_plot_check_panels(bc_chart *chart, const bc_check_report *report, const bc_check_curves *curves)
{
    for (size_t l = 0; l < curves->lights; l++)
        add_panel(chart, report->result, curves, &curves->light[l], l + 1 == curves->lights);
    drop_only_curve(chart);
    bc_plot_check_colours(chart, report, curves);
}

/* "Worst 0.47 % at 512 nm, 30° s, on 517642", "Average 0.3 % at 30°"; no line is broken inside a number and its unit.
 */
static void worst_words(const bc_check_result *result, const bc_finding *worst, char to[BC_CHART_TEXT])
{
    const bool each = worst->callout->polarization == BC_POL_EACH && worst->at_aoi_rad > 0.0;
    char value[BC_PLOT_NUMBER], at[64] = "";
    bc_plot_value(value, worst);
    if (worst->callout->statistic == BC_EXTREME)
        bc_print(at, sizeof at, "%.5g" NO_BREAK "nm, ", worst->at_nm);
    bc_print(to, BC_CHART_TEXT, "%s %s%s at %s%.3g°%s%s%s",
             bc_has_target(worst->callout)             ? "Off by"
             : bc_callout_is_ellipse(worst->callout)   ? "Of the ellipse"
             : worst->callout->colour == BC_CHROMA     ? "Chroma"
             : worst->callout->colour != BC_NO_COLOUR  ? "CIEDE2000"
             : bc_callout_is_luminous(worst->callout)  ? "Luminous"
             : worst->callout->statistic == BC_AVERAGE ? "Average"
                                                       : "Worst",
             value, worst->callout->colour == BC_NO_COLOUR ? NO_BREAK "%" : "", at, bc_degrees(worst->at_aoi_rad),
             !each                                ? ""
             : worst->at_polarization == BC_POL_S ? NO_BREAK "s"
                                                  : NO_BREAK "p",
             several_glasses(result) ? ", on " : "", several_glasses(result) ? worst->substrate->name : "");
}

static void add_note(bc_chart *chart, const bc_check_result *result, const bc_callout *callout)
{
    const bc_finding *worst = bc_plot_worst_finding(result, callout);
    bc_chart_note *note = bc_chart_add_note(chart);
    char name[LONGEST_NAME], asked[BC_CHART_TEXT], words[BC_CHART_TEXT], used[BC_PRINTED_SIZE];
    if (note == NULL)
        return;
    bc_plot_callout_letter(result, callout, note->mark);
    bc_plot_name(chart, name, sizeof name, callout->name);
    bc_plot_callout(asked, callout);
    worst_words(result, worst, words);
    bc_print_used_percent(used, worst->limit_used);
    bc_print(note->text, sizeof note->text, "%s: %s. %.200s; uses %.20s" NO_BREAK "%% of the limit%s.", name, asked,
             words, used, worst->pass ? "" : ", not met");
}

void bc_plot_check_notes(bc_chart *chart, const bc_check_report *report)
{
    bc_chart_note *note;
    for (size_t f = 0; f < report->result->count; f++)
        if (bc_plot_is_first_finding(report->result, f))
            add_note(chart, report->result, report->result->finding[f].callout);
    note = bc_chart_add_note(chart);
    if (note != NULL)
        bc_print(note->text, sizeof note->text, "%s", BC_PREDICTED);
}

bc_status bc_plot_check(const bc_check_report *report, const bc_check_curves *curves, const bc_plot_options *options,
                        bc_text *out, bc_error *error)
{
    bc_chart chart;
    bc_chart_open(&chart, options);
    bc_plot_check_panels(&chart, report, curves);
    bc_plot_check_notes(&chart, report);
    return bc_chart_write(&chart, options, out, error);
}
