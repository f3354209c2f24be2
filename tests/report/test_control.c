/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Control charts in words, JSON and picture.
 */
#include "charted.h"
#include "fixture.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static void expect_words(const charted *all, const char *piece, bool there)
{
    bc_text text = {0};
    ck_assert_int_eq(bc_report_control_text(&all->report, &text, NULL), BC_OK);
    expect_tidy(text.data);
    for (char *at = text.data; *at != '\0'; at++)
        *at = *at == '\n' ? ' ' : *at;
    ck_assert_msg((strstr(text.data, piece) != NULL) == there, "'%s' %s: %s", piece, there ? "is missing" : "is there",
                  text.data);
    bc_text_clear(&text);
}

START_TEST(alarms_in_words)
{
    charted all;
    open_charted(&all);
    expect_words(&all, "24 runs in the order they were made, I-0001 to I-0024.", true);
    expect_words(&all, "those of the 22 runs with the callouts of the last one.", true);
    expect_words(&all, "ALARM, tooling factor of hard: run 22 is above the line at 1.0", true);
    expect_words(&all, "(I-0022)", true);
    expect_words(&all, "values in succession above the average, runs ", true);
    expect_words(&all, "The last run is in an alarm.", true);
    expect_words(&all, "for correcting what chance did makes the scatter larger", true);
    expect_words(&all, "\"band\" (<= 0.5 %) uses 77.5 % of its limit on the average of 22 runs, and ", true);
    expect_words(&all, "MORE THAN THE LIMIT", false);
    expect_words(&all, "A chart has lines from 5 values on.", false);
    all.series[1].count = 3;
    remake(&all);
    expect_words(&all, "A chart has lines from 5 values on.", true);
    close_charted(&all);
}
END_TEST

START_TEST(no_alarm)
{
    charted all;
    open_charted(&all);
    all.report.charts = 1;
    for (size_t i = 0; i < CHARTED; i++)
        all.value[0][i] = 0.7 + 0.05 * (double)(i % 2);
    remake(&all);
    expect_words(&all, "No alarm.", true);
    expect_words(&all, "in an alarm", false);
    ck_assert(!bc_control_report_sounds(&all.report));
    close_charted(&all);
}
END_TEST

START_TEST(charts_in_json)
{
    bc_text text = {0};
    charted all;
    cJSON *root;
    const cJSON *chart, *alarm;
    open_charted(&all);
    ck_assert_int_eq(bc_report_control_json(&all.report, &text, NULL), BC_OK);
    root = parse(&text);
    ck_assert(cJSON_IsTrue(cJSON_GetObjectItem(root, "last_run_in_alarm")));
    ck_assert_double_eq(number_of(root, "runs"), CHARTED);
    chart = cJSON_GetArrayItem(cJSON_GetObjectItem(root, "charts"), 1);
    ck_assert_str_eq(string_of(chart, "kind"), "callout_percent");
    ck_assert_double_eq_tol(number_of(chart, "limit_percent"), 0.5, 1e-12);
    ck_assert_double_eq_tol(number_of(chart, "average"), 100.0 * all.chart[1].average, 1e-9);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(chart, "values")), CHARTED - 2);
    ck_assert_double_eq(number_of(cJSON_GetObjectItem(chart, "values")->child, "run"), 3.0);
    chart = cJSON_GetArrayItem(cJSON_GetObjectItem(root, "charts"), 2);
    alarm = cJSON_GetObjectItem(chart, "alarms")->child;
    ck_assert_str_eq(string_of(alarm, "rule"), "beyond");
    ck_assert_str_eq(string_of(alarm, "raised_at"), "I-0022");
    ck_assert_double_eq(number_of(alarm, "raised_at_run"), 22.0);
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(chart, "limit_used_at_3_sigma")));
    cJSON_Delete(root);
    bc_text_clear(&text);
    close_charted(&all);
}
END_TEST

/* What the picture says of alarms; none is drawn without lines. */
START_TEST(charts_in_a_picture)
{
    const bc_plot_options options = {.format = BC_PLOT_SVG, .title = "Window"};
    bc_text text = {0};
    bc_error error = {0};
    charted all;
    open_charted(&all);
    ck_assert_int_eq(bc_plot_control(&all.report, &options, &text, NULL), BC_OK);
    ck_assert_ptr_nonnull(strstr(text.data, "</svg>"));
    bc_text_clear(&text);
    for (size_t c = 0; c < CHARTS; c++)
        all.series[c].count = 4;
    remake(&all);
    ck_assert_int_eq(bc_plot_control(&all.report, &options, &text, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "found no chart of 5 values or more"));
    close_charted(&all);
}
END_TEST

/* Filled circles of a picture: Cairo's begin at one point, with curves to come. Letters have no colour of their own. */
static size_t circles(const charted *all)
{
    const bc_plot_options options = {.format = BC_PLOT_SVG};
    bc_text text = {0};
    size_t count = 0;
    double x, y;
    ck_assert_int_eq(bc_plot_control(&all->report, &options, &text, NULL), BC_OK);
    for (const char *path = text.data; (path = strstr(path, "fill-opacity:1;\" d=\"M ")) != NULL; path++) {
        int length = 0;
        sscanf(path, "fill-opacity:1;\" d=\"M %lf %lf C %n", &x, &y, &length);
        count += length > 0;
    }
    bc_text_clear(&text);
    return count;
}

/* Every value is a dot, and every range between two of them. Loop: the charts that have lines. */
START_TEST(every_value_is_a_dot)
{
    charted all;
    size_t dots = 0, none;
    open_charted(&all);
    for (size_t c = 0; c < CHARTS; c++)
        for (size_t i = 0; i < CHARTED; i++) /* no alarm: those are marked with a circle each */
            all.value[c][i] = all.value[c][i % 2];
    all.report.charts = 1;
    all.series[0].count = 6;
    remake(&all);
    none = circles(&all) - 6 - 5; /* of the key */
    all.report.charts = (size_t)_i;
    all.series[0].count = CHARTED - 2;
    remake(&all);
    for (size_t c = 0; c < all.report.charts; c++) {
        ck_assert_uint_eq(all.chart[c].alarms, 0);
        dots += 2 * all.series[c].count - 1;
    }
    ck_assert_uint_le(none, 1);
    ck_assert_uint_eq(circles(&all), none + dots);
    close_charted(&all);
}
END_TEST

/* Of the callouts the one is drawn that uses most of its limit, and of two that use as much the first. Loop: the first
 * uses less, more and as much. */
START_TEST(the_callout_that_uses_most_is_drawn)
{
    charted all;
    size_t none;
    open_charted(&all);
    for (size_t c = 0; c < 2; c++) {
        for (size_t i = 0; i < CHARTED; i++)
            all.value[c][i] = all.value[1][i % 2];
        all.series[c].kind = BC_CONTROL_CALLOUT;
        strcpy(all.series[c].name, "band");
        all.series[c].limit = 0.005;
    }
    all.series[0].count = 6;
    all.report.charts = 1;
    remake(&all);
    none = circles(&all) - 6 - 5; /* of the key */
    all.report.charts = 2;
    all.chart[0].mean_used = _i == 0 ? 0.7 : 0.8;
    all.chart[1].mean_used = _i == 1 ? 0.7 : 0.8;
    ck_assert_uint_eq(circles(&all), none + (_i == 0 ? 2 * (CHARTED - 2) - 1 : 6 + 5));
    close_charted(&all);
}
END_TEST

Suite *control_suite(void)
{
    Suite *suite = suite_create("control");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, alarms_in_words);
    tcase_add_test(tcase, no_alarm);
    tcase_add_test(tcase, charts_in_json);
    tcase_add_test(tcase, charts_in_a_picture);
    tcase_add_loop_test(tcase, every_value_is_a_dot, 1, CHARTS + 1);
    tcase_add_loop_test(tcase, the_callout_that_uses_most_is_drawn, 0, 3);
    suite_add_tcase(suite, tcase);
    return suite;
}
