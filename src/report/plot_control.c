/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_scale.h"
#include "internal/control_words.h"
#include "internal/plot_words.h"
#include "print.h"
#include <math.h>

#define VALUES 0 /* style */
#define STEPS  5
#define HEIGHT 0.7  /* of a panel of values, */
#define RANGES 0.35 /* and of one of ranges */
#define BESIDE 0.6  /* runs beside the first and the last */
#define MOST   10   /* charts in a picture, and alarms beneath it */
#define NAME   60

typedef struct panel_lines {
    const double *run, *value;
    size_t count;
    double times, average, low, high; /* low NAN: none */
    double limit;                     /* as shown; NAN: none */
    bool at_least;
} panel_lines;

static bc_chart_range range_of(const panel_lines *lines)
{
    double least = fmin(lines->average, lines->high), most = lines->high;
    least = isnan(lines->low) ? 0.0 : fmin(least, lines->low);
    for (size_t i = 0; i < lines->count; i++)
        if (isfinite(lines->value[i])) {
            least = fmin(least, lines->times * lines->value[i]);
            most = fmax(most, lines->times * lines->value[i]);
        }
    if (!isnan(lines->limit)) {
        least = fmin(least, lines->limit);
        most = fmax(most, lines->limit);
    }
    if (!(most > least))
        most = least + fmax(1e-6, fabs(least) * 0.01);
    return bc_chart_whole_steps((bc_chart_range){least, most + 0.03 * (most - least)}, STEPS);
}

static void add_line(bc_chart *chart, double at, double from, double to)
{
    bc_chart_item *item = isnan(at) ? NULL : bc_chart_add(chart, BC_CHART_LIMIT);
    if (item == NULL)
        return;
    item->low = at;
    item->from = from;
    item->to = to;
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_LIMIT, 0, false, "3 sigma");
}

static void add_values(bc_chart *chart, const panel_lines *lines)
{
    for (int dots = 0; dots < 2; dots++) {
        bc_chart_item *item = bc_chart_add(chart, dots ? BC_CHART_DOTS : BC_CHART_LINE);
        if (item == NULL)
            return;
        item->style = VALUES;
        item->count = lines->count;
        item->x = lines->run;
        item->y = lines->value;
        item->scale = lines->times;
    }
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_DOTS, VALUES, false, "runs");
}

static void add_panel(bc_chart *chart, const panel_lines *lines, double runs, const char *heading, const char *axis)
{
    bc_chart_panel *panel = bc_chart_add_panel(chart);
    bc_chart_item *item;
    if (panel == NULL)
        return;
    bc_print(panel->heading, sizeof panel->heading, "%s", heading);
    bc_print(panel->y.name, sizeof panel->y.name, "%s", axis);
    panel->y.range = range_of(lines);
    bc_print(panel->x.name, sizeof panel->x.name, "Run");
    panel->x.range = (bc_chart_range){1.0 - BESIDE, runs + BESIDE};
    panel->x.counts = true;
    if (!isnan(lines->limit)) {
        item = bc_chart_add(chart, BC_CHART_KEEP_OUT);
        if (item == NULL)
            return;
        item->from = 1.0 - BESIDE;
        item->to = runs + BESIDE;
        item->low = lines->limit;
        item->bad = lines->at_least;
        bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_KEEP_OUT, 0, false, "outside the limit");
    }
    item = bc_chart_add(chart, BC_CHART_LEVEL);
    if (item == NULL)
        return;
    item->low = lines->average;
    add_line(chart, lines->low, 1.0 - BESIDE, runs + BESIDE);
    add_line(chart, lines->high, 1.0 - BESIDE, runs + BESIDE);
    add_values(chart, lines);
}

static void mark(bc_chart *chart, const bc_control_chart *control, size_t value, double y)
{
    bc_chart_item *item = isfinite(y) ? bc_chart_add(chart, BC_CHART_MARK) : NULL;
    if (item == NULL)
        return;
    item->from = (double)control->series->run[value] + 1.0;
    item->low = y;
    item->bad = true;
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_MARK, 0, true, "raises an alarm");
}

static void add_alarms(bc_chart *chart, const bc_control_chart *control, double times, bool of_ranges)
{
    for (size_t a = 0; a < control->alarms; a++) {
        const bc_control_alarm *alarm = &control->alarm[a];
        if ((alarm->rule == BC_RULE_RANGE) == of_ranges)
            mark(chart, control, alarm->raised,
                 times * (of_ranges ? control->moving[alarm->raised] : control->series->value[alarm->raised]));
    }
}

/* Where the runs end that the lines come from. */
static void add_baseline(bc_chart *chart, const bc_control_chart *control)
{
    bc_chart_item *item;
    if (control->baseline == control->series->count)
        return;
    item = bc_chart_add(chart, BC_CHART_RULE);
    if (item != NULL)
        item->from = (double)control->series->run[control->baseline - 1] + 1.5;
}

static void add_chart(bc_chart *chart, const bc_control_report *report, const bc_control_chart *control)
{
    const bc_control_series *series = control->series;
    const double times = series->kind == BC_CONTROL_CALLOUT ? 100.0 : 1.0;
    double *run = bc_chart_array(chart, series->count);
    char name[NAME], heading[BC_CHART_TEXT];
    if (run == NULL)
        return;
    for (size_t i = 0; i < series->count; i++)
        run[i] = (double)series->run[i] + 1.0;
    bc_plot_name(chart, name, sizeof name, series->name);
    bc_print(heading, sizeof heading, "%s%s",
             series->kind == BC_CONTROL_LIMIT_USED ? "Share of the limit used (1: all of it), the largest of each run"
             : series->kind == BC_CONTROL_CALLOUT  ? "Callout: "
                                                   : "Tooling factor: ",
             name);
    add_panel(chart,
              &(panel_lines){run, series->value, series->count, times, times * control->average, times * control->low,
                             times * control->high, times * series->limit, series->at_least},
              (double)report->runs, heading, series->kind == BC_CONTROL_CALLOUT ? "Value (%)" : "Value");
    add_alarms(chart, control, times, false);
    add_baseline(chart, control);
    if (chart->failed)
        return;
    chart->panel[chart->panels - 1].weight = HEIGHT;
    chart->panel[chart->panels - 1].x_below = true;
    /* The first value has no range. */
    add_panel(chart,
              &(panel_lines){run + 1, control->moving + 1, series->count - 1, times, times * control->range, NAN,
                             times * control->range_high, NAN, false},
              (double)report->runs, "", "Range");
    add_alarms(chart, control, times, true);
    add_baseline(chart, control);
    if (chart->failed)
        return;
    chart->panel[chart->panels - 1].weight = RANGES;
    chart->panel[chart->panels - 1].x_below = true; /* but for the last */
}

static void add_notes(bc_chart *chart, const bc_control_report *report, size_t left_out)
{
    bc_chart_note *note = bc_chart_add_note(chart);
    if (note != NULL)
        bc_print(
            note->text, sizeof note->text,
            "The thin line is the average, of the first %zu values as the others; below each chart is the range from "
            "one run to the next.%s",
            report->baseline > 0 ? report->baseline : BC_CONTROL_BASELINE,
            bc_control_report_sounds(report) ? " The last run is in an alarm." : "");
    for (size_t c = 0; c < report->charts; c++)
        for (size_t a = 0; a < report->chart[c].alarms && chart->notes < MOST; a++) {
            char name[BC_SERIES_SIZE];
            bc_text words = {0};
            note = bc_chart_add_note(chart);
            bc_print_series(name, report->chart[c].series);
            bc_add_alarm(&words, &report->chart[c], &report->chart[c].alarm[a]);
            chart->failed = chart->failed || words.failed;
            if (note != NULL && words.data != NULL)
                bc_print(note->text, sizeof note->text, "Alarm, %.60s: %.300s.", name, words.data);
            bc_text_clear(&words);
        }
    if (left_out > 0 && (note = bc_chart_add_note(chart)) != NULL)
        bc_print(note->text, sizeof note->text, "%zu more charts are in the text.", left_out);
}

/* limit_used, the callout that uses most of its limit, and every tooling factor. */
static bool is_drawn(const bc_control_report *report, size_t which)
{
    const bc_control_chart *chart = &report->chart[which];
    if (!chart->known || chart->series->kind != BC_CONTROL_CALLOUT)
        return chart->known;
    for (size_t c = 0; c < report->charts; c++) {
        const bc_control_chart *other = &report->chart[c];
        if (other->known && other->series->kind == BC_CONTROL_CALLOUT &&
            (other->mean_used > chart->mean_used || (other->mean_used == chart->mean_used && c < which)))
            return false;
    }
    return true;
}

bc_status bc_plot_control(const bc_control_report *report, const bc_plot_options *options, bc_text *out,
                          bc_error *error)
{
    size_t drawn = 0, left_out = 0;
    bc_chart chart;
    for (size_t c = 0; c < report->charts; c++)
        drawn += report->chart[c].known;
    if (drawn == 0)
        return bc_fail(error, BC_ERROR_INPUT, "found no chart of %d values or more; expected one to draw",
                       BC_CONTROL_LEAST);
    bc_chart_open(&chart, options);
    drawn = 0;
    for (size_t c = 0; c < report->charts && !chart.failed; c++) {
        if (is_drawn(report, c) && drawn++ < MOST)
            add_chart(&chart, report, &report->chart[c]);
        else
            left_out += report->chart[c].known;
    }
    if (!chart.failed)
        chart.panel[chart.panels - 1].x_below = false;
    add_notes(&chart, report, left_out);
    return bc_chart_write(&chart, options, out, error);
}
