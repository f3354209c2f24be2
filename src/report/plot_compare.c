/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The curves of several stacks laid over each other, in the panels of one check.
 */
#include "internal/numbers.h"
#include "internal/plot_words.h"
#include "print.h"
#include <math.h>

static const bc_light *light_of(const bc_check_curves *curves, const bc_callout *callout)
{
    for (size_t l = 0; l < curves->lights; l++)
        if (bc_same_light(curves->light[l].callout, callout))
            return &curves->light[l];
    return NULL;
}

static bool is_first(const bc_check_result *result, size_t f)
{
    for (size_t before = 0; before < f; before++)
        if (result->finding[before].callout == result->finding[f].callout)
            return false;
    return true;
}

static void stretch(bc_plot_limits *limits, const bc_check_report *report, const bc_check_curves *curves,
                    const bc_callout *callout)
{
    const bc_light *light = light_of(curves, callout);
    for (size_t f = 0; f < report->result->count; f++)
        if (bc_same_light(report->result->finding[f].callout, callout))
            bc_plot_add_limit(limits, report->result->finding[f].callout);
    for (size_t c = 0; light != NULL && c < light->curves; c++)
        bc_plot_stretch(&limits->values, curves->count, curves->wavelength_nm, light->curve[c].value, callout->from_nm,
                        callout->to_nm);
}

/* Every stack has a style of its own for the first of its curves; further angles and planes follow after all stacks. */
static void add_curves(bc_chart *chart, size_t stack, size_t stacks, const bc_check_curves *curves,
                       const bc_callout *callout)
{
    static const char *const plane[] = {
        [BC_POL_S] = " s", [BC_POL_P] = " p", [BC_POL_UNPOLARIZED] = "", [BC_POL_RATIO] = ""};
    const bc_light *light = light_of(curves, callout);
    char letter[BC_COMPARE_MARK], angle[64], label[BC_CHART_TEXT];
    bc_compare_mark(letter, stack);
    for (size_t c = 0; light != NULL && c < light->curves; c++) {
        const bc_light_curve *curve = &light->curve[c];
        bc_chart_item *item = bc_chart_add(chart, BC_CHART_LINE);
        if (item == NULL)
            return;
        item->count = curves->count;
        item->x = curves->wavelength_nm;
        item->y = curve->value;
        item->scale = 100.0;
        item->style = (int)(stack + c * stacks);
        bc_plot_angles(angle, curve->aoi_rad, curve->aoi_rad);
        bc_print(label, sizeof label, "%s, %s%s, on %s", letter, angle, plane[curve->plane], curve->substrate->name);
        bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_LINE, item->style, false, label);
    }
}

static void add_panel(bc_chart *chart, size_t stacks, const bc_check_report *reports, const bc_check_curves *curves,
                      size_t l)
{
    const bc_callout *callout = curves[0].light[l].callout;
    bc_plot_limits limits = BC_PLOT_NO_LIMITS;
    bc_chart_panel *panel = bc_chart_add_panel(chart);
    char letter[BC_CHART_BRIEF];
    double from = HUGE_VAL, to = -HUGE_VAL;
    if (panel == NULL)
        return;
    for (size_t s = 0; s < stacks; s++) {
        stretch(&limits, &reports[s], &curves[s], callout);
        from = fmin(from, curves[s].wavelength_nm[0]);
        to = fmax(to, curves[s].wavelength_nm[curves[s].count - 1]);
    }
    bc_plot_light(panel->heading, callout);
    bc_plot_callout_axis(callout, &panel->y);
    panel->y.range = bc_plot_range_with_limits(&limits);
    bc_plot_wavelength_axis(from, to, &panel->x);
    panel->x_below = l + 1 < curves[0].lights;
    for (size_t s = 0; s < stacks; s++)
        add_curves(chart, s, stacks, &curves[s], callout);
    for (size_t f = 0; f < reports[0].result->count; f++) {
        const bc_callout *asked = reports[0].result->finding[f].callout;
        if (!is_first(reports[0].result, f) || !bc_same_light(asked, callout))
            continue;
        bc_plot_callout_letter(reports[0].result, asked, letter);
        bc_plot_add_callout(chart, asked, letter);
    }
}

static void add_notes(bc_chart *chart, size_t stacks, const bc_check_report *reports)
{
    bc_chart_note *note;
    for (size_t s = 0; s < stacks; s++) {
        char used[BC_PRINTED_SIZE], name[200], letter[BC_COMPARE_MARK];
        note = bc_chart_add_note(chart);
        if (note == NULL)
            return;
        bc_compare_mark(letter, s);
        bc_print(note->mark, sizeof note->mark, "%.6s", letter);
        bc_plot_name(chart, name, sizeof name, reports[s].stack_path);
        bc_print_used_percent(used, reports[s].result->limit_used);
        bc_print(note->text, sizeof note->text, "%s: uses %s" BC_PLOT_NO_BREAK "%% of the limit%s.", name, used,
                 reports[s].result->pass ? "" : ", not met");
    }
    for (size_t f = 0; f < reports[0].result->count; f++) {
        const bc_callout *callout = reports[0].result->finding[f].callout;
        char asked[BC_CHART_TEXT], name[60];
        if (!is_first(reports[0].result, f))
            continue;
        note = bc_chart_add_note(chart);
        if (note == NULL)
            return;
        bc_plot_callout_letter(reports[0].result, callout, note->mark);
        bc_plot_name(chart, name, sizeof name, callout->name);
        bc_plot_callout(asked, callout);
        bc_print(note->text, sizeof note->text, "%s: %s.", name, asked);
    }
    note = bc_chart_add_note(chart);
    if (note != NULL)
        bc_print(note->text, sizeof note->text, "%s", BC_PREDICTED);
}

bc_status bc_plot_compare(size_t stacks, const bc_check_report *reports, const bc_check_curves *curves,
                          const bc_plot_options *options, bc_text *out, bc_error *error)
{
    bc_chart chart;
    bc_chart_open(&chart, options);
    for (size_t l = 0; l < curves[0].lights; l++)
        add_panel(&chart, stacks, reports, curves, l);
    add_notes(&chart, stacks, reports);
    return bc_chart_write(&chart, options, out, error);
}
