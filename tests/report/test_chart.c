/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The core of the pictures: ticks, ranges, places, clipping, texts that hide nothing.
 */
#include "chart_draw.h"
#include "fixture.h"
#include "utf8.h"
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

static const struct clip_row {
    bc_chart_segment given, inside;
    bool visible;
} clip_rows[] = {
    {{1, 1, 9, 4}, {1, 1, 9, 4}, true},      /* inside */
    {{-10, 2, 20, 2}, {0, 2, 10, 2}, true},  /* through both sides */
    {{5, -5, 5, 2.5}, {5, 0, 5, 2.5}, true}, /* in from above */
    {{0, 0, 20, 10}, {0, 0, 10, 5}, true},   /* out at the corner */
    {{-5, -1, 15, -1}, {0, 0, 0, 0}, false}, /* above */
    {{-5, 4, 1, 10}, {0, 0, 0, 0}, false},   /* past the corner */
    {{3, 3, 3, 3}, {3, 3, 3, 3}, true},      /* a point */
    {{NAN, 1, 5, 2}, {0, 0, 0, 0}, false},   /* no place */
    {{0, 5, 10, 5}, {0, 5, 10, 5}, true},    /* along the edge */
};

typedef struct look {
    double red, green, blue, dash[8];
    int dashes;
} look;

static look look_of(cairo_t *cairo, int style)
{
    look l = {0};
    bc_pen_color(cairo, style);
    bc_pen_dash(cairo, style, 1.0);
    l.dashes = cairo_get_dash_count(cairo);
    ck_assert_int_le(l.dashes, 8);
    cairo_get_dash(cairo, l.dash, NULL);
    ck_assert_int_eq(cairo_pattern_get_rgba(cairo_get_source(cairo), &l.red, &l.green, &l.blue, NULL),
                     CAIRO_STATUS_SUCCESS);
    return l;
}

static bool same_dashes(const look *a, const look *b)
{
    return a->dashes == b->dashes && memcmp(a->dash, b->dash, sizeof a->dash) == 0;
}

/* A print in grey shows seven curves apart, by their dashes; and dark enough on white that thin lines are seen: 2:1 at
 * least, as contrast is defined in WCAG 2 (from memory). */
START_TEST(curves_can_be_told_apart)
{
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 8, 8);
    cairo_t *cairo = cairo_create(surface);
    look all[49];
    for (int i = 0; i < 49; i++)
        all[i] = look_of(cairo, i);
    for (int i = 0; i < 49; i++) {
        const double channel[3] = {all[i].red, all[i].green, all[i].blue}, weight[3] = {0.2126, 0.7152, 0.0722};
        double luminance = 0.05;
        for (int c = 0; c < 3; c++)
            luminance +=
                weight[c] * (channel[c] <= 0.04045 ? channel[c] / 12.92 : pow((channel[c] + 0.055) / 1.055, 2.4));
        ck_assert_double_ge(1.05 / luminance, 2.0);
        for (int j = 0; j < i; j++)
            if (same_dashes(&all[i], &all[j]))
                ck_assert_msg(
                    i >= 7 && (all[i].red != all[j].red || all[i].green != all[j].green || all[i].blue != all[j].blue),
                    "styles %d and %d look alike", i, j);
    }
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
}
END_TEST

START_TEST(segments_are_clipped)
{
    const bc_chart_box box = {0.0, 0.0, 10.0, 5.0};
    const struct clip_row *row = &clip_rows[_i];
    bc_chart_segment segment = row->given;
    ck_assert(bc_chart_clip(&box, &segment) == row->visible);
    if (!row->visible)
        return;
    ck_assert_double_eq_tol(segment.x0, row->inside.x0, 1e-12);
    ck_assert_double_eq_tol(segment.y0, row->inside.y0, 1e-12);
    ck_assert_double_eq_tol(segment.x1, row->inside.x1, 1e-12);
    ck_assert_double_eq_tol(segment.y1, row->inside.y1, 1e-12);
}
END_TEST

typedef struct traced {
    const bc_chart_box *frame;
    size_t moves, lines;
    double last_x, last_y;
} traced;

static void count_visits(void *context, bool move, double x, double y)
{
    traced *seen = context;
    ck_assert(x >= seen->frame->left - 1e-9 && x <= seen->frame->right + 1e-9);
    ck_assert(y >= seen->frame->top - 1e-9 && y <= seen->frame->bottom + 1e-9);
    *(move ? &seen->moves : &seen->lines) += 1;
    seen->last_x = x;
    seen->last_y = y;
}

/* A wave that leaves the frame at every crest: it stays inside, begins anew after each, and a straight line of many
 * points becomes a few. */
START_TEST(a_curve_stays_in_its_frame)
{
    enum { POINTS = 2001 };
    static double x[POINTS], wave[POINTS], straight[POINTS];
    const bc_chart_panel panel = {.x.range = {0.0, 1.0}, .y.range = {0.0, 1.0}};
    const bc_chart_box frame = {0.0, 0.0, 300.0, 100.0};
    bc_chart_item item = {.kind = BC_CHART_LINE, .count = POINTS, .x = x, .y = wave};
    traced seen = {.frame = &frame};
    for (size_t i = 0; i < POINTS; i++) {
        x[i] = (double)i / (POINTS - 1);
        wave[i] = 0.6 * (1.0 - cos(10.0 * M_PI * x[i])); /* five crests of 1.2 */
        straight[i] = 0.1 + 0.5 * x[i];
    }
    bc_chart_trace(&panel, &frame, &item, false, 0.02, count_visits, &seen);
    ck_assert_uint_eq(seen.moves, 6);
    ck_assert_uint_lt(seen.lines, POINTS / 4);
    item.y = straight;
    seen = (traced){.frame = &frame};
    bc_chart_trace(&panel, &frame, &item, false, 0.02, count_visits, &seen);
    ck_assert_uint_eq(seen.moves, 1);
    ck_assert_uint_lt(seen.lines, 40);
    ck_assert_double_eq_tol(seen.last_x, 300.0, 1e-9);
    ck_assert_double_eq_tol(seen.last_y, 40.0, 1e-9);
}
END_TEST

START_TEST(a_gap_is_no_line)
{
    const double x[] = {0.0, 0.2, 0.4, 0.6, 0.8}, y[] = {0.5, 0.5, NAN, 0.5, 0.7};
    const bc_chart_panel panel = {.x.range = {0.0, 1.0}, .y.range = {0.0, 1.0}};
    const bc_chart_box frame = {0.0, 0.0, 100.0, 100.0};
    const bc_chart_item item = {.kind = BC_CHART_LINE, .count = 5, .x = x, .y = y};
    traced seen = {.frame = &frame};
    bc_chart_trace(&panel, &frame, &item, false, 0.02, count_visits, &seen);
    ck_assert_uint_eq(seen.moves, 2);
    ck_assert_uint_eq(seen.lines, 2);
}
END_TEST

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

Suite *chart_suite(void)
{
    Suite *suite = suite_create("chart");
    TCase *tcase = tcase_create("all");
    tcase_add_test(tcase, curves_can_be_told_apart);
    tcase_add_loop_test(tcase, ticks, 0, sizeof tick_rows / sizeof *tick_rows);
    tcase_add_test(tcase, ticks_by_decades);
    tcase_add_test(tcase, a_range_of_no_width_has_no_ticks);
    tcase_add_test(tcase, whole_steps);
    tcase_add_test(tcase, labels_of_an_axis);
    tcase_add_test(tcase, points_have_places);
    tcase_add_loop_test(tcase, segments_are_clipped, 0, sizeof clip_rows / sizeof *clip_rows);
    tcase_add_test(tcase, a_curve_stays_in_its_frame);
    tcase_add_test(tcase, a_gap_is_no_line);
    tcase_add_test(tcase, texts_hide_nothing);
    tcase_add_test(tcase, texts_are_cut_on_a_character);
    tcase_add_test(tcase, an_accent_stays_with_its_letter);
    tcase_add_test(tcase, letters_are_shaped);
    tcase_add_test(tcase, lines_are_broken_where_their_language_does);
    tcase_add_test(tcase, an_axis_is_numbered_or_not);
    tcase_add_test(tcase, a_page_that_is_too_small_is_drawn_smaller);
    suite_add_tcase(suite, tcase);
    return suite;
}
