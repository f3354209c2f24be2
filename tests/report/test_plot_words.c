/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What pictures say in words and numbers, and how far their axes reach.
 */
#include "fixture.h"
#include "plot_words.h"
#include <math.h>

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
        {0.246, 0.008, BC_AT_MOST, "24.6"},
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

Suite *plot_words_suite(void)
{
    Suite *suite = suite_create("plot words");
    TCase *tcase = tcase_create("all");
    tcase_add_test(tcase, short_numbers_keep_the_side_of_the_limit);
    tcase_add_test(tcase, axes_suit_what_they_show);
    tcase_add_test(tcase, letters_go_on_after_z);
    suite_add_tcase(suite, tcase);
    return suite;
}
