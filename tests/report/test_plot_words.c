/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What pictures say in words and numbers, and how far their axes reach.
 */
#include "fixture.h"
#include "plot_words.h"
#include "scene.h"
#include <bloomcoat/zones.h>
#include <math.h>
#include <string.h>

START_TEST(short_numbers_keep_the_side_of_the_limit)
{
    static const struct {
        double value, limit;
        bc_sense sense;
        const char *text;
    } rows[] = {
        {0.00473, 0.005, BC_AT_MOST, "0.473"},    {0.0050001, 0.005, BC_AT_MOST, "0.50001"},
        {0.00499999, 0.005, BC_AT_MOST, "0.5"},   {0.99234, 0.99, BC_AT_LEAST, "99.234"},
        {0.98999, 0.99, BC_AT_LEAST, "98.999"},   {0.99998, 0.99, BC_AT_LEAST, "99.998"},
        {6.86e-7, 1e-6, BC_AT_MOST, "6.86×10⁻⁵"}, {1.0, 0.99, BC_AT_LEAST, "100"},
        {0.246, 0.008, BC_AT_MOST, "24.6"},       {7e-17, 0.0025, BC_AT_MOST, "<0.0001"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const bc_callout callout = {.limit = rows[i].limit, .sense = rows[i].sense};
        const bc_finding finding = {
            .callout = &callout, .value = rows[i].value, .pass = bc_limit_used(&callout, rows[i].value) <= 1.0};
        char text[BC_PLOT_NUMBER];
        bc_plot_value(text, &finding);
        ck_assert_str_eq(text, rows[i].text);
    }
}
END_TEST

START_TEST(axes_suit_what_they_show)
{
    static const struct {
        double least, most, from, to; /* fractions; percent */
    } rows[] = {
        {0.0, 0.00001, 0.0, 0.0012},  {0.0, 0.0110, 0.0, 1.2}, {0.001, 1.0, 0.0, 100.0},
        {0.993, 0.9995, 99.2, 100.0}, {0.0, 0.0, 0.0, 1.0},    {0.3, 0.31, 29.8, 31.2},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const bc_chart_range range = bc_plot_range((bc_plot_extent){rows[i].least, rows[i].most});
        ck_assert_double_eq_tol(range.from, rows[i].from, 1e-9);
        ck_assert_double_eq_tol(range.to, rows[i].to, 1e-9);
    }
    for (size_t i = 0; i < 2; i++) { /* the limit's surroundings, or as far as the curve rises in the band */
        const bc_callout callout = {.limit = 0.005};
        bc_plot_limits limits = BC_PLOT_NO_LIMITS;
        bc_plot_add_limit(&limits, &callout);
        limits.values = (bc_plot_extent){0.0, i == 0 ? 0.004 : 0.9};
        ck_assert_double_eq_tol(bc_plot_range_with_limits(&limits).to, i == 0 ? 0.8 : 100.0, 1e-9);
    }
}
END_TEST

START_TEST(letters_go_on_after_z)
{
    char letter[BC_CHART_BRIEF];
    bc_plot_letter(letter, 0);
    ck_assert_str_eq(letter, "a");
    bc_plot_letter(letter, 25);
    ck_assert_str_eq(letter, "z");
    bc_plot_letter(letter, 26);
    ck_assert_str_eq(letter, "aa");
    bc_plot_letter(letter, 26 + 26 * 26 - 1);
    ck_assert_str_eq(letter, "zz");
}
END_TEST

static bool has_key(const bc_chart *chart, const char *text)
{
    for (size_t i = 0; i < chart->keys; i++)
        if (chart->key[i].kind == BC_CHART_LINE && strcmp(chart->key[i].text, text) == 0)
            return true;
    return false;
}

/* On a curved surface the key says where each curve is from; on a plane one it would be idle. */
START_TEST(curves_of_a_curved_surface_say_where)
{
    const bc_plot_options plain = {0};
    const bc_zone zone = {.radius_mm = 7.25, .thickness_factor = 0.9};
    plot_scene all;
    plot_scene_open(&all);
    for (size_t f = 0; _i == 1 && f < all.result.count; f++)
        all.finding[f].zone = &zone;
    all.curve[1].zone = _i == 1 ? &zone : NULL;
    bc_chart chart;
    bc_chart_open(&chart, &plain);
    bc_plot_check_panels(&chart, &all.check, &all.curves);
    ck_assert(!chart.failed);
    ck_assert(has_key(&chart, _i == 1 ? "0° at the vertex" : "0°"));
    ck_assert(has_key(&chart, _i == 1 ? "30°, 7.25 mm from the axis" : "30°"));
    bc_chart_clear(&chart);
    plot_scene_close(&all);
}
END_TEST

Suite *plot_words_suite(void)
{
    Suite *suite = suite_create("plot words");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, short_numbers_keep_the_side_of_the_limit);
    tcase_add_test(tcase, axes_suit_what_they_show);
    tcase_add_test(tcase, letters_go_on_after_z);
    tcase_add_loop_test(tcase, curves_of_a_curved_surface_say_where, 0, 2);
    suite_add_tcase(suite, tcase);
    return suite;
}
