/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_pen.h"
#include <math.h>

typedef struct color {
    double red, green, blue;
} color;

/* Okabe and Ito's palette without its yellow, which is too light for a line, ordered so that neighbours differ in
 * lightness too. */
static const color palette[] = {
    {0.000, 0.447, 0.698}, /* blue */
    {0.835, 0.369, 0.000}, /* vermillion */
    {0.000, 0.620, 0.451}, /* bluish green */
    {0.000, 0.000, 0.000}, /* black */
    {0.800, 0.475, 0.655}, /* reddish purple */
    {0.902, 0.624, 0.000}, /* orange */
    {0.337, 0.706, 0.914}, /* sky blue */
};
#define COLORS ((int)(sizeof palette / sizeof palette[0]))

/* Lengths in line widths; the first is solid. */
static const double dash[][6] = {
    {0}, {5.5, 2.2}, {1.1, 1.5}, {7.0, 1.8, 1.2, 1.8}, {11.0, 2.5}, {7.0, 1.8, 1.2, 1.8, 1.2, 1.8}, {2.6, 1.3}};
static const int dash_parts[] = {0, 2, 2, 4, 2, 6, 2};
#define DASHES ((int)(sizeof dash / sizeof dash[0]))

static color color_of(int style)
{
    return style < 0 ? (color){0.0, 0.0, 0.0} : palette[style % COLORS];
}

void bc_pen_color(cairo_t *cairo, int style)
{
    bc_pen_tint(cairo, style, 1.0);
}

void bc_pen_tint(cairo_t *cairo, int style, double strength)
{
    const color c = color_of(style);
    const double white = 1.0 - strength;
    cairo_set_source_rgb(cairo, white + strength * c.red, white + strength * c.green, white + strength * c.blue);
}

void bc_pen_grey(cairo_t *cairo, double level)
{
    cairo_set_source_rgb(cairo, level, level, level);
}

void bc_pen_dash(cairo_t *cairo, int style, double width)
{
    /* Shifted by one each time the colours begin anew: the same pair comes back after all others. */
    const int which = style < 0 ? 0 : (style + style / COLORS) % DASHES;
    double length[6];
    for (int i = 0; i < dash_parts[which]; i++)
        length[i] = width * dash[which][i];
    cairo_set_dash(cairo, length, dash_parts[which], 0.0);
}

void bc_pen_hatch(cairo_t *cairo, double left, double top, double right, double bottom, double apart)
{
    const double height = bottom - top;
    const double step = apart * M_SQRT2;
    cairo_save(cairo);
    cairo_rectangle(cairo, left, top, right - left, height);
    cairo_clip(cairo);
    /* On a grid of the page, so that regions that meet share their lines. */
    for (double x = floor((left - height + bottom) / step) * step - bottom; x < right; x += step) {
        cairo_move_to(cairo, x, bottom);
        cairo_line_to(cairo, x + height, top);
    }
    cairo_stroke(cairo);
    cairo_restore(cairo);
}
