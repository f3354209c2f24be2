/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_CHART_DRAW_H
#define BLOOMCOAT_REPORT_CHART_DRAW_H
/*
 * Drawing what was laid out, and turning it into a file.
 */
#include "chart_layout.h"

/* Letters at the same places in every format and at every size: no hinting, no colour fringes. */
void bc_chart_set_letters(cairo_t *cairo);
/* What Cairo says of its work, as an error of ours. */
bc_status bc_chart_status(cairo_status_t status, bc_error *error);

void bc_chart_draw(const bc_chart *chart, const bc_chart_layout *layout, cairo_t *cairo);

/* The items of a panel, in the order of their kinds, then their texts. */
void bc_chart_draw_items(const bc_chart_panel *panel, const bc_chart_panel_layout *layout, double font, cairo_t *cairo);
/* The sample before a key's text, with its middle at y. */
void bc_chart_draw_sample(const bc_chart_key *key, double x, double y, double font, cairo_t *cairo);
/* A mark of a kind: the ring or cross of a point, the diamond of a mean. */
void bc_chart_draw_mark(cairo_t *cairo, bc_chart_kind kind, bool bad, double x, double y, double radius);
/* A ring through which is seen what is behind. */
void bc_chart_draw_ring(cairo_t *cairo, double x, double y, double radius);
void bc_chart_draw_axes(const bc_chart_panel *panel, const bc_chart_panel_layout *layout, double font, cairo_t *cairo);

/* Cairo numbers its surfaces as long as a process runs; the ids in an SVG text are numbered anew, and a <title> is put
 * in when there is one. */
void bc_chart_finish_svg(const bc_text *svg, const char *title, bc_text *out);
/* The PNG with its resolution (chunk pHYs) ahead of its pixels. */
void bc_chart_finish_png(const bc_text *png, double dpi, bc_text *out);

#endif
