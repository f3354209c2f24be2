/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_draw.h"
#include <math.h>

#define CURVE_LINE  1.2 /* points */
#define LIMIT_LINE  0.9
#define TOLERANCE   0.02 /* within which a curve may be drawn with fewer points */
#define HATCH_APART 0.42 /* font sizes */

static void visit(void *context, bool move, double x, double y)
{
    if (move)
        cairo_move_to(context, x, y);
    else
        cairo_line_to(context, x, y);
}

static void draw_line(const bc_chart_panel *panel, const bc_chart_box *frame, const bc_chart_item *item, cairo_t *cairo)
{
    bc_pen_color(cairo, item->style);
    cairo_set_line_width(cairo, CURVE_LINE);
    bc_pen_dash(cairo, item->style, CURVE_LINE);
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
    bc_chart_trace(panel, frame, item, false, TOLERANCE, visit, cairo);
    cairo_stroke(cairo);
    cairo_set_dash(cairo, NULL, 0, 0.0);
    cairo_set_line_join(cairo, CAIRO_LINE_JOIN_MITER);
}

static void draw_dots(const bc_chart_panel *panel, const bc_chart_box *frame, const bc_chart_item *item, double font,
                      cairo_t *cairo)
{
    bc_pen_color(cairo, item->style);
    cairo_new_path(cairo);
    for (size_t i = 0; i < item->count; i++) {
        const double x = bc_chart_map_x(panel, frame, item->x[i]);
        const double y = bc_chart_map_y(panel, frame, (item->scale == 0.0 ? 1.0 : item->scale) * item->y[i]);
        if (x >= frame->left - 0.01 && x <= frame->right + 0.01 && y >= frame->top - 0.01 && y <= frame->bottom + 0.01)
            cairo_arc(cairo, x, y, 0.14 * font, 0.0, 2.0 * M_PI), cairo_fill(cairo);
    }
}

static double clamp_y(const bc_chart_panel *panel, const bc_chart_box *frame, double value)
{
    return fmin(fmax(bc_chart_map_y(panel, frame, value), frame->top - 2.0), frame->bottom + 2.0);
}

/* The frame clips it: the caller has set that. */
static void draw_fill(const bc_chart_panel *panel, const bc_chart_box *frame, const bc_chart_item *item, cairo_t *cairo)
{
    const double scale = item->scale == 0.0 ? 1.0 : item->scale;
    bc_pen_tint(cairo, item->style, item->bad ? 0.22 : 0.5);
    for (size_t i = 0; i < item->count; i++)
        cairo_line_to(cairo, bc_chart_map_x(panel, frame, item->x[i]), clamp_y(panel, frame, scale * item->y[i]));
    for (size_t i = item->count; i-- > 0;)
        cairo_line_to(cairo, bc_chart_map_x(panel, frame, item->x[i]), clamp_y(panel, frame, scale * item->lower[i]));
    cairo_close_path(cairo);
    cairo_fill(cairo);
}

/* All outside a closed line. */
static void draw_outside(const bc_chart_panel *panel, const bc_chart_box *frame, const bc_chart_item *item, double font,
                         cairo_t *cairo)
{
    for (int outline = 0; outline < 2; outline++) {
        cairo_new_path(cairo);
        if (outline == 0)
            cairo_rectangle(cairo, frame->left, frame->top, frame->right - frame->left, frame->bottom - frame->top);
        for (size_t i = 0; i < item->count; i++)
            visit(cairo, i == 0, bc_chart_map_x(panel, frame, item->x[i]), bc_chart_map_y(panel, frame, item->y[i]));
        cairo_close_path(cairo);
        if (outline == 1) {
            bc_pen_grey(cairo, 0.25);
            cairo_set_line_width(cairo, LIMIT_LINE);
            cairo_stroke(cairo);
            return;
        }
        cairo_save(cairo);
        cairo_set_fill_rule(cairo, CAIRO_FILL_RULE_EVEN_ODD);
        bc_pen_grey(cairo, 0.93);
        cairo_fill_preserve(cairo);
        cairo_clip(cairo);
        bc_pen_grey(cairo, 0.62);
        cairo_set_line_width(cairo, 0.4);
        bc_pen_hatch(cairo, frame->left, frame->top, frame->right, frame->bottom, HATCH_APART * font);
        cairo_restore(cairo);
    }
}

static void draw_keep_out(const bc_chart_panel *panel, const bc_chart_box *frame, const bc_chart_item *item,
                          double font, cairo_t *cairo)
{
    const bc_chart_range x = bc_chart_across(panel, frame, item);
    const double limit = clamp_y(panel, frame, item->low);
    const double top = item->bad ? limit : frame->top, bottom = item->bad ? frame->bottom : limit;
    if (item->count > 0) {
        draw_outside(panel, frame, item, font, cairo);
        return;
    }
    if (bottom <= top)
        return;
    bc_pen_grey(cairo, 0.93);
    cairo_rectangle(cairo, x.from, top, x.to - x.from, bottom - top);
    cairo_fill(cairo);
    bc_pen_grey(cairo, 0.62);
    cairo_set_line_width(cairo, 0.4);
    bc_pen_hatch(cairo, x.from, top, x.to, bottom, HATCH_APART * font);
    bc_pen_grey(cairo, 0.25);
    cairo_set_line_width(cairo, LIMIT_LINE);
    cairo_move_to(cairo, x.from, item->bad ? bottom : top);
    cairo_line_to(cairo, x.from, limit);
    cairo_line_to(cairo, x.to, limit);
    cairo_line_to(cairo, x.to, item->bad ? bottom : top);
    cairo_stroke(cairo);
}

/* A mean's limit has end caps, the mean itself a diamond in its middle. */
static void draw_level(const bc_chart_panel *panel, const bc_chart_box *frame, const bc_chart_item *item, double font,
                       cairo_t *cairo)
{
    const bc_chart_range x = bc_chart_across(panel, frame, item);
    const double y = bc_chart_map_y(panel, frame, item->low);
    const bool is_limit = item->kind == BC_CHART_LIMIT;
    bc_pen_grey(cairo, 0.0);
    cairo_set_line_width(cairo, is_limit ? LIMIT_LINE : 0.5);
    if (is_limit)
        cairo_set_dash(cairo, (const double[]){6.0, 2.0}, 2, 0.0);
    cairo_move_to(cairo, x.from, y);
    cairo_line_to(cairo, x.to, y);
    cairo_stroke(cairo);
    cairo_set_dash(cairo, NULL, 0, 0.0);
    if (!is_limit) {
        bc_chart_draw_mark(cairo, BC_CHART_MEAN, item->bad, 0.5 * (x.from + x.to), y, bc_chart_mark_radius(font));
        return;
    }
    for (int end = 0; end < 2; end++) {
        cairo_move_to(cairo, end == 0 ? x.from : x.to, y - 0.35 * font);
        cairo_line_to(cairo, end == 0 ? x.from : x.to, y + 0.35 * font);
    }
    cairo_stroke(cairo);
}

/* A layer: its name inside or, where it is too low, on it; upright where it is too narrow, left out where it does not
 * fit at all. */
static void draw_bar(const bc_chart_panel *panel, const bc_chart_box *frame, const bc_chart_item *item, double font,
                     cairo_t *cairo)
{
    const double left = bc_chart_map_x(panel, frame, item->from), right = bc_chart_map_x(panel, frame, item->to);
    const double top = clamp_y(panel, frame, item->high), bottom = clamp_y(panel, frame, item->low);
    double width;
    if (item->rgb != NULL)
        cairo_set_source_rgb(cairo, item->rgb[0], item->rgb[1], item->rgb[2]);
    else
        bc_pen_tint(cairo, item->style, item->bad ? 0.12 : 0.4);
    cairo_rectangle(cairo, left, top, right - left, bottom - top);
    cairo_fill_preserve(cairo);
    bc_pen_grey(cairo, item->bad ? 0.6 : 0.0);
    cairo_set_line_width(cairo, 0.5);
    cairo_stroke(cairo);
    bc_pen_grey(cairo, 0.0);
    bc_pen_font(cairo, BC_CHART_SMALL * font, false);
    width = bc_pen_width(cairo, item->text);
    if (width + 0.6 * font < right - left && bottom - top > 1.4 * font)
        bc_pen_write(cairo, 0.5 * (left + right), 0.5 * (top + bottom) + 0.35 * font, BC_PEN_CENTRE, false, item->text);
    else if (width + 0.6 * font < bottom - top && right - left > 1.1 * font)
        bc_pen_write(cairo, 0.5 * (left + right) + 0.35 * font, 0.5 * (top + bottom), BC_PEN_CENTRE, true, item->text);
    else if (width + 0.6 * font < right - left && top - frame->top > 1.4 * font)
        bc_pen_write(cairo, 0.5 * (left + right), top - 0.3 * font, BC_PEN_CENTRE, false, item->text);
    else if (right - left > 1.1 * font && width + 0.6 * font < top - frame->top)
        bc_pen_write(cairo, 0.5 * (left + right) + 0.35 * font, top - 0.4 * font, BC_PEN_LEFT, true, item->text);
}

static void draw_rule(const bc_chart_panel *panel, const bc_chart_box *frame, const bc_chart_item *item, cairo_t *cairo)
{
    const double x = bc_chart_map_x(panel, frame, item->from);
    bc_pen_grey(cairo, 0.35);
    cairo_set_line_width(cairo, 0.5);
    cairo_set_dash(cairo, (const double[]){2.0, 1.5}, 2, 0.0);
    cairo_move_to(cairo, x, frame->top);
    cairo_line_to(cairo, x, frame->bottom);
    cairo_stroke(cairo);
    cairo_set_dash(cairo, NULL, 0, 0.0);
}

static void draw_across(const bc_chart_panel *panel, const bc_chart_box *frame, const bc_chart_item *item,
                        cairo_t *cairo)
{
    const double y = bc_chart_map_y(panel, frame, item->low);
    bc_pen_grey(cairo, 0.35);
    cairo_set_line_width(cairo, 0.5);
    cairo_move_to(cairo, frame->left, y);
    cairo_line_to(cairo, frame->right, y);
    cairo_stroke(cairo);
}

static void draw_item(const bc_chart_panel *panel, const bc_chart_box *frame, const bc_chart_item *item, double font,
                      cairo_t *cairo)
{
    switch (item->kind) {
    case BC_CHART_FILL:
        draw_fill(panel, frame, item, cairo);
        break;
    case BC_CHART_BAR:
        draw_bar(panel, frame, item, font, cairo);
        break;
    case BC_CHART_KEEP_OUT:
        draw_keep_out(panel, frame, item, font, cairo);
        break;
    case BC_CHART_RULE:
        draw_rule(panel, frame, item, cairo);
        break;
    case BC_CHART_LEVEL:
        draw_across(panel, frame, item, cairo);
        break;
    case BC_CHART_LIMIT:
    case BC_CHART_MEAN:
        draw_level(panel, frame, item, font, cairo);
        break;
    case BC_CHART_LINE:
        draw_line(panel, frame, item, cairo);
        break;
    case BC_CHART_DOTS:
        draw_dots(panel, frame, item, font, cairo);
        break;
    case BC_CHART_MARK:
        if (item->open && !item->bad)
            bc_chart_draw_ring(cairo, bc_chart_map_x(panel, frame, item->from), bc_chart_map_y(panel, frame, item->low),
                               bc_chart_mark_radius(font));
        else
            bc_chart_draw_mark(cairo, BC_CHART_MARK, item->bad, bc_chart_map_x(panel, frame, item->from),
                               bc_chart_map_y(panel, frame, item->low), bc_chart_mark_radius(font));
        break;
    }
}

/* The text on a pale ground, so that it is read on hatching too; a line leads there from a point that is not near. */
static void draw_label(const bc_chart_panel *panel, const bc_chart_panel_layout *layout, size_t i, double font,
                       cairo_t *cairo)
{
    const bc_chart_item *item = &panel->item[i];
    const bc_chart_label *label = &layout->label[i];
    const bc_chart_box *box = &label->box;
    if (!label->shown)
        return;
    if (label->far) {
        const double end_x = fmin(fmax(label->from_x, box->left), box->right);
        const double end_y = fmin(fmax(label->from_y, box->top), box->bottom);
        const double dx = end_x - label->from_x, dy = end_y - label->from_y;
        const double skipped = fmin(bc_chart_mark_radius(font) / hypot(dx, dy), 1.0); /* what the mark covers */
        bc_pen_grey(cairo, 0.2);
        cairo_set_line_width(cairo, 0.4);
        cairo_move_to(cairo, label->from_x + skipped * dx, label->from_y + skipped * dy);
        cairo_line_to(cairo, end_x, end_y);
        cairo_stroke(cairo);
    }
    bc_pen_grey(cairo, 1.0);
    cairo_rectangle(cairo, box->left - 0.8, box->top, box->right - box->left + 1.6, box->bottom - box->top);
    cairo_fill(cairo);
    bc_pen_grey(cairo, 0.0);
    bc_pen_write(cairo, box->left, label->base, BC_PEN_LEFT, false, label->brief ? item->brief : item->text);
}

void bc_chart_draw_items(const bc_chart_panel *panel, const bc_chart_panel_layout *layout, double font, cairo_t *cairo)
{
    const bc_chart_box *frame = &layout->frame;
    for (bc_chart_kind kind = BC_CHART_FILL; kind <= BC_CHART_MARK; kind++) {
        const bool clipped = kind != BC_CHART_MARK; /* a mark on the frame is drawn whole */
        cairo_save(cairo);
        if (clipped) {
            cairo_rectangle(cairo, frame->left, frame->top, frame->right - frame->left, frame->bottom - frame->top);
            cairo_clip(cairo);
        }
        for (size_t i = 0; i < panel->items; i++)
            if (panel->item[i].kind == kind)
                draw_item(panel, frame, &panel->item[i], font, cairo);
        cairo_restore(cairo);
    }
    bc_pen_font(cairo, BC_CHART_SMALL * font, false);
    for (size_t i = 0; i < layout->labels; i++)
        draw_label(panel, layout, i, font, cairo);
}
