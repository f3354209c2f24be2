/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_draw.h"
#include <math.h>

#define FRAME_LINE 0.6 /* points */
#define TICK_LINE  0.5
#define TICK       0.45 /* font sizes */
#define SMALL_TICK 0.25
#define MOST_SMALL 400.0

static bool is_numbered(const bc_chart_axis *axis, double value)
{
    const double slack = 1e-9 * (axis->range.to - axis->range.from);
    if (axis->numbered.from == 0.0 && axis->numbered.to == 0.0)
        return true;
    return value >= axis->numbered.from - slack && value <= axis->numbered.to + slack &&
           axis->numbered.to > axis->numbered.from;
}

/* Ticks point inwards, on both sides of the frame. */
static void tick_at_x(const bc_chart_box *frame, double x, double length, cairo_t *cairo)
{
    if (x < frame->left - 0.01 || x > frame->right + 0.01)
        return;
    cairo_move_to(cairo, x, frame->bottom);
    cairo_line_to(cairo, x, frame->bottom - length);
    cairo_move_to(cairo, x, frame->top);
    cairo_line_to(cairo, x, frame->top + length);
}

static void tick_at_y(const bc_chart_box *frame, double y, double length, cairo_t *cairo)
{
    if (y < frame->top - 0.01 || y > frame->bottom + 0.01)
        return;
    cairo_move_to(cairo, frame->left, y);
    cairo_line_to(cairo, frame->left + length, y);
    cairo_move_to(cairo, frame->right, y);
    cairo_line_to(cairo, frame->right - length, y);
}

typedef void (*draw_tick)(const bc_chart_box *frame, double at, double length, cairo_t *cairo);
typedef double (*map_value)(const bc_chart_panel *panel, const bc_chart_box *frame, double value);

static void small_ticks(const bc_chart_panel *panel, const bc_chart_axis *axis, const bc_chart_ticks *ticks,
                        const bc_chart_box *frame, map_value map, draw_tick draw, double length, cairo_t *cairo)
{
    const double step = ticks->step / (double)ticks->minor;
    if (axis->logarithmic) {
        for (double decade = pow(10.0, floor(log10(axis->range.from))); ticks->minor > 1 && decade < axis->range.to;
             decade *= 10.0)
            for (int i = 2; i < 10; i++)
                draw(frame, map(panel, frame, i * decade), length, cairo);
        return;
    }
    if (step <= 0.0 || (axis->range.to - axis->range.from) / step > MOST_SMALL)
        return;
    for (double i = ceil(axis->range.from / step); i * step <= axis->range.to; i += 1.0)
        if (is_numbered(axis, i * step))
            draw(frame, map(panel, frame, i * step), length, cairo);
}

static void draw_ticks(const bc_chart_panel *panel, const bc_chart_panel_layout *layout, double font, cairo_t *cairo)
{
    const bc_chart_box *frame = &layout->frame;
    cairo_set_line_width(cairo, TICK_LINE);
    small_ticks(panel, &panel->x, &layout->x, frame, bc_chart_map_x, tick_at_x, SMALL_TICK * font, cairo);
    small_ticks(panel, &panel->y, &layout->y, frame, bc_chart_map_y, tick_at_y, SMALL_TICK * font, cairo);
    for (size_t i = 0; i < layout->x.count; i++)
        if (is_numbered(&panel->x, layout->x.tick[i].value))
            tick_at_x(frame, bc_chart_map_x(panel, frame, layout->x.tick[i].value), TICK * font, cairo);
    for (size_t i = 0; i < layout->y.count; i++)
        if (is_numbered(&panel->y, layout->y.tick[i].value))
            tick_at_y(frame, bc_chart_map_y(panel, frame, layout->y.tick[i].value), TICK * font, cairo);
    cairo_stroke(cairo);
}

static void write_numbers(const bc_chart_panel *panel, const bc_chart_panel_layout *layout, double font, cairo_t *cairo)
{
    const bc_chart_box *frame = &layout->frame;
    for (size_t i = 0; !panel->x_below && i < layout->x.count; i++)
        if (is_numbered(&panel->x, layout->x.tick[i].value))
            bc_pen_write(cairo, bc_chart_map_x(panel, frame, layout->x.tick[i].value), frame->bottom + 1.25 * font,
                         BC_PEN_CENTRE, false, layout->x.tick[i].text);
    for (size_t i = 0; i < layout->y.count; i++)
        if (is_numbered(&panel->y, layout->y.tick[i].value))
            bc_pen_write(cairo, frame->left - 0.4 * font,
                         bc_chart_map_y(panel, frame, layout->y.tick[i].value) + 0.35 * font, BC_PEN_RIGHT, false,
                         layout->y.tick[i].text);
}

void bc_chart_draw_axes(const bc_chart_panel *panel, const bc_chart_panel_layout *layout, double font, cairo_t *cairo)
{
    const bc_chart_box *frame = &layout->frame;
    char name[BC_CHART_TEXT];
    bc_pen_grey(cairo, 0.0);
    cairo_set_dash(cairo, NULL, 0, 0.0);
    draw_ticks(panel, layout, font, cairo);
    cairo_set_line_width(cairo, FRAME_LINE);
    cairo_rectangle(cairo, frame->left, frame->top, frame->right - frame->left, frame->bottom - frame->top);
    cairo_stroke(cairo);
    bc_pen_font(cairo, font, false);
    write_numbers(panel, layout, font, cairo);
    bc_chart_axis_label(&panel->y, layout->y.exponent, layout->brief_name, name);
    bc_pen_write(cairo, 1.45 * font, 0.5 * (frame->top + frame->bottom), BC_PEN_CENTRE, true, name);
    bc_chart_axis_label(&panel->x, layout->x.exponent, false, name);
    if (!panel->x_below)
        bc_pen_write(cairo, 0.5 * (frame->left + frame->right), frame->bottom + 2.65 * font, BC_PEN_CENTRE, false,
                     name);
}
