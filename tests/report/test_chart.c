/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The curves of a picture: told apart by their dashes, and cut where their frame ends.
 */
#include "chart_draw.h"
#include "fixture.h"
#include <math.h>
#include <string.h>

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

Suite *chart_suite(void)
{
    Suite *suite = suite_create("chart, curves");
    TCase *tcase = tcase_create("all");
    tcase_add_test(tcase, curves_can_be_told_apart);
    tcase_add_loop_test(tcase, segments_are_clipped, 0, sizeof clip_rows / sizeof *clip_rows);
    tcase_add_test(tcase, a_curve_stays_in_its_frame);
    tcase_add_test(tcase, a_gap_is_no_line);
    suite_add_tcase(suite, tcase);
    return suite;
}
