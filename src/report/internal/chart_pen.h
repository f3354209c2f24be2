/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_CHART_PEN_H
#define BLOOMCOAT_REPORT_CHART_PEN_H
/*
 * Colours, dashes and letters: what every part of a chart is drawn with.
 */
#include "chart.h"
#include <cairo.h>

/* Style 0, 1, ... of a curve; the colours repeat after 7 and the dashes after 5, so 35 look different. */
void bc_pen_color(cairo_t *cairo, int style);
void bc_pen_dash(cairo_t *cairo, int style, double width);
/* The style's colour mixed with white: strength 1 is the colour itself. */
void bc_pen_tint(cairo_t *cairo, int style, double strength);
void bc_pen_grey(cairo_t *cairo, double level); /* 0 black, 1 white */

typedef enum bc_pen_align { BC_PEN_LEFT, BC_PEN_CENTRE, BC_PEN_RIGHT } bc_pen_align;

/* Choose the sans serif letters of this size, in points. */
void bc_pen_font(cairo_t *cairo, double size, bool bold);
double bc_pen_width(cairo_t *cairo, const char *text);
/* `text` with its base line at y; `upwards`: turned by a quarter, reading from below. */
void bc_pen_write(cairo_t *cairo, double x, double y, bc_pen_align align, bool upwards, const char *text);
/* Cut with an ellipsis, on a character's boundary, where it is wider than `width`. */
void bc_pen_shorten(cairo_t *cairo, double width, char *text, size_t size);

/* Hatching at 45 degrees inside a rectangle, `apart` points from line to line. */
void bc_pen_hatch(cairo_t *cairo, double left, double top, double right, double bottom, double apart);

#endif
