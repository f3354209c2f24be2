/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The pictures of simulated runs and a deposition sheet: everything stands where the computed figures say.
 */
#include "items.h"
#include "offered.h"
#include "plot_deposit.h"
#include "plot_words.h"
#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const bc_plot_options plain = {0};

/* The outer band from the lowest percentile to the highest, the inner one between those next to them, the median a
 * line; at a single wavelength five dots. */
START_TEST(bands_lie_between_their_percentiles)
{
    offered all;
    bc_chart chart;
    open_offered(&all);
    all.curve.count = _i == 0 ? OFFERED_POINTS : 1;
    bc_chart_open(&chart, &plain);
    bc_plot_yield_panels(&chart, &all.yield);
    ck_assert(!chart.failed);
    ck_assert_uint_eq(chart.panels, 1);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_FILL), _i == 0 ? 2 : 0);
    for (size_t band = 0; band < count_kind(&chart.panel[0], BC_CHART_FILL); band++) {
        const bc_chart_item *fill = item_of(&chart.panel[0], BC_CHART_FILL, band);
        ck_assert_ptr_eq(fill->lower, all.value[band]);
        ck_assert_ptr_eq(fill->y, all.value[4 - band]);
        ck_assert_ptr_eq(fill->x, all.nm);
        ck_assert_uint_eq(fill->count, OFFERED_POINTS);
        ck_assert_double_eq(fill->scale, 100.0);
        ck_assert_int_eq(fill->bad, band == 0);
    }
    for (size_t p = 0; p < (_i == 0 ? 1 : 5); p++) {
        const bc_chart_item *line = item_of(&chart.panel[0], _i == 0 ? BC_CHART_LINE : BC_CHART_DOTS, p);
        ck_assert_ptr_eq(line->y, all.value[_i == 0 ? 2 : p]);
        ck_assert_ptr_eq(line->x, all.nm);
        ck_assert_double_eq(line->scale, 100.0);
    }
    if (_i == 0) { /* the lowest and the highest are in sight */
        ck_assert_double_le(chart.panel[0].y.range.from, 0.2);
        ck_assert_double_ge(chart.panel[0].y.range.to, 0.62);
        ck_assert_double_eq_tol(chart.panel[0].x.range.from, 420.0 - 0.04 * 260.0, 1e-9);
        ck_assert_double_eq_tol(chart.panel[0].x.range.to, 680.0 + 0.04 * 260.0, 1e-9);
    }
    bc_chart_clear(&chart);
    fixture_close(&all.base);
}
END_TEST

/* No percentile leaves the frame, however far it lies from every limit. Loop: percentiles, lowest first. */
START_TEST(every_percentile_is_in_sight)
{
    offered all;
    bc_chart chart;
    open_offered(&all);
    all.value[_i][1] = 0.9;
    bc_chart_open(&chart, &plain);
    bc_plot_yield_panels(&chart, &all.yield);
    for (size_t p = 0; p < 5; p++)
        for (size_t i = 0; i < OFFERED_POINTS; i++) {
            ck_assert_double_le(chart.panel[0].y.range.from, 100.0 * all.value[p][i]);
            ck_assert_double_ge(chart.panel[0].y.range.to, 100.0 * all.value[p][i]);
        }
    bc_chart_clear(&chart);
    fixture_close(&all.base);
}
END_TEST

/* A curve whose band lies in another's, of the same light and angle, has no panel; of two alike the first has. */
START_TEST(curves_that_another_one_shows_are_left_out)
{
    offered all;
    bc_chart chart;
    bc_percentile_curve curve[2];
    double inner_nm[OFFERED_POINTS] = {430.0, 550.0, 680.0};
    open_offered(&all);
    curve[0] = curve[1] = all.curve;
    if (_i == 1 || _i == 2)
        curve[2 - _i].wavelength_nm = inner_nm;
    if (_i == 3)
        curve[1].aoi_rad = 0.5;
    if (_i == 4)
        curve[1].substrate = &all.base.glass[1];
    if (_i == 5)
        curve[1].polarization = BC_POL_S;
    all.runs.curve = curve;
    all.runs.curves = 2;
    bc_chart_open(&chart, &plain);
    bc_plot_yield_panels(&chart, &all.yield);
    ck_assert_uint_eq(chart.panels, _i < 3 ? 1 : 2);
    ck_assert_ptr_eq(item_of(&chart.panel[0], BC_CHART_LINE, 0)->x, _i == 2 ? curve[1].wavelength_nm : all.nm);
    bc_chart_clear(&chart);
    fixture_close(&all.base);
}
END_TEST

typedef struct sheet {
    fixture all;
    bc_process_row row[1];
    bc_process process;
    double wavelength_nm[2];
    size_t new_before[1];
    bc_monitor monitor;
    bc_deposit_result result;
    bc_deposit_report report;
} sheet;

static void sheet_work(sheet *s, double rate)
{
    bc_error error;
    s->row[0] = (bc_process_row){.material = "*", .has_rate = rate > 0.0, .rate_nm_per_s = rate};
    s->process = (bc_process){.rows = 1, .row = s->row};
    bc_deposit_result_clear(&s->result);
    ck_assert_msg(bc_deposit(&s->all.stack, &s->process, NULL, &s->monitor, &s->result, &error) == BC_OK, "%s",
                  error.message);
}

static void sheet_open(sheet *s)
{
    memset(s, 0, sizeof *s);
    fixture_open(&s->all);
    s->wavelength_nm[0] = 500.0;
    s->wavelength_nm[1] = 420.0;
    s->new_before[0] = 2;
    s->monitor = (bc_monitor){.signal = BC_R,
                              .error = 0.005,
                              .wavelengths = 1,
                              .wavelength_nm = s->wavelength_nm,
                              .from_nm = 400.0,
                              .to_nm = 700.0,
                              .step_nm = 50.0,
                              .new_before = s->new_before};
    s->all.layer[0].thickness_nm = 260.0; /* a signal that turns */
    s->report = (bc_deposit_report){.stack = &s->all.stack, .process = &s->process, .monitor = &s->monitor};
    sheet_work(s, 0.5);
    s->report.result = &s->result;
}

static void sheet_close(sheet *s)
{
    bc_deposit_result_clear(&s->result);
    fixture_close(&s->all);
}

static bc_chart sheet_panels(const sheet *s)
{
    bc_chart chart;
    bc_chart_open(&chart, &plain);
    bc_plot_deposit_panels(&chart, &s->report);
    ck_assert(!chart.failed);
    return chart;
}

/* Loop: seconds, minutes, thickness. */
START_TEST(the_signal_runs_layer_by_layer_to_its_cuts)
{
    static const double rate[] = {5.0, 0.1, 0.0}, unit[] = {1.0, 60.0, 1.0};
    static const char *const unit_word[] = {"s", "min", "nm"};
    double from = 0.0;
    size_t turnings = 0, dots = 0;
    sheet s;
    sheet_open(&s);
    sheet_work(&s, rate[_i]);
    bc_chart chart = sheet_panels(&s);
    const bc_chart_panel *signal = &chart.panel[0], *layers = &chart.panel[1];
    ck_assert_uint_eq(chart.panels, 2);
    ck_assert_str_eq(layers->x.unit, unit_word[_i]);
    ck_assert_uint_eq(count_kind(signal, BC_CHART_LINE), FIXTURE_LAYERS);
    ck_assert_uint_eq(count_kind(signal, BC_CHART_MARK), FIXTURE_LAYERS);
    ck_assert_uint_eq(count_kind(signal, BC_CHART_RULE), FIXTURE_LAYERS - 1);
    ck_assert_uint_eq(count_kind(layers, BC_CHART_BAR), FIXTURE_LAYERS);
    for (size_t f = 0; f < FIXTURE_LAYERS; f++) {
        const bc_sheet_layer *layer = &s.result.layer[f];
        const bc_chart_item *line = item_of(signal, BC_CHART_LINE, f), *cut = item_of(signal, BC_CHART_MARK, f);
        const bc_chart_item *bar = item_of(layers, BC_CHART_BAR, f);
        const double to = from + (rate[_i] > 0.0 ? layer->time_s : layer->monitor_nm) / unit[_i];
        char name[BC_CHART_TEXT];
        snprintf(name, sizeof name, "%zu %s", f + 1, layer->material->name);
        ck_assert_str_eq(bar->text, name);
        ck_assert_double_eq_tol(line->x[0], from, 1e-9);
        ck_assert_double_eq_tol(line->x[line->count - 1], to, 1e-9);
        ck_assert_ptr_eq(line->y, layer->curve_signal);
        ck_assert_double_eq_tol(cut->from, to, 1e-9);
        ck_assert_double_eq_tol(cut->low, 100.0 * layer->curve_signal[layer->points - 1], 1e-9);
        ck_assert_double_eq_tol(bar->from, from, 1e-9);
        ck_assert_double_eq_tol(bar->to, to, 1e-9);
        ck_assert_double_eq(bar->high, layer->signal.n);
        ck_assert_int_eq(cut->bad, layer->signal.cut_by != BC_CUT_OPTICAL);
        turnings += layer->signal.turnings;
        from = to;
    }
    for (size_t i = 0; i < count_kind(signal, BC_CHART_DOTS); i++)
        dots += item_of(signal, BC_CHART_DOTS, i)->count;
    ck_assert_uint_gt(turnings, 0);
    ck_assert_uint_eq(dots, turnings);
    ck_assert_double_gt(signal->x.range.to, from);
    bc_chart_clear(&chart);
    sheet_close(&s);
}
END_TEST

START_TEST(wavelengths_and_monitor_glasses_are_told_apart)
{
    sheet s;
    sheet_open(&s);
    s.monitor.wavelengths = 2;
    s.monitor.new_glasses = 1;
    s.monitor.error = 0.5; /* no cut is good enough */
    sheet_work(&s, 0.5);
    s.result.layer[0].signal.wavelength_nm = 500.0;
    s.result.layer[1].signal.wavelength_nm = 420.0;
    s.result.layer[2].signal.wavelength_nm = 500.0;
    bc_chart chart = sheet_panels(&s);
    const bc_chart_panel *signal = &chart.panel[0];
    ck_assert_int_ne(item_of(signal, BC_CHART_LINE, 0)->style, item_of(signal, BC_CHART_LINE, 1)->style);
    ck_assert_int_eq(item_of(signal, BC_CHART_LINE, 0)->style, item_of(signal, BC_CHART_LINE, 2)->style);
    ck_assert_str_eq(item_of(signal, BC_CHART_RULE, 0)->text, "monitor glass 2");
    ck_assert_str_eq(item_of(signal, BC_CHART_RULE, 1)->text, "");
    ck_assert_uint_gt(s.result.crystal, 0);
    bc_chart_clear(&chart);
    bc_text svg = {0};
    ck_assert_int_eq(bc_plot_deposit(&s.report, &plain, &svg, NULL), BC_OK);
    ck_assert_int_eq(strncmp(svg.data, "<?xml", 5), 0);
    bc_text_clear(&svg);
    sheet_close(&s);
}
END_TEST

START_TEST(a_sheet_without_signal_has_no_picture)
{
    bc_text text = {0};
    bc_error error = {0};
    sheet s;
    sheet_open(&s);
    s.monitor.wavelengths = 0;
    s.monitor.from_nm = 900.0;
    s.monitor.to_nm = 1000.0;
    sheet_work(&s, 0.5);
    ck_assert(!s.result.has_signal);
    ck_assert_int_eq(bc_plot_deposit(&s.report, &plain, &text, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "--monitor-nm"));
    ck_assert_ptr_null(text.data);
    sheet_close(&s);
}
END_TEST

/* Of many layers the cuts have numbers or nothing beside them, and the note does not name every layer. */
START_TEST(many_layers_keep_their_places)
{
    static const size_t layers[] = {14, 20};
    static const char *const material[] = {"soft", "soft", "hard", "2.1"};
    bc_layer layer[20];
    bc_text words = {0};
    sheet s;
    sheet_open(&s);
    for (size_t i = 0; i < layers[_i]; i++) {
        layer[i] = (bc_layer){.thickness_nm = 60.0};
        ck_assert_int_eq(bc_medium_find(s.all.materials, material[i % 4], NULL, &layer[i].material, NULL), BC_OK);
    }
    s.all.stack.layer = layer;
    s.all.stack.layers = layers[_i];
    s.monitor.error = 0.5; /* no cut is good enough: crystal everywhere */
    s.monitor.bandwidth_nm = 10.0;
    sheet_work(&s, 0.5);
    bc_chart chart = sheet_panels(&s);
    for (size_t i = 0; i < layers[_i]; i++) {
        const size_t from_outside = s.all.stack.from_substrate ? i : layers[_i] - 1 - i;
        const bc_chart_item *cut = item_of(&chart.panel[0], BC_CHART_MARK, i);
        char number[24];
        snprintf(number, sizeof number, "%zu", i + 1);
        ck_assert_str_eq(cut->text, _i == 0 ? number : "");
        ck_assert_ptr_nonnull(strstr(item_of(&chart.panel[1], BC_CHART_BAR, i)->text, material[from_outside % 4]));
        /* one style for a material, another for every other, and none left out */
        ck_assert_int_le(item_of(&chart.panel[1], BC_CHART_BAR, i)->style, 2);
        for (size_t j = 0; j < i; j++)
            ck_assert_int_eq(s.result.layer[i].material->dispersion == s.result.layer[j].material->dispersion,
                             item_of(&chart.panel[1], BC_CHART_BAR, i)->style ==
                                 item_of(&chart.panel[1], BC_CHART_BAR, j)->style);
    }
    bc_chart_clear(&chart);
    ck_assert_int_eq(bc_plot_deposit(&s.report, &plain, &words, NULL), BC_OK);
    bc_text_clear(&words);
    sheet_close(&s);
}
END_TEST

START_TEST(a_picture_survives_every_failed_allocation)
{
    const bc_plot_options options = {.width_mm = 85.0};
    bc_status status = BC_ERROR_MEMORY;
    bc_text text = {0};
    long tried = 0;
    sheet s;
    sheet_open(&s);
    for (; status != BC_OK && tried < 5000; tried++) {
        bc_error error = {0};
        memory_lasts(tried);
        status = bc_plot_deposit(&s.report, &options, &text, &error);
        memory_lasts(LONG_MAX);
        ck_assert_msg(status == BC_OK || status == BC_ERROR_MEMORY, "%s", error.message);
        ck_assert(status == BC_OK || text.data == NULL);
    }
    ck_assert_int_eq(status, BC_OK);
    ck_assert_int_gt(tried, 20);
    ck_assert_int_eq(strncmp(text.data, "<?xml", 5), 0);
    ck_assert_ptr_null(strstr(text.data, "nan"));
    bc_text_clear(&text);
    sheet_close(&s);
}
END_TEST

Suite *plot_shop_suite(void)
{
    Suite *suite = suite_create("plot, yield and sheet");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 60);
    tcase_add_loop_test(tcase, bands_lie_between_their_percentiles, 0, 2);
    tcase_add_loop_test(tcase, every_percentile_is_in_sight, 0, 5);
    tcase_add_loop_test(tcase, curves_that_another_one_shows_are_left_out, 0, 6);
    tcase_add_loop_test(tcase, the_signal_runs_layer_by_layer_to_its_cuts, 0, 3);
    tcase_add_test(tcase, wavelengths_and_monitor_glasses_are_told_apart);
    tcase_add_test(tcase, a_sheet_without_signal_has_no_picture);
    tcase_add_loop_test(tcase, many_layers_keep_their_places, 0, 2);
    tcase_add_test(tcase, a_picture_survives_every_failed_allocation);
    suite_add_tcase(suite, tcase);
    return suite;
}
