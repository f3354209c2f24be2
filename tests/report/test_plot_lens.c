/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The picture of a lens: limit_used against the distance from the axis.
 */
#include "fixture.h"
#include "items.h"
#include "plot_lens.h"
#include <limits.h>
#include <math.h>
#include <string.h>

static const bc_plot_options plain = {0};

typedef struct lens {
    fixture all;
    bc_callout row[2];
    bc_callouts callouts;
    bc_curved curved;
    bc_lens_result result;
    bc_lens_report report;
} lens;

static void lens_open(lens *l, size_t rows, double limit)
{
    bc_error error;
    fixture_open(&l->all);
    l->row[0] = l->all.callout[0];
    l->row[1] = l->all.callout[2];
    l->row[0].limit = l->row[1].limit = limit;
    l->callouts = (bc_callouts){.count = rows, .callout = l->row};
    l->curved = (bc_curved){.radius_mm = 20.0, .clear_aperture_mm = 36.0, .slope_exponent = 1.0, .axial = true};
    ck_assert_msg(bc_lens(&l->all.stack, &l->callouts, 1, l->all.glass, &l->curved, 9, &l->result, &error) == BC_OK,
                  "%s", error.message);
    l->report = (bc_lens_report){.check = l->all.check, .result = &l->result};
    l->report.check.result = &l->result.designed.check;
    l->report.check.curved = &l->curved;
    l->report.check.zones = l->result.zones;
}

static void lens_close(lens *l)
{
    bc_lens_result_clear(&l->result);
    fixture_close(&l->all);
}

static bc_chart lens_panels(const lens *l)
{
    bc_chart chart;
    bc_chart_open(&chart, &plain);
    bc_plot_lens_panels(&chart, &l->report);
    ck_assert(!chart.failed);
    return chart;
}

/* Loop: one callout and two; met at the centre alone. */
START_TEST(limit_used_against_the_radius)
{
    const size_t rows = (size_t)_i + 1;
    lens l;
    lens_open(&l, rows, 0.045);
    bc_chart chart = lens_panels(&l);
    const bc_chart_panel *panel = &chart.panel[0];
    const bc_lens_curve *designed = &l.result.designed, *scaled = &l.result.scaled;
    const bc_chart_item *curve;
    ck_assert(!designed->check.pass && designed->aperture_mm > 0.0 && l.result.factor != 1.0);
    ck_assert_uint_eq(chart.panels, 2);
    ck_assert(panel->x.range.from == 0.0 && fabs(panel->x.range.to - 18.0) < 1e-9);
    ck_assert_uint_eq(count_kind(panel, BC_CHART_LINE), rows);
    ck_assert_double_eq(item_of(panel, BC_CHART_KEEP_OUT, 0)->low, 1.0);
    ck_assert(!item_of(panel, BC_CHART_KEEP_OUT, 0)->bad); /* what lies above */
    ck_assert_double_eq_tol(item_of(panel, BC_CHART_KEEP_OUT, 0)->to, 18.0, 1e-9);
    ck_assert_double_eq(item_of(panel, BC_CHART_RULE, 0)->from, 0.5 * designed->aperture_mm);
    for (size_t f = 0; f < rows; f++) {
        curve = item_of(panel, BC_CHART_LINE, f);
        ck_assert_uint_eq(curve->count, l.result.zones);
        ck_assert_ptr_eq(curve->y, designed->limit_used + f * l.result.zones);
        for (size_t z = 0; z < l.result.zones; z++)
            ck_assert_double_eq(curve->x[z], l.result.zone[z].radius_mm);
    }
    ck_assert_double_eq(item_of(panel, BC_CHART_MARK, 0)->low, designed->check.limit_used);
    ck_assert(item_of(panel, BC_CHART_MARK, 0)->bad);
    ck_assert_double_ge(panel->y.range.to, designed->check.limit_used);
    curve = item_of(&chart.panel[1], BC_CHART_LINE, 1); /* with the factor, the worst of all callouts */
    for (size_t z = 0; z < l.result.zones; z++) {
        double worst = 0.0;
        for (size_t f = 0; f < rows; f++)
            worst = fmax(worst, scaled->limit_used[f * l.result.zones + z]);
        ck_assert_double_eq(curve->y[z], worst);
    }
    ck_assert_uint_eq(count_kind(&chart.panel[1], BC_CHART_LINE), l.result.reach_factor == 1.0 ? 2 : 3);
    bc_chart_clear(&chart);
    lens_close(&l);
}
END_TEST

/* Where no common factor betters anything there is nothing to compare. */
START_TEST(no_factor_has_no_panel)
{
    bc_text svg = {0};
    lens l;
    lens_open(&l, 2, 0.045);
    bc_chart with = lens_panels(&l);
    l.result.factor = l.result.reach_factor = 1.0;
    bc_chart without = lens_panels(&l);
    ck_assert_uint_eq(with.panels, 2);
    ck_assert_uint_eq(without.panels, 1);
    ck_assert_uint_eq(count_kind(&without.panel[0], BC_CHART_LINE), 2);
    bc_chart_clear(&with);
    bc_chart_clear(&without);
    ck_assert_int_eq(bc_plot_lens(&l.report, &plain, &svg, NULL), BC_OK);
    bc_text_clear(&svg);
    lens_close(&l);
}
END_TEST

/* Met everywhere: nothing ends before the edge. Met nowhere: neither. */
START_TEST(no_aperture_is_drawn_where_there_is_none)
{
    static const double limit[] = {0.5, 1e-4};
    lens l;
    lens_open(&l, 2, limit[_i]);
    bc_chart chart = lens_panels(&l);
    ck_assert_int_eq(l.result.designed.check.pass, _i == 0);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_RULE), 0);
    ck_assert_double_ge(chart.panel[0].y.range.to, 1.2); /* the limit itself is always in sight */
    bc_chart_clear(&chart);
    lens_close(&l);
}
END_TEST

/* The axis of the factors reaches every curve that is drawn on it. Loop: of the stack as it is, with the factor that
 * balances, with the one that reaches farthest. */
START_TEST(every_curve_with_a_factor_is_in_sight)
{
    lens l;
    lens_open(&l, 1, 0.045);
    bc_lens_curve *curve[] = {&l.result.designed, &l.result.scaled, &l.result.reaching};
    l.result.factor = 1.01;
    l.result.reach_factor = 1.02;
    for (size_t c = 0; c < 3; c++)
        for (size_t z = 0; z < l.result.zones; z++)
            curve[c]->limit_used[z] = c == (size_t)_i ? 9.0 : 0.5;
    bc_chart chart = lens_panels(&l);
    ck_assert_uint_eq(count_kind(&chart.panel[1], BC_CHART_LINE), 3);
    ck_assert_double_ge(chart.panel[1].y.range.to, 9.0);
    ck_assert_int_eq(chart.panel[0].y.range.to >= 9.0, _i == 0);
    bc_chart_clear(&chart);
    lens_close(&l);
}
END_TEST

/* The rule stands where the callouts cease to hold, and nowhere else: not where they all hold, not at the edge, and not
 * where they hold at no distance at all. */
START_TEST(the_aperture_is_drawn_between_axis_and_edge)
{
    static const struct {
        bool pass;
        double aperture_mm;
        size_t rules;
    } rows[] = {{false, 20.0, 1}, {false, 35.999, 1}, {false, 36.0, 0}, {false, 0.0, 0}, {true, 20.0, 0}};
    lens l;
    lens_open(&l, 1, 0.045);
    ck_assert_double_eq(l.result.zone[l.result.zones - 1].radius_mm, 18.0);
    l.result.designed.check.pass = rows[_i].pass;
    l.result.designed.aperture_mm = rows[_i].aperture_mm;
    bc_chart chart = lens_panels(&l);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_RULE), rows[_i].rules);
    if (rows[_i].rules > 0)
        ck_assert_double_eq(item_of(&chart.panel[0], BC_CHART_RULE, 0)->from, 0.5 * rows[_i].aperture_mm);
    bc_chart_clear(&chart);
    lens_close(&l);
}
END_TEST

START_TEST(a_picture_survives_every_failed_allocation)
{
    const bc_plot_options options = {.width_mm = 85.0};
    bc_status status = BC_ERROR_MEMORY;
    bc_text text = {0};
    long tried = 0;
    lens l;
    lens_open(&l, 2, 0.045);
    for (; status != BC_OK && tried < 5000; tried++) {
        bc_error error = {0};
        memory_lasts(tried);
        status = bc_plot_lens(&l.report, &options, &text, &error);
        memory_lasts(LONG_MAX);
        ck_assert_msg(status == BC_OK || status == BC_ERROR_MEMORY, "%s", error.message);
        ck_assert(status == BC_OK || text.data == NULL);
    }
    ck_assert_int_eq(status, BC_OK);
    ck_assert_int_gt(tried, 20);
    ck_assert_int_eq(strncmp(text.data, "<?xml", 5), 0);
    ck_assert_ptr_null(strstr(text.data, "nan"));
    bc_text_clear(&text);
    lens_close(&l);
}
END_TEST

Suite *plot_lens_suite(void)
{
    Suite *suite = suite_create("plot, lens");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, no_factor_has_no_panel);
    tcase_add_loop_test(tcase, limit_used_against_the_radius, 0, 2);
    tcase_add_loop_test(tcase, no_aperture_is_drawn_where_there_is_none, 0, 2);
    tcase_add_loop_test(tcase, every_curve_with_a_factor_is_in_sight, 0, 3);
    tcase_add_loop_test(tcase, the_aperture_is_drawn_between_axis_and_edge, 0, 5);
    tcase_add_test(tcase, a_picture_survives_every_failed_allocation);
    suite_add_tcase(suite, tcase);
    return suite;
}
