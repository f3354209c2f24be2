/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What may be asked of a picture: its format by the name of its file, and its size.
 */
#include "fixture.h"
#include "scene.h"
#include <math.h>
#include <string.h>

START_TEST(formats_by_name)
{
    static const char *const wrong[] = {"a.jpg", "svg", ".svg", "a.svg.txt", "-", "folder/.png", ""};
    bc_plot_format format;
    bc_error error;
    ck_assert_int_eq(bc_plot_format_of("a.svg", &format, NULL), BC_OK);
    ck_assert_int_eq(format, BC_PLOT_SVG);
    ck_assert_int_eq(bc_plot_format_of("b/c.d.PNG", &format, NULL), BC_OK);
    ck_assert_int_eq(format, BC_PLOT_PNG);
    ck_assert_int_eq(bc_plot_format_of("x.Pdf", &format, NULL), BC_OK);
    ck_assert_int_eq(format, BC_PLOT_PDF);
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        ck_assert_int_eq(bc_plot_format_of(wrong[i], &format, &error), BC_ERROR_INPUT);
        ck_assert_ptr_nonnull(strstr(error.message, ".svg, .pdf or .png"));
    }
}
END_TEST

START_TEST(options_out_of_their_limits_are_refused)
{
    static const struct {
        bc_plot_options options;
        const char *piece;
    } rows[] = {
        {{.width_mm = 39.0}, "width in mm is 39"},
        {{.width_mm = NAN}, "width in mm"},
        {{.height_mm = 1001.0}, "height in mm is 1001"},
        {{.dpi = 2401.0}, "resolution in dpi is 2401"},
        {{.format = BC_PLOT_PNG, .width_mm = 1000.0, .height_mm = 1000.0, .dpi = 600.0}, "million pixels"},
    };
    plot_scene all;
    plot_scene_open(&all);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        bc_text text = {0};
        bc_error error = {0};
        ck_assert_int_eq(bc_plot_check_options(&rows[i].options, &error), BC_ERROR_INPUT);
        ck_assert_ptr_nonnull(strstr(error.message, rows[i].piece));
        ck_assert_int_eq(plot_scene_draw(&all, PLOT_CHECK, &rows[i].options, &text, &error), BC_ERROR_INPUT);
        ck_assert_ptr_null(text.data);
    }
    plot_scene_close(&all);
}
END_TEST

Suite *plot_options_suite(void)
{
    Suite *suite = suite_create("plot, options");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, formats_by_name);
    tcase_add_test(tcase, options_out_of_their_limits_are_refused);
    suite_add_tcase(suite, tcase);
    return suite;
}
