/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Control charts in words and as JSON.
 */
#include "internal/control_words.h"
#include "internal/json.h"
#include "internal/numbers.h"
#include "internal/table.h"
#include "print.h"
#include <math.h>

/* Figures as they are shown: those of a callout in percent. */
static double shown(const bc_control_chart *chart)
{
    return chart->series->kind == BC_CONTROL_CALLOUT ? 100.0 : 1.0;
}

static int decimals(const bc_control_chart *chart)
{
    return chart->series->kind == BC_CONTROL_TOOLING ? 4 : 3;
}

void bc_print_series(char to[BC_SERIES_SIZE], const bc_control_series *series)
{
    if (series->kind == BC_CONTROL_LIMIT_USED)
        bc_print(to, BC_SERIES_SIZE, "share of limit used");
    else if (series->kind == BC_CONTROL_CALLOUT)
        bc_print(to, BC_SERIES_SIZE, "\"%s\" in %%", series->name);
    else
        bc_print(to, BC_SERIES_SIZE, "tooling factor of %s", series->name);
}

static const char *label_of(const bc_control_report *report, const bc_control_chart *chart, size_t value)
{
    return report->label[chart->series->run[value]];
}

static size_t run_of(const bc_control_chart *chart, size_t value)
{
    return chart->series->run[value] + 1;
}

static void add_head(const bc_control_report *report, bc_text *lines)
{
    bc_text_add(lines, "%zu runs in the order they were made", report->runs);
    if (report->runs > 0)
        bc_text_add(lines, ", %s to %s", report->label[0], report->label[report->runs - 1]);
    bc_text_add(lines, ".");
    if (report->others > 0)
        bc_text_add(lines,
                    " Shares of the limit and callouts are those of the %zu runs with the callouts of the last one.",
                    report->runs - report->others);
    bc_text_add(
        lines,
        "\nThe lines come from the first %zu values of each chart, or from all where there are fewer: average, and "
        "3 sigma by the average range between two runs in succession.\n",
        report->baseline > 0 ? report->baseline : BC_CONTROL_BASELINE);
}

static void add_lines(const bc_control_report *report, bc_text *out)
{
    static const char *const heading[] = {"chart", "values", "average", "lines", "range", "its line", "alarms"};
    bc_table table = {.columns = 7, .right = {false, true, true, true, true, true, true}};
    bc_table_row(&table);
    for (size_t i = 0; i < table.columns; i++)
        bc_table_cell(&table, i, "%s", heading[i]);
    for (size_t c = 0; c < report->charts; c++) {
        const bc_control_chart *chart = &report->chart[c];
        const double times = shown(chart);
        const int digits = decimals(chart);
        char name[BC_SERIES_SIZE];
        bc_print_series(name, chart->series);
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%s", name);
        bc_table_cell(&table, 1, "%zu", chart->series->count);
        if (!chart->known) {
            bc_table_cell(&table, 2, "-");
            continue;
        }
        bc_table_cell(&table, 2, "%.*f", digits, times * chart->average);
        bc_table_cell(&table, 3, "%.*f to %.*f", digits, times * chart->low, digits, times * chart->high);
        bc_table_cell(&table, 4, "%.*f", digits, times * chart->range);
        bc_table_cell(&table, 5, "%.*f", digits, times * chart->range_high);
        bc_table_cell(&table, 6, "%zu", chart->alarms);
    }
    bc_table_write(&table, out);
}

void bc_add_alarm(bc_text *out, const bc_control_chart *chart, const bc_control_alarm *alarm)
{
    const double value = shown(chart) * chart->series->value[alarm->to];
    const int digits = decimals(chart);
    if (alarm->rule == BC_RULE_BEYOND)
        bc_text_add(out, "run %zu is %s the line at %.*f: %.*f", run_of(chart, alarm->to),
                    alarm->high ? "above" : "below", digits, shown(chart) * (alarm->high ? chart->high : chart->low),
                    digits, value);
    else if (alarm->rule == BC_RULE_RANGE)
        bc_text_add(out, "from run %zu to run %zu it moved by %.*f, more than the line at %.*f",
                    run_of(chart, alarm->from), run_of(chart, alarm->to), digits,
                    shown(chart) * chart->moving[alarm->to], digits, shown(chart) * chart->range_high);
    else if (alarm->rule == BC_RULE_SIDE)
        bc_text_add(out, "%zu values in succession %s the average, runs %zu to %zu", alarm->to - alarm->from + 1,
                    alarm->high ? "above" : "below", run_of(chart, alarm->from), run_of(chart, alarm->to));
    else
        bc_text_add(out, "%zu values in succession %s, runs %zu to %zu", alarm->to - alarm->from + 1,
                    alarm->high ? "rise" : "fall", run_of(chart, alarm->from), run_of(chart, alarm->to));
}

static void add_alarms(const bc_control_report *report, bc_text *lines)
{
    size_t alarms = 0;
    for (size_t c = 0; c < report->charts; c++) {
        const bc_control_chart *chart = &report->chart[c];
        char name[BC_SERIES_SIZE];
        bc_print_series(name, chart->series);
        for (size_t a = 0; a < chart->alarms; a++, alarms++) {
            const bc_control_alarm *alarm = &chart->alarm[a];
            bc_text_add(lines, "ALARM, %s: ", name);
            bc_add_alarm(lines, chart, alarm);
            if (alarm->rule >= BC_RULE_SIDE)
                bc_text_add(lines, "; raised at run %zu", run_of(chart, alarm->raised));
            bc_text_add(lines, " (%s).\n", label_of(report, chart, alarm->raised));
        }
    }
    if (alarms == 0)
        bc_text_add(lines, "No alarm.\n");
    else
        bc_text_add(lines,
                    "%s An alarm says that something changed and not what: look for the cause before "
                    "anything is corrected, for correcting what chance did makes the scatter larger. Chance alone "
                    "raises some 4 alarms in 100 runs of one chart, and more where its lines come from fewer "
                    "than 20.\n",
                    bc_control_report_sounds(report) ? "The last run is in an alarm." : "The last run is in no alarm.");
}

static void add_capability(const bc_control_report *report, bc_text *lines)
{
    for (size_t c = 0; c < report->charts; c++) {
        const bc_control_chart *chart = &report->chart[c];
        if (isnan(chart->at_3_sigma) || chart->series->kind != BC_CONTROL_CALLOUT)
            continue;
        bc_text_add(
            lines,
            "\"%s\" (%s %g %%) uses %.1f %% of its limit on the average of %zu runs, and %.1f %% at the average "
            "+ 3 standard deviations%s.\n",
            chart->series->name, chart->series->at_least ? ">=" : "<=", 100.0 * chart->series->limit,
            100.0 * chart->mean_used, chart->series->count, 100.0 * chart->at_3_sigma,
            chart->at_3_sigma > 1.0 ? ": MORE THAN THE LIMIT" : "");
    }
}

bool bc_control_report_sounds(const bc_control_report *report)
{
    bool sounds = false;
    for (size_t c = 0; c < report->charts; c++)
        sounds = sounds || bc_control_sounds(&report->chart[c], report->runs);
    return sounds;
}

bc_status bc_report_control_text(const bc_control_report *report, bc_text *out, bc_error *error)
{
    bc_text lines = {0};
    bool few = false;
    add_head(report, &lines);
    bc_add_lines(out, &lines);
    bc_text_add(out, "\n");
    add_lines(report, out);
    bc_text_add(out, "\n");
    lines = (bc_text){0};
    for (size_t c = 0; c < report->charts; c++)
        few = few || !report->chart[c].known;
    if (few)
        bc_text_add(&lines, "A chart has lines from %d values on.\n", BC_CONTROL_LEAST);
    add_alarms(report, &lines);
    add_capability(report, &lines);
    bc_add_lines(out, &lines);
    return bc_text_end(out, error);
}

/* ---- JSON ---- */

static void alarm_json(const bc_control_report *report, const bc_control_chart *chart, const bc_control_alarm *alarm,
                       cJSON *row, bc_json *json)
{
    static const char *const rule[] = {
        [BC_RULE_BEYOND] = "beyond", [BC_RULE_RANGE] = "range", [BC_RULE_SIDE] = "side", [BC_RULE_TREND] = "trend"};
    bc_text words = {0};
    bc_json_string(json, row, "rule", rule[alarm->rule]);
    bc_json_number(json, row, "from_run", (double)run_of(chart, alarm->from), 15);
    bc_json_number(json, row, "to_run", (double)run_of(chart, alarm->to), 15);
    bc_json_number(json, row, "raised_at_run", (double)run_of(chart, alarm->raised), 15);
    bc_json_string(json, row, "raised_at", label_of(report, chart, alarm->raised));
    bc_json_bool(json, row, "high", alarm->high);
    bc_add_alarm(&words, chart, alarm);
    json->failed = json->failed || words.failed;
    bc_json_string(json, row, "words", words.data);
    bc_text_clear(&words);
}

static void chart_json(const bc_control_report *report, const bc_control_chart *chart, cJSON *row, bc_json *json)
{
    static const char *const kind[] = {[BC_CONTROL_LIMIT_USED] = "limit_used",
                                       [BC_CONTROL_CALLOUT] = "callout_percent",
                                       [BC_CONTROL_TOOLING] = "tooling_factor"};
    const bc_control_series *series = chart->series;
    const double times = shown(chart), none = NAN;
    cJSON *array;
    bc_json_string(json, row, "kind", kind[series->kind]);
    bc_json_string(json, row, "name", series->name[0] == '\0' ? NULL : series->name);
    bc_json_number(json, row, "limit_percent", series->kind == BC_CONTROL_CALLOUT ? 100.0 * series->limit : NAN, 12);
    bc_json_number(json, row, "baseline", chart->known ? (double)chart->baseline : none, 15);
    bc_json_number(json, row, "average", chart->known ? times * chart->average : none, 12);
    bc_json_number(json, row, "sigma", chart->known ? times * chart->sigma : none, 12);
    bc_json_number(json, row, "line_low", chart->known ? times * chart->low : none, 12);
    bc_json_number(json, row, "line_high", chart->known ? times * chart->high : none, 12);
    bc_json_number(json, row, "range_average", chart->known ? times * chart->range : none, 12);
    bc_json_number(json, row, "range_line", chart->known ? times * chart->range_high : none, 12);
    bc_json_number(json, row, "mean_limit_used", chart->mean_used, 12);
    bc_json_number(json, row, "limit_used_at_3_sigma", chart->at_3_sigma, 12);
    array = bc_json_array(json, row, "values");
    for (size_t i = 0; i < series->count; i++) {
        cJSON *one = bc_json_object(json, array, NULL);
        bc_json_number(json, one, "run", (double)run_of(chart, i), 15);
        bc_json_string(json, one, "label", label_of(report, chart, i));
        bc_json_number(json, one, "value", times * series->value[i], 12);
        bc_json_number(json, one, "range", chart->known ? times * chart->moving[i] : none, 12);
    }
    array = bc_json_array(json, row, "alarms");
    for (size_t a = 0; a < chart->alarms; a++)
        alarm_json(report, chart, &chart->alarm[a], bc_json_object(json, array, NULL), json);
}

bc_status bc_report_control_json(const bc_control_report *report, bc_text *out, bc_error *error)
{
    bc_json json;
    cJSON *array;
    bc_json_open(&json);
    bc_json_number(&json, json.root, "runs", (double)report->runs, 15);
    bc_json_number(&json, json.root, "other_callouts", (double)report->others, 15);
    bc_json_bool(&json, json.root, "last_run_in_alarm", bc_control_report_sounds(report));
    array = bc_json_array(&json, json.root, "charts");
    for (size_t c = 0; c < report->charts; c++)
        chart_json(report, &report->chart[c], bc_json_object(&json, array, NULL), &json);
    return bc_json_close(&json, out, error);
}
