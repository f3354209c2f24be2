/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_draw.h"
#include <math.h>

#define MARK_LINE 0.8

double bc_chart_sample_width(bc_chart_kind kind, double font)
{
    const bool is_point = kind == BC_CHART_MARK || kind == BC_CHART_MEAN || kind == BC_CHART_DOTS;
    return (is_point ? 0.8 : 2.8) * font;
}

double bc_chart_mark_radius(double font)
{
    return 0.32 * font;
}

/* The path there is, in black on a pale rim that sets it off from what is behind. */
static void stroke_with_rim(cairo_t *cairo, double width)
{
    bc_pen_grey(cairo, 1.0);
    cairo_set_line_width(cairo, 2.0 * width);
    cairo_stroke_preserve(cairo);
    bc_pen_grey(cairo, 0.0);
    cairo_set_line_width(cairo, width);
    cairo_stroke(cairo);
}

void bc_chart_draw_ring(cairo_t *cairo, double x, double y, double radius)
{
    cairo_set_dash(cairo, NULL, 0, 0.0);
    cairo_new_path(cairo);
    cairo_arc(cairo, x, y, radius, 0.0, 2.0 * M_PI);
    stroke_with_rim(cairo, MARK_LINE);
}

/* A ring for a point within its limit, a cross for one beyond; a diamond, filled when it is beyond, for a mean. */
void bc_chart_draw_mark(cairo_t *cairo, bc_chart_kind kind, bool bad, double x, double y, double radius)
{
    cairo_set_dash(cairo, NULL, 0, 0.0);
    cairo_new_path(cairo);
    if (kind == BC_CHART_MEAN) {
        cairo_move_to(cairo, x - radius, y);
        cairo_line_to(cairo, x, y - 1.25 * radius);
        cairo_line_to(cairo, x + radius, y);
        cairo_line_to(cairo, x, y + 1.25 * radius);
        cairo_close_path(cairo);
    } else if (bad) {
        for (int turn = -1; turn <= 1; turn += 2) {
            cairo_move_to(cairo, x - radius, y - turn * radius);
            cairo_line_to(cairo, x + radius, y + turn * radius);
        }
        stroke_with_rim(cairo, 1.6 * MARK_LINE);
        return;
    } else {
        cairo_arc(cairo, x, y, radius, 0.0, 2.0 * M_PI);
    }
    bc_pen_grey(cairo, kind == BC_CHART_MEAN && bad ? 0.0 : 1.0);
    cairo_fill_preserve(cairo);
    bc_pen_grey(cairo, 0.0);
    cairo_set_line_width(cairo, MARK_LINE);
    cairo_stroke(cairo);
}

static void sample_patch(const bc_chart_key *key, double x, double y, double width, double font, cairo_t *cairo)
{
    const double top = y - 0.4 * font, height = 0.8 * font;
    cairo_rectangle(cairo, x, top, width, height);
    if (key->kind == BC_CHART_KEEP_OUT)
        bc_pen_grey(cairo, 0.93);
    else
        bc_pen_tint(cairo, key->style, key->kind == BC_CHART_FILL ? (key->bad ? 0.22 : 0.5) : 0.4);
    cairo_fill(cairo);
    bc_pen_grey(cairo, 0.55);
    cairo_set_line_width(cairo, 0.4);
    if (key->kind == BC_CHART_KEEP_OUT)
        bc_pen_hatch(cairo, x, top, x + width, top + height, 0.28 * font);
    if (key->kind == BC_CHART_BAR) {
        bc_pen_color(cairo, BC_STYLE_INK);
        cairo_rectangle(cairo, x, top, width, height);
        cairo_stroke(cairo);
    }
}

static void sample_line(const bc_chart_key *key, double x, double y, double width, cairo_t *cairo)
{
    const double line = key->kind == BC_CHART_LINE ? 1.2 : 0.9;
    bc_pen_color(cairo, key->kind == BC_CHART_LINE ? key->style : BC_STYLE_INK);
    cairo_set_line_width(cairo, line);
    if (key->kind == BC_CHART_LINE)
        bc_pen_dash(cairo, key->style, line);
    else
        cairo_set_dash(cairo, (const double[]){6.0, 2.0}, 2, 0.0);
    cairo_move_to(cairo, x, y);
    cairo_line_to(cairo, x + width, y);
    cairo_stroke(cairo);
    cairo_set_dash(cairo, NULL, 0, 0.0);
}

void bc_chart_draw_sample(const bc_chart_key *key, double x, double y, double font, cairo_t *cairo)
{
    const double width = bc_chart_sample_width(key->kind, font);
    cairo_set_dash(cairo, NULL, 0, 0.0);
    cairo_new_path(cairo); /* a text leaves a point behind, from which an arc would be reached by a line */
    switch (key->kind) {
    case BC_CHART_FILL:
    case BC_CHART_BAR:
    case BC_CHART_KEEP_OUT:
        sample_patch(key, x, y, width, font, cairo);
        break;
    case BC_CHART_MARK:
    case BC_CHART_MEAN:
        bc_chart_draw_mark(cairo, key->kind, key->bad, x + 0.5 * width, y, bc_chart_mark_radius(font));
        break;
    case BC_CHART_DOTS:
        bc_pen_color(cairo, key->style);
        cairo_arc(cairo, x + 0.5 * width, y, 0.14 * font, 0.0, 2.0 * M_PI);
        cairo_fill(cairo);
        break;
    default:
        sample_line(key, x, y, width, cairo);
    }
}
