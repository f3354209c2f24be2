/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_CHART_PEN_H
#define BLOOMCOAT_REPORT_CHART_PEN_H
/*
 * Colours, dashes and hatching: what every part of a chart is drawn with.
 */
#include "chart.h"
#include "lettering.h"
#include <cairo.h>

/* Style 0, 1, ... of a curve. Seven have dashes of their own, so that a print in grey shows which is which; 49 differ in
 * colour or dashes. */
void bc_pen_color(cairo_t *cairo, int style);
void bc_pen_dash(cairo_t *cairo, int style, double width);
/* The style's colour mixed with white: strength 1 is the colour itself. */
void bc_pen_tint(cairo_t *cairo, int style, double strength);
void bc_pen_grey(cairo_t *cairo, double level); /* 0 black, 1 white */

/* Hatching at 45 degrees inside a rectangle, `apart` points from line to line. */
void bc_pen_hatch(cairo_t *cairo, double left, double top, double right, double bottom, double apart);

#endif
