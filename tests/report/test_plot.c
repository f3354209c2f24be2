/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Whole pictures: the three formats, the same bytes twice, what is in them and where.
 */
#include "chart_layout.h"
#include "fixture.h"
#include "items.h"
#include "plot_words.h"
#include "scene.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static bc_text draw(const plot_scene *all, int which, const bc_plot_options *options)
{
    bc_text text = {0};
    bc_error error = {0};
    ck_assert_msg(plot_scene_draw(all, which, options, &text, &error) == BC_OK, "%d: %s", which, error.message);
    return text;
}

static uint32_t number_at(const bc_text *text, size_t at)
{
    uint32_t value = 0;
    for (size_t i = 0; i < 4; i++)
        value = value << 8 | (unsigned char)text->data[at + i];
    return value;
}

/* Every tag is closed, in order, and there is no stray angle bracket or ampersand: enough of XML for what is written
 * here. */
static void expect_xml(const bc_text *svg)
{
    char open[32][32];
    size_t depth = 0;
    for (const char *c = strchr(svg->data, '<'); c != NULL; c = strchr(c, '<')) {
        const char *end = strchr(c, '>');
        const size_t name = strcspn(c + 1, " />");
        ck_assert_ptr_nonnull(end);
        ck_assert_ptr_null(memchr(c + 1, '<', (size_t)(end - c - 1)));
        if (c[1] == '/') {
            ck_assert_uint_gt(depth, 0);
            depth--;
            ck_assert_uint_eq(strlen(open[depth]), (size_t)(end - c - 2));
            ck_assert_int_eq(strncmp(open[depth], c + 2, strlen(open[depth])), 0);
        } else if (c[1] != '?' && end[-1] != '/') {
            ck_assert_uint_lt(depth, 32);
            ck_assert_uint_lt(name, sizeof open[0]);
            memcpy(open[depth], c + 1, name);
            open[depth++][name] = '\0';
        }
        c = end;
    }
    ck_assert_uint_eq(depth, 0);
    for (const char *c = strchr(svg->data, '&'); c != NULL; c = strchr(c + 1, '&'))
        ck_assert(strncmp(c, "&lt;", 4) == 0 || strncmp(c, "&gt;", 4) == 0 || strncmp(c, "&amp;", 5) == 0);
    ck_assert_ptr_null(strstr(svg->data, "]]>")); /* refused in character data: XML 1.0, 2.4 */
}

START_TEST(svg_is_xml_with_curves_and_letters)
{
    const bc_plot_options options = {.title = "R < 1 % & more ]]>", .part = "12-345"};
    plot_scene all;
    bc_text svg;
    plot_scene_open(&all);
    svg = draw(&all, _i, &options);
    ck_assert_int_eq(strncmp(svg.data, "<?xml ", 6), 0);
    ck_assert_uint_eq(strlen(svg.data), svg.length);
    expect_xml(&svg);
    ck_assert_uint_eq(occurrences(svg.data, "<title>R &lt; 1 % &amp; more ]]&gt;</title>"), 1);
    ck_assert_ptr_nonnull(strstr(svg.data, "width=\"340.1"));       /* 120 mm in points */
    ck_assert_uint_gt(occurrences(svg.data, "<use "), 100);         /* letters */
    ck_assert_ptr_nonnull(strstr(svg.data, "rgb(0%,44.7%,69.8%)")); /* the blue of the first curve */
    ck_assert_ptr_null(strstr(svg.data, "nan"));
    bc_text_clear(&svg);
    plot_scene_close(&all);
}
END_TEST

START_TEST(png_has_its_size_and_resolution)
{
    const bc_plot_options options = {.format = BC_PLOT_PNG, .width_mm = 85.0, .height_mm = 60.0, .dpi = 254.0};
    plot_scene all;
    bc_text png;
    plot_scene_open(&all);
    png = draw(&all, _i, &options);
    ck_assert_int_eq(memcmp(png.data, "\x89PNG\r\n\x1a\n", 8), 0);
    ck_assert_int_eq(memcmp(png.data + 12, "IHDR", 4), 0);
    ck_assert_uint_eq(number_at(&png, 16), 850); /* 10 pixels per mm */
    ck_assert_uint_eq(number_at(&png, 20), 600);
    ck_assert_int_eq(memcmp(png.data + 37, "pHYs", 4), 0);
    ck_assert_uint_eq(number_at(&png, 41), 10000);
    ck_assert_int_eq(memcmp(png.data + png.length - 8, "IEND", 4), 0);
    bc_text_clear(&png);
    plot_scene_close(&all);
}
END_TEST

/* The CRC that the chunk ends with, checked by the reader of another library. */
typedef struct reader {
    const bc_text *png;
    size_t at;
} reader;

static cairo_status_t read_png(void *closure, unsigned char *data, unsigned length)
{
    reader *from = closure;
    if (length > from->png->length - from->at)
        return CAIRO_STATUS_READ_ERROR;
    memcpy(data, from->png->data + from->at, length);
    from->at += length;
    return CAIRO_STATUS_SUCCESS;
}

START_TEST(png_can_be_read)
{
    const bc_plot_options options = {.format = BC_PLOT_PNG, .width_mm = 60.0, .dpi = 100.0};
    plot_scene all;
    bc_text png;
    cairo_surface_t *surface;
    size_t dark = 0, white = 0;
    plot_scene_open(&all);
    png = draw(&all, PLOT_CHECK, &options);
    reader from = {&png, 0};
    surface = cairo_image_surface_create_from_png_stream(read_png, &from);
    ck_assert_int_eq(cairo_surface_status(surface), CAIRO_STATUS_SUCCESS);
    for (int row = 0; row < cairo_image_surface_get_height(surface); row++) {
        const unsigned char *line =
            cairo_image_surface_get_data(surface) + row * cairo_image_surface_get_stride(surface);
        for (int column = 0; column < cairo_image_surface_get_width(surface); column++) {
            dark += line[4 * column] < 80 && line[4 * column + 1] < 80;
            white += line[4 * column] == 255 && line[4 * column + 1] == 255 && line[4 * column + 2] == 255;
        }
    }
    ck_assert_uint_gt(dark, 500);
    ck_assert_uint_gt(white, 10000);
    cairo_surface_destroy(surface);
    bc_text_clear(&png);
    plot_scene_close(&all);
}
END_TEST

START_TEST(pdf_has_a_header_and_no_date)
{
    const bc_plot_options options = {.format = BC_PLOT_PDF, .title = "Window"};
    plot_scene all;
    bc_text pdf;
    plot_scene_open(&all);
    pdf = draw(&all, _i, &options);
    ck_assert_int_eq(strncmp(pdf.data, "%PDF-1.", 7), 0);
    ck_assert_ptr_nonnull(memmem(pdf.data, pdf.length, "%%EOF", 5));
    ck_assert_ptr_null(memmem(pdf.data, pdf.length, "CreationDate", 12));
    ck_assert_ptr_nonnull(memmem(pdf.data, pdf.length, "/Title (Window)", 15));
    bc_text_clear(&pdf);
    plot_scene_close(&all);
}
END_TEST

START_TEST(twice_the_same_bytes)
{
    const bc_plot_options options = {
        .format = (bc_plot_format)(_i / PLOT_SCENES), .width_mm = 85.0, .dpi = 100.0, .title = "Window"};
    plot_scene all;
    bc_text first, second;
    plot_scene_open(&all);
    first = draw(&all, _i % PLOT_SCENES, &options);
    second = draw(&all, _i % PLOT_SCENES, &options);
    ck_assert_uint_eq(first.length, second.length);
    ck_assert_int_eq(memcmp(first.data, second.data, first.length), 0);
    bc_text_clear(&first);
    bc_text_clear(&second);
    plot_scene_close(&all);
}
END_TEST

/* A circle of Cairo's begins at its rightmost point, with four curves to come. */
static bool has_circle(const char *svg, double x, double y)
{
    double at_x, at_y;
    for (const char *c = strstr(svg, " d=\"M "); c != NULL; c = strstr(c + 1, " d=\"M "))
        if (sscanf(c, " d=\"M %lf %lf C ", &at_x, &at_y) == 2 &&
            strncmp(strchr(strchr(c + 6, ' ') + 1, ' '), " C", 2) == 0 && fabs(at_x - x) < 0.02 &&
            fabs(at_y - y) < 0.02)
            return true;
    return false;
}

START_TEST(the_worst_point_is_marked_where_it_is)
{
    const bc_plot_options options = {.width_mm = 120.0};
    plot_scene all;
    bc_chart chart;
    bc_chart_layout layout;
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
    cairo_t *ruler = cairo_create(surface);
    cairo_font_options_t *font = cairo_font_options_create();
    bc_text svg;
    plot_scene_open(&all);
    cairo_font_options_set_hint_metrics(font, CAIRO_HINT_METRICS_OFF); /* as the pictures are drawn */
    cairo_font_options_set_hint_style(font, CAIRO_HINT_STYLE_NONE);
    cairo_set_font_options(ruler, font);
    bc_chart_open(&chart, &options);
    bc_plot_check_panels(&chart, &all.check, &all.curves);
    bc_plot_check_notes(&chart, &all.check);
    ck_assert_int_eq(bc_chart_lay_out(&chart, &options, ruler, &layout, NULL), BC_OK);
    svg = draw(&all, PLOT_CHECK, &options);
    /* The place by the axes' numbers alone: 0 to 0.8 % upwards, and wavelengths from 400 to 700 nm to the right. */
    const bc_chart_box *frame = &layout.panel[0].frame;
    ck_assert(chart.panel[0].x.range.from == 400.0 && chart.panel[0].x.range.to == 700.0);
    ck_assert(chart.panel[0].y.range.from == 0.0 && chart.panel[0].y.range.to == 0.8);
    const double x = frame->left + (PLOT_WORST_NM - 400.0) / 300.0 * (frame->right - frame->left);
    const double y = frame->bottom - 100.0 * PLOT_WORST / 0.8 * (frame->bottom - frame->top);
    ck_assert(has_circle(svg.data, x + bc_chart_mark_radius(layout.font), y));
    ck_assert(!has_circle(svg.data, x + bc_chart_mark_radius(layout.font) + 3.0, y));
    bc_text_clear(&svg);
    bc_chart_layout_clear(&chart, &layout);
    bc_chart_clear(&chart);
    cairo_font_options_destroy(font);
    cairo_destroy(ruler);
    cairo_surface_destroy(surface);
    plot_scene_close(&all);
}
END_TEST

/* Every and mean are drawn as what they are; what is not met is said. */
START_TEST(callouts_are_drawn_as_what_they_are)
{
    const bc_plot_options options = {0};
    plot_scene all;
    bc_chart chart;
    plot_scene_open(&all);
    bc_chart_open(&chart, &options);
    bc_plot_check_panels(&chart, &all.check, &all.curves);
    bc_plot_check_notes(&chart, &all.check);
    ck_assert_uint_eq(chart.panels, 2);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_KEEP_OUT), 1);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_LIMIT), 1);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_MARK), 1);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_MEAN), 1);
    ck_assert_uint_eq(count_kind(&chart.panel[0], BC_CHART_LINE), 1);
    ck_assert_uint_eq(count_kind(&chart.panel[1], BC_CHART_KEEP_OUT), 1);
    ck_assert(chart.panel[1].item[1].kind == BC_CHART_KEEP_OUT && chart.panel[1].item[1].bad); /* at least: below */
    ck_assert_str_eq(chart.panel[0].y.name, "Reflectance");
    ck_assert_str_eq(chart.panel[1].y.name, "Transmittance");
    ck_assert(chart.panel[1].y.range.to == 100.0 && chart.panel[1].y.range.from < 99.0);
    ck_assert_str_eq(chart.panel[1].heading, "30°, unpolarized");
    ck_assert_str_eq(chart.note[0].mark, "a");
    ck_assert_str_eq(chart.note[0].text, "band: R\u00a0≤\u00a00.5\u00a0%, 420–680\u00a0nm, 0°. Worst 0.45\u00a0% at "
                                         "512\u00a0nm, 0°; uses 90.0\u00a0% of the limit.");
    ck_assert_ptr_nonnull(strstr(chart.note[2].text, "uses 120.0\u00a0% of the limit, not met."));
    ck_assert_str_eq(chart.note[chart.notes - 1].text, "Predicted, not measured.");
    bc_chart_clear(&chart);
    plot_scene_close(&all);
}
END_TEST

/* A letter tells callouts apart; of one alone, on however many glasses, there is none. */
START_TEST(one_callout_has_no_letter)
{
    char letter[BC_CHART_BRIEF];
    plot_scene all;
    plot_scene_open(&all);
    all.result.count = 1; /* another callout's finding lies behind it in memory */
    bc_plot_callout_letter(&all.result, &all.callout[0], letter);
    ck_assert_str_eq(letter, "");
    all.finding[1].callout = &all.callout[0];
    all.result.count = 2;
    bc_plot_callout_letter(&all.result, &all.callout[0], letter);
    ck_assert_str_eq(letter, "");
    all.result.count = 3;
    bc_plot_callout_letter(&all.result, &all.callout[2], letter);
    ck_assert_str_eq(letter, "b");
    plot_scene_close(&all);
}
END_TEST

/* Of a callout on several glasses the note tells the worst, of those the result has. */
START_TEST(the_note_tells_the_worst_glass)
{
    const bc_plot_options options = {0};
    plot_scene all;
    bc_chart chart;
    plot_scene_open(&all);
    all.finding[1].callout = all.finding[2].callout = &all.callout[0];
    all.finding[1].limit_used = 0.7;
    all.finding[2].limit_used = 1.5;
    all.result.count = (size_t)_i;
    all.result.decisive = all.result.count - 1;
    bc_chart_open(&chart, &options);
    bc_plot_check_notes(&chart, &all.check);
    ck_assert_ptr_nonnull(strstr(chart.note[0].text, _i == 3 ? "uses 150.0\u00a0%" : "uses 90.0\u00a0%"));
    bc_chart_clear(&chart);
    plot_scene_close(&all);
}
END_TEST

START_TEST(what_cannot_be_drawn_is_said)
{
    const bc_plot_options options = {0};
    plot_scene all;
    bc_text text = {0};
    bc_error error = {0};
    plot_scene_open(&all);
    ck_assert_int_eq(bc_plot_material(all.glass.dispersion, &options, &text, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "'1.52' is a constant index"));
    all.yield.curves = 0;
    ck_assert_int_eq(plot_scene_draw(&all, PLOT_YIELD, &options, &text, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "percentile"));
    plot_scene_close(&all);
}
END_TEST

/* A title may hold anything the command line lets through. */
START_TEST(any_bytes_make_a_title)
{
    const bc_plot_options options = {.title = "\xff\x01\xc3 \xe8\xa9\xa6 ]]> \x1b[31m"};
    plot_scene all;
    bc_text svg;
    plot_scene_open(&all);
    svg = draw(&all, PLOT_CHECK, &options);
    expect_xml(&svg);
    for (size_t i = 0; i < svg.length; i++)
        ck_assert((unsigned char)svg.data[i] >= 0x20 || svg.data[i] == '\n');
    bc_text_clear(&svg);
    plot_scene_close(&all);
}
END_TEST

Suite *plot_suite(void)
{
    Suite *suite = suite_create("plot");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 60);
    tcase_add_loop_test(tcase, svg_is_xml_with_curves_and_letters, 0, PLOT_SCENES);
    tcase_add_loop_test(tcase, png_has_its_size_and_resolution, 0, PLOT_SCENES);
    tcase_add_test(tcase, png_can_be_read);
    tcase_add_loop_test(tcase, pdf_has_a_header_and_no_date, 0, PLOT_SCENES);
    tcase_add_loop_test(tcase, twice_the_same_bytes, 0, 3 * PLOT_SCENES);
    tcase_add_test(tcase, the_worst_point_is_marked_where_it_is);
    tcase_add_test(tcase, callouts_are_drawn_as_what_they_are);
    tcase_add_test(tcase, one_callout_has_no_letter);
    tcase_add_loop_test(tcase, the_note_tells_the_worst_glass, 1, 4);
    tcase_add_test(tcase, what_cannot_be_drawn_is_said);
    tcase_add_test(tcase, any_bytes_make_a_title);
    suite_add_tcase(suite, tcase);
    return suite;
}
