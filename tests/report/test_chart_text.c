/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The texts of a picture: they hide nothing, are cut and broken where a reader would, and fit the page.
 */
#include "chart_draw.h"
#include "fixture.h"
#include "utf8.h"
#include <math.h>
#include <string.h>

static cairo_t *new_ruler(void)
{
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
    cairo_t *cairo = cairo_create(surface);
    cairo_surface_destroy(surface);
    bc_chart_set_letters(cairo);
    return cairo;
}

static bool overlap(const bc_chart_box *one, const bc_chart_box *other)
{
    return one->left < other->right && other->left < one->right && one->top < other->bottom && other->top < one->bottom;
}

typedef struct covered {
    const bc_chart_box *box;
    double x, y;
} covered;

static void expect_uncovered(void *context, bool move, double x, double y)
{
    covered *last = context;
    bc_chart_segment piece = {last->x, last->y, x, y};
    ck_assert(move || !bc_chart_clip(last->box, &piece));
    last->x = x;
    last->y = y;
}

/* A dozen points on a wave, all with long texts: those that are shown cover neither the wave nor one another. */
START_TEST(texts_hide_nothing)
{
    enum { POINTS = 401, MARKS = 12 };
    static double x[POINTS], y[POINTS];
    const bc_plot_options options = {.width_mm = 120.0};
    bc_chart chart;
    bc_chart_layout layout;
    cairo_t *ruler = new_ruler();
    size_t shown = 0;
    bc_chart_open(&chart, &options);
    bc_chart_add_panel(&chart)->x.range = (bc_chart_range){0.0, 1.0};
    chart.panel[0].y.range = (bc_chart_range){0.0, 2.0};
    for (size_t i = 0; i < POINTS; i++) {
        x[i] = (double)i / (POINTS - 1);
        y[i] = 0.6 + 0.3 * sin(25.0 * x[i]);
    }
    *bc_chart_add(&chart, BC_CHART_LINE) = (bc_chart_item){.kind = BC_CHART_LINE, .count = POINTS, .x = x, .y = y};
    for (size_t m = 0; m < MARKS; m++) {
        const size_t at = (m + 1) * POINTS / (MARKS + 1);
        *bc_chart_add(&chart, BC_CHART_MARK) = (bc_chart_item){
            .kind = BC_CHART_MARK, .from = x[at], .low = y[at], .text = "0.473 % at 512 nm, 0°", .brief = "a"};
    }
    ck_assert_int_eq(bc_chart_lay_out(&chart, &options, ruler, &layout, NULL), BC_OK);
    for (size_t i = 1; i <= MARKS; i++) {
        const bc_chart_label *label = &layout.panel[0].label[i];
        covered last = {.box = &label->box};
        if (!label->shown)
            continue;
        shown++;
        bc_chart_trace(&chart.panel[0], &layout.panel[0].frame, &chart.panel[0].item[0], false, 0.0, expect_uncovered,
                       &last);
        for (size_t o = 1; o < i; o++)
            ck_assert(!layout.panel[0].label[o].shown || !overlap(&label->box, &layout.panel[0].label[o].box));
    }
    ck_assert_uint_ge(shown, 8);
    bc_chart_layout_clear(&chart, &layout);
    bc_chart_clear(&chart);
    cairo_destroy(ruler);
}
END_TEST

START_TEST(texts_are_cut_on_a_character)
{
    char text[64] = "größte Länge 試験試験試験";
    cairo_t *ruler = new_ruler();
    bc_pen_font(ruler, 8.0, false);
    for (double width = 120.0; width > 1.0; width -= 0.7) {
        char cut[64];
        uint32_t code;
        memcpy(cut, text, sizeof cut);
        bc_pen_shorten(ruler, width, cut, sizeof cut);
        ck_assert_double_le(bc_pen_width(ruler, cut), width);
        for (const char *c = cut; *c != '\0';) {
            const size_t length = bc_utf8_decode(c, strlen(c), &code);
            ck_assert_uint_gt(length, 0);
            c += length;
        }
    }
    ck_assert_int_eq(cairo_status(ruler), CAIRO_STATUS_SUCCESS);
    cairo_destroy(ruler);
}
END_TEST

/* Everything fits on the page, whatever the page: it is drawn smaller where it must. */
/* A letter and its accent are one character, as Unicode's grapheme clusters have it (UAX 29). */
START_TEST(an_accent_stays_with_its_letter)
{
    cairo_t *ruler = new_ruler();
    bc_pen_font(ruler, 8.0, false);
    for (double width = 100.0; width > 8.0; width -= 0.9) {
        char cut[64] = "e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301";
        size_t letters = 0, accents = 0;
        bc_pen_shorten(ruler, width, cut, sizeof cut);
        for (const char *c = cut; *c != '\0'; c++) {
            letters += *c == 'e';
            accents += (unsigned char)*c == 0xcc;
        }
        ck_assert_uint_eq(letters, accents);
    }
    cairo_destroy(ruler);
}
END_TEST

/* Arabic letters join: two of them together are no wider than twice the one that stands alone. */
START_TEST(letters_are_shaped)
{
    cairo_t *ruler = new_ruler();
    bc_pen_font(ruler, 8.0, false);
    ck_assert_double_lt(bc_pen_width(ruler, "\u0628\u0628"), 0.85 * 2.0 * bc_pen_width(ruler, "\u0628"));
    ck_assert_double_eq_tol(bc_pen_width(ruler, "nn"), 2.0 * bc_pen_width(ruler, "n"), 0.02);
    cairo_destroy(ruler);
}
END_TEST

typedef struct broken {
    cairo_t *ruler;
    const char *text;
    double width;
    size_t lines, end;
} broken;

static bool take_line(void *context, size_t start, size_t length)
{
    broken *b = context;
    char line[256];
    for (size_t i = b->end; i < start; i++)
        ck_assert_int_eq(b->text[i], ' ');
    memcpy(line, b->text + start, length);
    line[length] = '\0';
    ck_assert_double_le(bc_pen_width(b->ruler, line), b->width + 0.01);
    b->end = start + length;
    b->lines++;
    return true;
}

START_TEST(lines_are_broken_where_their_language_does)
{
    static const char *const text[] = {"R \u2264 0.5 %, 425-675 nm, on both faces",
                                       "\u8a66\u9a13\u8a66\u9a13\u8a66\u9a13\u8a66\u9a13\u8a66\u9a13",
                                       "a_name_that_is_too_long_for_any_line"};
    broken b = {.ruler = new_ruler(), .width = 50.0};
    bc_pen_font(b.ruler, 8.0, false);
    for (size_t i = 0; i < sizeof text / sizeof text[0]; i++) {
        b.text = text[i];
        b.lines = b.end = 0;
        bc_pen_break(b.ruler, b.width, text[i], take_line, &b);
        ck_assert_uint_eq(b.end, strlen(text[i]));
        ck_assert_uint_ge(b.lines, 2);
    }
    b.text = "";
    b.lines = b.end = 0;
    bc_pen_break(b.ruler, b.width, "", take_line, &b);
    ck_assert_uint_eq(b.lines, 1);
    cairo_destroy(b.ruler);
}
END_TEST

START_TEST(a_page_that_is_too_small_is_drawn_smaller)
{
    bc_plot_options options = {.width_mm = 42.0, .height_mm = 42.0};
    cairo_t *ruler = new_ruler();
    bc_chart chart;
    bc_chart_layout layout;
    bc_chart_open(&chart, &options);
    for (int p = 0; p < 6; p++) {
        bc_chart_panel *panel = bc_chart_add_panel(&chart);
        bc_chart_note *note = bc_chart_add_note(&chart);
        panel->x.range = panel->y.range = (bc_chart_range){0.0, 1.0};
        strcpy(panel->heading, "Normal incidence");
        strcpy(note->text, "a note of quite some length that will need more than one line of such a small page");
    }
    ck_assert_int_eq(bc_chart_lay_out(&chart, &options, ruler, &layout, NULL), BC_OK);
    ck_assert_double_lt(layout.scale, 0.7);
    ck_assert_double_eq_tol(layout.width * layout.scale, 42.0 * BC_POINTS_PER_MM, 1e-9);
    ck_assert_double_eq_tol(layout.height * layout.scale, 42.0 * BC_POINTS_PER_MM, 1e-9);
    for (int p = 0; p < 6; p++) {
        ck_assert_double_gt(layout.panel[p].frame.bottom - layout.panel[p].frame.top, 3.0 * layout.font);
        ck_assert_double_le(layout.panel[p].frame.bottom, layout.height);
        ck_assert(p == 0 || layout.panel[p].frame.top > layout.panel[p - 1].frame.bottom);
    }
    ck_assert_double_le(layout.line[layout.lines - 1].at.y, layout.height);
    bc_chart_layout_clear(&chart, &layout);
    options.height_mm = 0.0; /* with room to grow nothing is made smaller */
    ck_assert_int_eq(bc_chart_lay_out(&chart, &options, ruler, &layout, NULL), BC_OK);
    ck_assert(layout.scale == 1.0);
    bc_chart_layout_clear(&chart, &layout);
    bc_chart_clear(&chart);
    cairo_destroy(ruler);
}
END_TEST

Suite *chart_text_suite(void)
{
    Suite *suite = suite_create("chart, texts");
    TCase *tcase = tcase_create("all");
    tcase_add_test(tcase, texts_hide_nothing);
    tcase_add_test(tcase, texts_are_cut_on_a_character);
    tcase_add_test(tcase, an_accent_stays_with_its_letter);
    tcase_add_test(tcase, letters_are_shaped);
    tcase_add_test(tcase, lines_are_broken_where_their_language_does);
    tcase_add_test(tcase, a_page_that_is_too_small_is_drawn_smaller);
    suite_add_tcase(suite, tcase);
    return suite;
}
