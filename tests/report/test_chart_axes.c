/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The axes of a picture: ticks, ranges, what stands beside them, and places on them.
 */
#include "chart_draw.h"
#include "fixture.h"
#include <math.h>
#include <string.h>

/* Steps are 1, 2 and 5 times powers of ten; the numbers have the decimals of the step. */
static const struct tick_row {
    double from, to;
    size_t most;
    const char *numbers; /* with a blank after each */
    double step;
    int exponent;
} tick_rows[] = {
    {0.0, 1.0, 5, "0.0 0.2 0.4 0.6 0.8 1.0 ", 0.2, 0},
    {0.0, 1.2, 6, "0.0 0.2 0.4 0.6 0.8 1.0 1.2 ", 0.2, 0},
    {0.0, 100.0, 5, "0 20 40 60 80 100 ", 20.0, 0},
    {0.0, 100.0, 4, "0 50 100 ", 50.0, 0},
    {409.0, 691.0, 6, "450 500 550 600 650 ", 50.0, 0},
    {98.7, 100.0, 4, "99.0 99.5 100.0 ", 0.5, 0},
    {0.0, 0.015, 3, "0.000 0.005 0.010 0.015 ", 0.005, 0},
    {0.0, 1.5e-6, 3, "0.0 0.5 1.0 1.5 ", 5e-7, -6},
    {-0.2, 0.2, 4, "−0.2 −0.1 0.0 0.1 0.2 ", 0.1, 0},
    {2000.0, 14000.0, 6, "2000 4000 6000 8000 10000 12000 14000 ", 2000.0, 0},
    {0.0, 3e6, 3, "0 1 2 3 ", 1e6, 6},
    {99.99998, 100.0, 2, "99.99998 99.99999 100.00000 ", 1e-5, 0},
};

START_TEST(ticks)
{
    const struct tick_row *row = &tick_rows[_i];
    const bc_chart_range range = {row->from, row->to};
    bc_chart_ticks found;
    char numbers[400] = "";
    bc_chart_find_ticks(range, row->most, false, &found);
    for (size_t i = 0; i < found.count; i++) {
        strcat(strcat(numbers, found.tick[i].text), " ");
        ck_assert_double_ge(found.tick[i].value, row->from - 1e-9 * found.step);
        ck_assert_double_le(found.tick[i].value, row->to + 1e-9 * found.step);
    }
    ck_assert_str_eq(numbers, row->numbers);
    ck_assert_double_eq_tol(found.step, row->step, 1e-12 * row->step);
    ck_assert_int_eq(found.exponent, row->exponent);
}
END_TEST

START_TEST(ticks_by_decades)
{
    bc_chart_ticks found;
    bc_chart_find_ticks((bc_chart_range){1e-6, 1e-3}, 5, true, &found);
    ck_assert_uint_eq(found.count, 4);
    ck_assert_str_eq(found.tick[0].text, "10⁻⁶");
    ck_assert_str_eq(found.tick[3].text, "10⁻³");
    ck_assert_double_eq_tol(found.tick[1].value, 1e-5, 1e-17);
    bc_chart_find_ticks((bc_chart_range){1e-12, 1.0}, 5, true, &found);
    ck_assert_uint_le(found.count, 6);
    ck_assert_str_eq(found.tick[found.count - 1].text, "10⁰");
}
END_TEST

START_TEST(a_range_of_no_width_has_no_ticks)
{
    bc_chart_ticks found;
    bc_chart_find_ticks((bc_chart_range){5.0, 5.0}, 5, false, &found);
    ck_assert_uint_eq(found.count, 0);
    bc_chart_find_ticks((bc_chart_range){NAN, NAN}, 5, false, &found);
    ck_assert_uint_eq(found.count, 0);
}
END_TEST

START_TEST(whole_steps)
{
    bc_chart_range range = bc_chart_whole_steps((bc_chart_range){0.03, 1.13}, 6);
    ck_assert(range.from == 0.0 && range.to == 1.2);
    range = bc_chart_whole_steps((bc_chart_range){98.55, 100.0}, 6);
    ck_assert(range.from == 98.5 && range.to == 100.0);
    range = bc_chart_whole_steps((bc_chart_range){0.2, 1.2}, 5); /* on the grid already */
    ck_assert(range.from == 0.2 && range.to == 1.2);
}
END_TEST

START_TEST(labels_of_an_axis)
{
    const bc_chart_axis axis = {.name = "Reflectance", .brief = "R", .unit = "%"}, bare = {.name = "n"};
    char label[BC_CHART_TEXT];
    bc_chart_axis_label(&axis, 0, false, label);
    ck_assert_str_eq(label, "Reflectance (%)");
    bc_chart_axis_label(&axis, -6, true, label);
    ck_assert_str_eq(label, "R (10⁻⁶ %)");
    bc_chart_axis_label(&bare, 0, true, label);
    ck_assert_str_eq(label, "n");
    bc_chart_axis_label(&bare, 12, false, label);
    ck_assert_str_eq(label, "n (10¹²)");
}
END_TEST

START_TEST(points_have_places)
{
    bc_chart_panel panel = {.x.range = {400.0, 700.0}, .y.range = {0.0, 2.0}};
    const bc_chart_box frame = {10.0, 20.0, 310.0, 120.0};
    ck_assert_double_eq_tol(bc_chart_map_x(&panel, &frame, 550.0), 160.0, 1e-12);
    ck_assert_double_eq_tol(bc_chart_map_y(&panel, &frame, 0.0), 120.0, 1e-12);
    ck_assert_double_eq_tol(bc_chart_map_y(&panel, &frame, 1.5), 45.0, 1e-12);
    panel.y = (bc_chart_axis){.range = {1e-4, 1.0}, .logarithmic = true};
    ck_assert_double_eq_tol(bc_chart_map_y(&panel, &frame, 1e-2), 70.0, 1e-12);
    ck_assert(isnan(bc_chart_map_y(&panel, &frame, 0.0))); /* has no place on such an axis */
}
END_TEST

/* An axis without numbers has no ticks either: all ink is the frame's. */
START_TEST(an_axis_is_numbered_or_not)
{
    bc_chart_panel panel = {.x.range = {0.0, 1.0}, .y.range = {0.0, 1.0}, .x_below = true};
    bc_chart_panel_layout layout = {.frame = {100.0, 100.0, 300.0, 200.0}};
    layout.y.count = 1;
    layout.y.tick[0].value = 0.5;
    strcpy(layout.y.tick[0].text, "0.5");
    for (int numbered = 0; numbered < 2; numbered++) {
        double left, top, width, height;
        cairo_surface_t *surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
        cairo_t *cairo = cairo_create(surface);
        panel.y.numbered = numbered ? (bc_chart_range){0.0, 0.0} : (bc_chart_range){-2.0, -1.0};
        bc_chart_set_letters(cairo);
        bc_chart_draw_axes(&panel, &layout, 10.0, cairo);
        cairo_recording_surface_ink_extents(surface, &left, &top, &width, &height);
        ck_assert_int_eq(left < 98.0, numbered);
        cairo_destroy(cairo);
        cairo_surface_destroy(surface);
    }
}
END_TEST

Suite *chart_axes_suite(void)
{
    Suite *suite = suite_create("chart, axes");
    TCase *tcase = tcase_create("all");
    tcase_add_loop_test(tcase, ticks, 0, sizeof tick_rows / sizeof *tick_rows);
    tcase_add_test(tcase, ticks_by_decades);
    tcase_add_test(tcase, a_range_of_no_width_has_no_ticks);
    tcase_add_test(tcase, whole_steps);
    tcase_add_test(tcase, labels_of_an_axis);
    tcase_add_test(tcase, points_have_places);
    tcase_add_test(tcase, an_axis_is_numbered_or_not);
    suite_add_tcase(suite, tcase);
    return suite;
}
