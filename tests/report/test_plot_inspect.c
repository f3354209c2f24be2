/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What the pictures of an inspection show, and where.
 */
#include "inspected.h"
#include "items.h"
#include "plot_inspect.h"
#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const bc_plot_options plain = {0};

static bool has_key(const bc_chart *chart, const char *text)
{
    for (size_t i = 0; i < chart->keys; i++)
        if (strcmp(chart->key[i].text, text) == 0)
            return true;
    return false;
}

static bc_chart panels_of(const bc_inspect_report *report)
{
    bc_chart chart;
    bc_chart_open(&chart, &plain);
    bc_plot_inspect_panels(&chart, report);
    ck_assert(!chart.failed);
    return chart;
}

START_TEST(a_witness_with_its_uncertainty)
{
    inspected all;
    open_inspected(&all);
    bc_chart chart = panels_of(&all.report);
    const bc_chart_panel *panel = &chart.panel[0];
    ck_assert_uint_eq(chart.panels, 2);
    ck_assert_str_eq(panel->y.name, "Reflectance");
    ck_assert_ptr_eq(item_of(panel, BC_CHART_LINE, 0)->y, all.measured);
    ck_assert_ptr_eq(item_of(panel, BC_CHART_LINE, 1)->y, all.design);
    ck_assert_ptr_eq(item_of(panel, BC_CHART_LINE, 2)->y, all.fitted);
    ck_assert_uint_eq(count_kind(panel, BC_CHART_FILL), 1);
    for (size_t i = 0; i < INSPECTED_POINTS; i++) { /* 2 sqrt(0.03^2 + 0.04^2) % */
        ck_assert_double_eq_tol(item_of(panel, BC_CHART_FILL, 0)->y[i], all.measured[i] + 0.001, 1e-15);
        ck_assert_double_eq_tol(item_of(panel, BC_CHART_FILL, 0)->lower[i], all.measured[i] - 0.001, 1e-15);
        ck_assert_double_eq_tol(item_of(&chart.panel[1], BC_CHART_FILL, 0)->y[i], 0.001, 1e-15);
    }
    panel = &chart.panel[1];
    ck_assert_ptr_eq(item_of(panel, BC_CHART_LINE, 0)->y, all.from_design);
    ck_assert_ptr_eq(item_of(panel, BC_CHART_LINE, 1)->y, all.from_fitted);
    ck_assert_uint_eq(count_kind(panel, BC_CHART_LEVEL), 1);
    ck_assert(panel->y.range.from <= -0.1 && panel->y.range.to >= 0.1);
    ck_assert(!panel->x_below && chart.panel[0].x_below);
    ck_assert(panel->x.range.from == chart.panel[0].x.range.from && panel->x.range.to == chart.panel[0].x.range.to);
    ck_assert(has_key(&chart, "measured") && has_key(&chart, "fitted") && has_key(&chart, "uncertainty (k = 2)"));
    bc_chart_clear(&chart);
    /* Without any uncertainty there is no band. */
    memset(all.noise, 0, sizeof all.noise);
    memset(all.systematic, 0, sizeof all.systematic);
    all.result[0].good_fit = false;
    chart = panels_of(&all.report);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_FILL) + count_kind(&chart.panel[1], BC_CHART_FILL), 0);
    ck_assert(!has_key(&chart, "fitted") && has_key(&chart, "nearest fit, no explanation"));
    bc_chart_clear(&chart);
    fixture_close(&all.base);
}
END_TEST

/* A region is drawn where it is about the curve: not for rows of another quantity, of another angle, of the fit, or of
 * a front whose back was seen. */
START_TEST(only_what_was_measured_is_held_against_the_curve)
{
    inspected all;
    open_inspected(&all);
    bc_chart chart = panels_of(&all.report);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_KEEP_OUT), 2);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_MARK), 2);
    ck_assert_double_eq(item_of(&chart.panel[0], BC_CHART_KEEP_OUT, 0)->low, 0.6);
    ck_assert_double_eq(item_of(&chart.panel[0], BC_CHART_MARK, 0)->from, 500.0);
    ck_assert_double_eq(item_of(&chart.panel[0], BC_CHART_MARK, 0)->low, 0.4);
    ck_assert(!item_of(&chart.panel[0], BC_CHART_MARK, 0)->bad);
    ck_assert_str_eq(item_of(&chart.panel[0], BC_CHART_MARK, 0)->text, "a: 0.4 %");
    /* The band reaches farther than the scan, and is seen to. */
    ck_assert(chart.panel[0].x.range.from == 400.0 && chart.panel[0].x.range.to == 680.0);
    bc_chart_clear(&chart);
    all.finding[0].verdict = BC_REJECT;
    all.finding[2].from_fit = true;
    chart = panels_of(&all.report);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_KEEP_OUT), 1);
    ck_assert(item_of(&chart.panel[0], BC_CHART_MARK, 0)->bad);
    ck_assert(has_key(&chart, "worst point (rejected)") && !has_key(&chart, "worst point"));
    bc_chart_clear(&chart);
    all.finding[0].back_removed = true;
    chart = panels_of(&all.report);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_KEEP_OUT), 0);
    ck_assert(chart.panel[0].x.range.from == 400.0 && chart.panel[0].x.range.to == 600.0); /* all of the scan */
    bc_chart_clear(&chart);
    fixture_close(&all.base);
}
END_TEST

START_TEST(notes_say_value_uncertainty_and_verdict)
{
    inspected all;
    bc_chart chart;
    open_inspected(&all);
    all.finding[2].from_fit = true;
    bc_chart_open(&chart, &plain);
    bc_seen_add_notes(&chart, &all.report);
    ck_assert_uint_eq(chart.notes, FIXTURE_CALLOUTS);
    ck_assert_str_eq(chart.note[0].mark, "a");
    ck_assert_ptr_nonnull(
        strstr(chart.note[0].text,
               "Measured 0.4\u00a0±\u00a00.1\u00a0% at 500\u00a0nm; uses 80.0\u00a0% of the limit; accept."));
    ck_assert_ptr_nonnull(strstr(chart.note[1].text, "Not measured; undecided (angle)."));
    ck_assert_ptr_nonnull(strstr(chart.note[2].text, "On the fitted stack 0.4"));
    bc_chart_clear(&chart);
    fixture_close(&all.base);
}
END_TEST

/* What lies below zero, or above 100 %, is seen. */
START_TEST(values_out_of_the_common_range)
{
    inspected all;
    open_inspected(&all);
    all.measured[1] = -0.0007;
    bc_chart chart = panels_of(&all.report);
    ck_assert_double_le(chart.panel[0].y.range.from, -0.07);
    bc_chart_clear(&chart);
    all.measured[1] = 1.002;
    all.base.callout[0].sense = BC_AT_LEAST;
    all.base.callout[0].limit = 0.99;
    all.finding[2].from_fit = true;
    for (size_t i = 0; i < INSPECTED_POINTS; i++)
        all.design[i] = all.fitted[i] = all.measured[i] = i == 1 ? 1.002 : 0.998;
    chart = panels_of(&all.report);
    ck_assert_double_ge(chart.panel[0].y.range.to, 100.2);
    ck_assert_double_ge(chart.panel[0].y.range.from, 97.0);
    bc_chart_clear(&chart);
    fixture_close(&all.base);
}
END_TEST

START_TEST(T_beside_R_has_panels_of_its_own)
{
    inspected all;
    open_inspected(&all);
    all.result[0].T = all.result[0].R;
    bc_chart chart = panels_of(&all.report);
    ck_assert_uint_eq(chart.panels, 4);
    ck_assert_str_eq(chart.panel[2].y.name, "Transmittance");
    ck_assert_uint_eq(count_kind(&chart.panel[2], BC_CHART_KEEP_OUT), 0);
    for (size_t p = 0; p < 4; p++)
        ck_assert_int_eq(chart.panel[p].x_below, p < 3);
    bc_chart_clear(&chart);
    all.result[0].R.count = 0;
    chart = panels_of(&all.report);
    ck_assert_uint_eq(chart.panels, 2);
    ck_assert_str_eq(chart.panel[0].y.name, "Transmittance");
    bc_chart_clear(&chart);
    fixture_close(&all.base);
}
END_TEST

START_TEST(a_single_wavelength_is_a_point)
{
    inspected all;
    open_inspected(&all);
    all.result[0].R.count = 1;
    bc_chart chart = panels_of(&all.report);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_DOTS), 3);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_LINE), 0);
    bc_chart_clear(&chart);
    fixture_close(&all.base);
}
END_TEST

#define MANY 9

/* Few witnesses have a look of their own; of many the worst stands out, drawn last. */
START_TEST(a_lot_shows_all_its_witnesses)
{
    inspected all;
    bc_inspect_result many[MANY];
    bc_inspect_finding own[FIXTURE_CALLOUTS];
    open_inspected(&all);
    all.report.lot = &all.lot;
    all.report.witnesses = 2;
    bc_chart chart = panels_of(&all.report);
    ck_assert_uint_eq(chart.panels, 2);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_LINE), 3);
    ck_assert_uint_eq(count_kind(&chart.panel[1], BC_CHART_LINE), 2);
    ck_assert(has_key(&chart, "w1.txt") && has_key(&chart, "w2.txt") && has_key(&chart, "design"));
    ck_assert_int_ne(item_of(&chart.panel[0], BC_CHART_LINE, 0)->style,
                     item_of(&chart.panel[0], BC_CHART_LINE, 1)->style);
    ck_assert_ptr_eq(item_of(&chart.panel[1], BC_CHART_LINE, 0)->y, all.from_design);
    bc_chart_clear(&chart);
    memcpy(own, all.finding, sizeof own);
    own[0].verdict = BC_REJECT;
    own[0].value = 0.009;
    own[0].limit_used = 1.5;
    for (size_t w = 0; w < MANY; w++) {
        many[w] = all.result[0];
        snprintf(many[w].label, sizeof many[w].label, "m%zu", w);
    }
    many[3].finding = own;
    many[3].verdict = BC_REJECT;
    many[3].decisive = 0;
    all.report.result = many;
    all.report.witnesses = MANY;
    chart = panels_of(&all.report);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_LINE), MANY + 1);
    ck_assert(has_key(&chart, "8 witnesses") && has_key(&chart, "the worst, m3") && !has_key(&chart, "m1"));
    ck_assert_int_ne(item_of(&chart.panel[0], BC_CHART_LINE, MANY - 1)->style,
                     item_of(&chart.panel[0], BC_CHART_LINE, 0)->style);
    ck_assert_int_eq(item_of(&chart.panel[0], BC_CHART_LINE, MANY - 2)->style,
                     item_of(&chart.panel[0], BC_CHART_LINE, 0)->style);
    ck_assert_double_eq_tol(item_of(&chart.panel[0], BC_CHART_MARK, 0)->low, 0.9, 1e-12); /* of the worst witness */
    bc_chart_clear(&chart);
    fixture_close(&all.base);
}
END_TEST

static bc_status draw(const inspected *all, bc_plot_format format, bc_text *text, bc_error *error)
{
    const bc_plot_options options = {.format = format, .width_mm = 85.0, .dpi = 100.0, .title = "Window"};
    return bc_plot_inspect(&all->report, &options, text, error);
}

/* Loop: one witness and a lot, in each format. */
START_TEST(the_same_picture_is_the_same_bytes)
{
    static const char *const begins[] = {"<?xml", "\x89PNG", "%PDF-"};
    inspected all;
    bc_text first = {0}, second = {0};
    open_inspected(&all);
    all.report.lot = _i % 2 == 1 ? &all.lot : NULL;
    all.report.witnesses = _i % 2 == 1 ? 2 : 1;
    ck_assert_int_eq(draw(&all, (bc_plot_format)(_i / 2), &first, NULL), BC_OK);
    ck_assert_int_eq(draw(&all, (bc_plot_format)(_i / 2), &second, NULL), BC_OK);
    ck_assert_int_eq(strncmp(first.data, begins[_i / 2], strlen(begins[_i / 2])), 0);
    ck_assert_uint_eq(first.length, second.length);
    ck_assert_int_eq(memcmp(first.data, second.data, first.length), 0);
    bc_text_clear(&first);
    bc_text_clear(&second);
    fixture_close(&all.base);
}
END_TEST

START_TEST(a_picture_survives_every_failed_allocation)
{
    inspected all;
    bc_status status = BC_ERROR_MEMORY;
    bc_text text = {0};
    long tried = 0;
    open_inspected(&all);
    all.report.lot = _i == 1 ? &all.lot : NULL;
    all.report.witnesses = _i == 1 ? 2 : 1;
    for (; status != BC_OK && tried < 5000; tried++) {
        bc_error error = {0};
        memory_lasts(tried);
        status = draw(&all, BC_PLOT_SVG, &text, &error);
        memory_lasts(LONG_MAX);
        ck_assert_msg(status == BC_OK || status == BC_ERROR_MEMORY, "%s", error.message);
        ck_assert(status == BC_OK || text.data == NULL);
    }
    ck_assert_int_eq(status, BC_OK);
    ck_assert_int_gt(tried, 20);
    bc_text_clear(&text);
    fixture_close(&all.base);
}
END_TEST

Suite *plot_inspect_suite(void)
{
    Suite *suite = suite_create("plot, inspect");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, a_witness_with_its_uncertainty);
    tcase_add_test(tcase, only_what_was_measured_is_held_against_the_curve);
    tcase_add_test(tcase, notes_say_value_uncertainty_and_verdict);
    tcase_add_test(tcase, values_out_of_the_common_range);
    tcase_add_test(tcase, T_beside_R_has_panels_of_its_own);
    tcase_add_test(tcase, a_single_wavelength_is_a_point);
    tcase_add_test(tcase, a_lot_shows_all_its_witnesses);
    tcase_add_loop_test(tcase, the_same_picture_is_the_same_bytes, 0, 6);
    tcase_add_loop_test(tcase, a_picture_survives_every_failed_allocation, 0, 2);
    suite_add_tcase(suite, tcase);
    return suite;
}
