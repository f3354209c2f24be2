/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Colours in pictures and texts: everything has its place where the colour is, and a limit's region ends where the
 * limit is.
 */
#include "expected.h"
#include "inspected.h"
#include "items.h"
#include "plot_colours.h"
#include "plot_inspect.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RUNS 3

typedef struct seen {
    bc_materials *materials;
    bc_layer layer[1];
    bc_stack stack;
    bc_callout row[5];
    bc_callouts callouts;
    bc_check_result result;
    bc_check_curves curves;
    bc_check_report check;
    double fails[5];
    bc_colour run[RUNS];
    bc_colour_cloud cloud[1];
    bc_yield_result yielded;
    bc_process process;
    bc_yield_report yield;
} seen;

static const char *const name[] = {"eye", "tint", "green", "blue", "red"};
static const bc_colour_value colour[] = {BC_NO_COLOUR, BC_CHROMA, BC_COLOUR_A, BC_COLOUR_B, BC_COLOUR_X};
static const double target[] = {0.0, 0.0, 0.03, -0.05, 0.0025}, limit[] = {0.02, 0.30, 0.09, 0.02, 0.0005};

static void open_seen(seen *all)
{
    *all = (seen){.fails = {0.0, 0.1, 0.0, 0.0, 0.0}};
    ck_assert_int_eq(bc_materials_alloc(&all->materials, NULL), BC_OK);
    all->layer[0] = (bc_layer){.thickness_nm = 112.0};
    ck_assert_int_eq(bc_medium_find(all->materials, "1.38", NULL, &all->layer[0].material, NULL), BC_OK);
    ck_assert_int_eq(bc_medium_find(all->materials, "air", NULL, &all->stack.incident, NULL), BC_OK);
    ck_assert_int_eq(bc_medium_find(all->materials, "1.52", NULL, &all->stack.substrate, NULL), BC_OK);
    all->stack.layers = 1;
    all->stack.layer = all->layer;
    for (int i = 0; i < 5; i++) {
        all->row[i] = (bc_callout){.statistic = BC_AVERAGE,
                                   .limit = limit[i],
                                   .target = target[i],
                                   .from_nm = BC_CIE_FROM_NM,
                                   .to_nm = BC_CIE_TO_NM,
                                   .aoi_to_rad = M_PI / 6.0,
                                   .colour = colour[i],
                                   .weight = i == 0 ? bc_weight_luminous()
                                                    : bc_weight_tristimulus(BC_ILLUMINANT_D65, BC_OBSERVER_2, 1)};
        strcpy(all->row[i].name, name[i]);
    }
    all->callouts = (bc_callouts){.count = 5, .callout = all->row};
    ck_assert_int_eq(bc_check(&all->stack, &all->callouts, 0, NULL, NULL, &all->result, NULL), BC_OK);
    ck_assert_int_eq(bc_check_curves_compute(&all->stack, NULL, &all->result, &all->curves, NULL), BC_OK);
    all->check = (bc_check_report){.stack_path = "eye.csv", .stack = &all->stack, .result = &all->result};
    for (int i = 0; i < RUNS; i++)
        all->run[i] = (bc_colour){.x = 0.2 + 0.01 * i, .y = 0.3, .L = 10.0, .a = 5.0 * i, .b = -2.0 * i};
    all->cloud[0] = (bc_colour_cloud){&all->row[1],
                                      &all->stack.substrate,
                                      M_PI / 6.0,
                                      NULL,
                                      BC_POL_S,
                                      {.x = 0.22, .y = 0.31, .L = 11.0, .a = 4.0, .b = -1.0, .hue = NAN},
                                      {1.5, 0.25, 0.0004, 2.5, NAN, all->run}};
    all->yielded = (bc_yield_result){.runs = 2000,
                                     .good = 1800,
                                     .seed = 1,
                                     .asked = 2000,
                                     .yield = 0.9,
                                     .yield_low = 0.88,
                                     .yield_high = 0.92,
                                     .scale_for_95 = NAN,
                                     .fails = all->fails,
                                     .decisive = 1,
                                     .clouds = 1,
                                     .cloud_runs = RUNS,
                                     .cloud = all->cloud};
    all->yield = (bc_yield_report){
        .check = all->check, .process = &all->process, .callouts = &all->callouts, .result = &all->yielded};
}

static void close_seen(seen *all)
{
    bc_check_curves_clear(&all->curves);
    bc_check_result_clear(&all->result);
    bc_materials_free(all->materials);
}

/* Whether a point lies inside a closed line (a ray's crossings are odd). */
static bool inside(const bc_chart_item *item, double x, double y)
{
    bool in = false;
    for (size_t i = 0, last = item->count - 1; i < item->count; last = i++)
        if ((item->y[i] > y) != (item->y[last] > y) &&
            x < item->x[i] + (y - item->y[i]) / (item->y[last] - item->y[i]) * (item->x[last] - item->x[i]))
            in = !in;
    return in;
}

/* All over the frame, but for a rim: the circle is drawn with corners. */
static void expect_region(const bc_chart_panel *panel, const bc_chart_item *item, const bc_callout *callout)
{
    for (int i = 1; i < 200; i++)
        for (int j = 1; j < 200; j++) {
            const double across = panel->x.range.from + i / 200.0 * (panel->x.range.to - panel->x.range.from);
            const double up = panel->y.range.from + j / 200.0 * (panel->y.range.to - panel->y.range.from);
            const double away = callout->colour == BC_CHROMA     ? hypot(across, up)
                                : callout->colour == BC_COLOUR_B ? fabs(up - 100.0 * callout->target)
                                                                 : fabs(across - 100.0 * callout->target);
            if (fabs(away - 100.0 * callout->limit) < 0.05 * callout->limit)
                continue;
            ck_assert_int_eq(inside(item, across, up), away < 100.0 * callout->limit);
        }
}

static double out_of(const bc_ellipse *ellipse, double x, double y)
{
    const double away = hypot(x - ellipse->centre[0], y - ellipse->centre[1]);
    const double turn = atan2(y - ellipse->centre[1], x - ellipse->centre[0]) - ellipse->turn_rad;
    const double p = ellipse->half_axis[0], q = ellipse->half_axis[1];
    return away * hypot(q * cos(turn), p * sin(turn)) / (p * q);
}

/* Outside of it nothing is hatched; all of it lies in the frame, grown with the limit. */
START_TEST(an_ellipse_is_where_it_is)
{
    const bc_plot_options options = {0};
    bc_callout row = {.statistic = BC_AVERAGE,
                      .limit = 0.013,
                      .from_nm = BC_CIE_FROM_NM,
                      .to_nm = BC_CIE_TO_NM,
                      .colour = _i == 0 ? BC_ELLIPSE_AB : BC_ELLIPSE_XY,
                      .ellipse = {{2.0, -3.0}, {4.0, 1.5}, 0.6},
                      .weight = bc_weight_tristimulus(BC_ILLUMINANT_D65, BC_OBSERVER_2, 1)};
    bc_colour_panel panel = bc_colour_panel_of(&row, bc_is_chromaticity(&row));
    bc_chart chart;
    size_t in = 0;
    bc_chart_open(&chart, &options);
    bc_colour_panel_reach_limit(&panel, &row);
    ck_assert_ptr_nonnull(bc_colour_panel_add(&chart, &panel));
    bc_colour_panel_add_limit(&chart, &panel, &row, "");
    ck_assert_str_eq(chart.panel[0].x.name, _i == 0 ? "a*" : "x");
    const bc_chart_item *item = item_of(&chart.panel[0], BC_CHART_KEEP_OUT, 0);
    for (size_t i = 0; i < item->count; i++) {
        ck_assert_double_eq_tol(out_of(&row.ellipse, item->x[i], item->y[i]), 1.3, 1e-9);
        ck_assert(item->x[i] > panel.across.from && item->x[i] < panel.across.to);
        ck_assert(item->y[i] > panel.up.from && item->y[i] < panel.up.to && item->y[i] <= item->low);
    }
    for (int i = 1; i < 100; i++)
        for (int j = 1; j < 100; j++) {
            const double across = panel.across.from + i / 100.0 * (panel.across.to - panel.across.from);
            const double up = panel.up.from + j / 100.0 * (panel.up.to - panel.up.from);
            const double out = out_of(&row.ellipse, across, up);
            if (fabs(out - 1.3) > 0.01)
                ck_assert_int_eq(inside(item, across, up), out < 1.3);
            in += out < 1.3;
        }
    ck_assert_uint_gt(in, 500);
    bc_chart_clear(&chart);
}
END_TEST

/* A luminous value has no limit in such a panel: it brings one only where no row has. */
START_TEST(a_luminous_value_brings_no_empty_panel)
{
    const bc_plot_options options = {0};
    seen all;
    open_seen(&all);
    all.row[0].aoi_to_rad = 0.0;
    all.callouts.count = _i == 0 ? 1 : 2;
    bc_check_curves_clear(&all.curves);
    bc_check_result_clear(&all.result);
    ck_assert_int_eq(bc_check(&all.stack, &all.callouts, 0, NULL, NULL, &all.result, NULL), BC_OK);
    ck_assert_int_eq(bc_check_curves_compute(&all.stack, NULL, &all.result, &all.curves, NULL), BC_OK);
    bc_chart chart;
    bc_chart_open(&chart, &options);
    bc_plot_check_colours(&chart, &all.check, &all.curves);
    ck_assert_uint_eq(chart.panels, 1);
    ck_assert_ptr_nonnull(strstr(chart.panel[0].heading, _i == 0 ? "Normal incidence" : "0–30°"));
    bc_chart_clear(&chart);
    close_seen(&all);
}
END_TEST

START_TEST(limits_and_worst_points_have_their_places)
{
    const bc_plot_options options = {0};
    seen all;
    bc_chart chart;
    open_seen(&all);
    bc_chart_open(&chart, &options);
    bc_plot_check_colours(&chart, &all.check, &all.curves);
    ck_assert(!chart.failed);
    ck_assert_uint_eq(chart.panels, 2);
    ck_assert_str_eq(chart.panel[0].heading, "Colour of the reflection, D65, 2° observer; 0–30°, unpolarized");
    ck_assert_str_eq(chart.panel[1].x.name, "x");
    for (size_t row = 1; row < 5; row++) {
        const bc_chart_panel *panel = &chart.panel[row == 4];
        const bc_chart_item *mark = item_of(panel, BC_CHART_MARK, row == 4 ? 0 : row - 1);
        bc_colour worst;
        expect_region(panel, item_of(panel, BC_CHART_KEEP_OUT, row == 4 ? 0 : row - 1), &all.row[row]);
        ck_assert_int_eq(bc_finding_colour(&all.stack, NULL, &all.result.finding[row], &worst, NULL), BC_OK);
        ck_assert_double_eq(mark->from, row == 4 ? worst.x : worst.a);
        ck_assert_double_eq(mark->low, row == 4 ? worst.y : worst.b);
        ck_assert_int_eq(mark->bad, !all.result.finding[row].pass);
        ck_assert_int_eq(mark->bad, row == 3);
        ck_assert_int_ne(mark->bad,
                         inside(item_of(panel, BC_CHART_KEEP_OUT, row == 4 ? 0 : row - 1), mark->from, mark->low));
    }
    ck_assert(item_of(&chart.panel[0], BC_CHART_LINE, 0)->x[6] == all.curves.colours.path[0].colour[6].a);
    ck_assert_str_eq(item_of(&chart.panel[0], BC_CHART_DOTS, 2)->text, "30°");
    bc_chart_clear(&chart);
    close_seen(&all);
}
END_TEST

START_TEST(runs_lie_about_the_design)
{
    const bc_plot_options options = {0};
    seen all;
    bc_chart chart;
    open_seen(&all);
    bc_chart_open(&chart, &options);
    bc_plot_yield_colours(&chart, &all.yield);
    ck_assert_uint_eq(chart.panels, 1);
    ck_assert_uint_eq(item_of(&chart.panel[0], BC_CHART_DOTS, 0)->count, RUNS);
    ck_assert_double_eq(item_of(&chart.panel[0], BC_CHART_DOTS, 0)->x[2], 10.0);
    ck_assert_double_eq(item_of(&chart.panel[0], BC_CHART_DOTS, 0)->y[2], -4.0);
    ck_assert_double_eq(item_of(&chart.panel[0], BC_CHART_MARK, 0)->from, 4.0);
    ck_assert_double_eq(item_of(&chart.panel[0], BC_CHART_KEEP_OUT, 0)->x[0], 30.0);
    bc_chart_clear(&chart);
    all.yielded.no_errors = true; /* the one run is the design */
    bc_chart_open(&chart, &options);
    bc_plot_yield_colours(&chart, &all.yield);
    for (size_t i = 0; i < chart.panel[0].items; i++)
        ck_assert(chart.panel[0].item[i].kind != BC_CHART_DOTS);
    bc_chart_clear(&chart);
    close_seen(&all);
}
END_TEST

START_TEST(words_and_fields)
{
    const bc_plot_options options = {.format = BC_PLOT_PNG, .width_mm = 120.0, .dpi = 96.0};
    seen all;
    bc_text text = {0};
    open_seen(&all);
    ck_assert_int_eq(bc_report_check_text(&all.check, &text, NULL), BC_OK);
    expect_written("colours.txt", &text);
    ck_assert_int_eq(bc_report_check_json(&all.check, &text, NULL), BC_OK);
    expect_written("colours.json", &text);
    ck_assert_int_eq(bc_report_yield_text(&all.yield, &text, NULL), BC_OK);
    expect_written("colours-yield.txt", &text);
    ck_assert_int_eq(bc_report_yield_json(&all.yield, &text, NULL), BC_OK);
    expect_written("colours-yield.json", &text);
    ck_assert_int_eq(bc_plot_check(&all.check, &all.curves, &options, &text, NULL), BC_OK);
    expect_drawn("colours.png", &text);
    close_seen(&all);
}
END_TEST

/* A scan of 81 values on three straight pieces, its design and its fitted stack; the last callout is about T. */
typedef struct scanned {
    inspected seen;
    double nm[BC_COLOUR_ROWS], curve[3][BC_COLOUR_ROWS];
    bc_colour colour[3];
    bc_callout row[2];
} scanned;

static void open_scanned(scanned *all)
{
    bc_overlay *overlay = &all->seen.result[0].R;
    bc_inspect_finding *finding = all->seen.finding;
    open_inspected(&all->seen);
    for (int i = 0; i < BC_COLOUR_ROWS; i++) {
        all->nm[i] = 380.0 + 5.0 * i;
        for (int c = 0; c < 3; c++)
            all->curve[c][i] = 0.004 + 0.001 * c + 1e-4 * (1.0 + 0.2 * c) * abs(i - 30);
    }
    for (int c = 0; c < 3; c++)
        bc_colour_of(all->curve[c], BC_ILLUMINANT_D65, BC_OBSERVER_2, &all->colour[c]);
    overlay->count = BC_COLOUR_ROWS;
    overlay->wavelength_nm = all->nm;
    overlay->measured = all->curve[0];
    overlay->design = all->curve[1];
    overlay->fitted = all->curve[2];
    overlay->from_design = overlay->from_fitted = overlay->noise = overlay->systematic = all->curve[2];
    for (int f = 0; f < 2; f++) {
        all->row[f] = (bc_callout){.statistic = BC_AVERAGE,
                                   .limit = 0.25,
                                   .from_nm = BC_CIE_FROM_NM,
                                   .to_nm = BC_CIE_TO_NM,
                                   .colour = BC_CHROMA,
                                   .quantity = f == 0 ? BC_R : BC_T,
                                   .weight = bc_weight_tristimulus(BC_ILLUMINANT_D65, BC_OBSERVER_2, 1)};
        strcpy(all->row[f].name, f == 0 ? "tint" : "through");
        finding[f] =
            (bc_inspect_finding){.callout = &all->row[f], .reason = f == 0 ? BC_DECIDED : BC_UNDECIDED_QUANTITY};
    }
    all->seen.callouts = (bc_callouts){.count = 2, .callout = all->row};
    all->seen.setup.callouts = &all->seen.callouts;
    all->seen.result[0].count = 2;
    all->seen.result[0].finding = finding;
    all->seen.result[0].T.count = 0;
    all->seen.result[1] = all->seen.result[0];
}

START_TEST(what_was_measured_has_a_colour)
{
    const bc_plot_options options = {0};
    const bc_chart_panel *panel;
    scanned all;
    bc_chart chart;
    open_scanned(&all);
    bc_chart_open(&chart, &options);
    bc_plot_inspect_panels(&chart, &all.seen.report);
    ck_assert(!chart.failed);
    panel = &chart.panel[chart.panels - 1];
    ck_assert_uint_eq(chart.panels, 3); /* R, its differences, and one colour */
    ck_assert_str_eq(panel->x.name, "a*");
    ck_assert_double_eq(item_of(panel, BC_CHART_DOTS, 1)->x[0], all.colour[0].a);
    ck_assert_double_eq(item_of(panel, BC_CHART_DOTS, 0)->y[0], all.colour[2].b);
    ck_assert_double_eq(item_of(panel, BC_CHART_MARK, 0)->from, all.colour[1].a);
    ck_assert_double_eq(item_of(panel, BC_CHART_KEEP_OUT, 0)->x[0], 25.0);
    bc_chart_clear(&chart);
    all.seen.finding[0].back_removed = true; /* then the curve is not what is judged */
    bc_chart_open(&chart, &options);
    bc_plot_inspect_panels(&chart, &all.seen.report);
    ck_assert_uint_eq(chart.panels, 2);
    bc_chart_clear(&chart);
    fixture_close(&all.seen.base);
}
END_TEST

START_TEST(what_was_measured_in_words)
{
    scanned all;
    bc_text text = {0};
    cJSON *json, *row;
    char expected[80];
    open_scanned(&all);
    ck_assert_int_eq(bc_report_inspect_text(&all.seen.report, &text, NULL), BC_OK);
    for (char *c = text.data; *c != '\0'; c++)
        *c = *c == '\n' ? ' ' : *c;
    snprintf(expected, sizeof expected, "CIEDE2000 between the two %.2f.",
             bc_colour_difference(&all.colour[0], &all.colour[1]));
    ck_assert_uint_eq(occurrences(text.data, "Colour of R (D65, 2 degree observer): measured L* "), 1);
    ck_assert_ptr_nonnull(strstr(text.data, expected));
    ck_assert_ptr_null(strstr(text.data, "Colour of T"));
    bc_text_clear(&text);
    ck_assert_int_eq(bc_report_inspect_json(&all.seen.report, &text, NULL), BC_OK);
    json = parse(&text);
    row = cJSON_GetArrayItem(cJSON_GetObjectItem(json, "colours"), 0);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(json, "colours")), 1);
    ck_assert_double_eq_tol(number_of(cJSON_GetObjectItem(row, "measured"), "a"), all.colour[0].a, 1e-9);
    ck_assert_double_eq_tol(number_of(cJSON_GetObjectItem(row, "design"), "L"), all.colour[1].L, 1e-9);
    ck_assert_double_eq_tol(number_of(cJSON_GetObjectItem(row, "fitted"), "chroma"), all.colour[2].chroma, 1e-9);
    cJSON_Delete(json);
    bc_text_clear(&text);
    fixture_close(&all.seen.base);
}
END_TEST

/* The second witness measured what the first one's fit is. */
START_TEST(witnesses_differ_in_colour)
{
    scanned all;
    bc_text lines = {0};
    char expected[160];
    open_scanned(&all);
    all.seen.result[1].R.measured = all.curve[2];
    all.seen.report.witnesses = 2;
    bc_add_lot_colours(&lines, &all.seen.report);
    snprintf(expected, sizeof expected,
             "Colour of R (D65, 2 degree observer): CIEDE2000 of the witnesses up to %.2f from the design, up to %.2f "
             "from one another.\n",
             fmax(bc_colour_difference(&all.colour[1], &all.colour[0]),
                  bc_colour_difference(&all.colour[1], &all.colour[2])),
             bc_colour_difference(&all.colour[0], &all.colour[2]));
    ck_assert_str_eq(lines.data, expected);
    bc_text_clear(&lines);
    fixture_close(&all.seen.base);
}
END_TEST

Suite *colours_suite(void)
{
    Suite *suite = suite_create("colours");
    TCase *tcase = scratch_case("colours");
    tcase_add_loop_test(tcase, an_ellipse_is_where_it_is, 0, 2);
    tcase_add_loop_test(tcase, a_luminous_value_brings_no_empty_panel, 0, 2);
    tcase_add_test(tcase, limits_and_worst_points_have_their_places);
    tcase_add_test(tcase, runs_lie_about_the_design);
    tcase_add_test(tcase, words_and_fields);
    tcase_add_test(tcase, what_was_measured_has_a_colour);
    tcase_add_test(tcase, what_was_measured_in_words);
    tcase_add_test(tcase, witnesses_differ_in_colour);
    suite_add_tcase(suite, tcase);
    return suite;
}
