/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_CHART_LAYOUT_H
#define BLOOMCOAT_REPORT_CHART_LAYOUT_H
/*
 * Where everything of a chart goes, before anything is drawn. Points, y downwards.
 */
#include "chart_pen.h"
#include "chart_scale.h"

#define BC_POINTS_PER_MM (72.0 / 25.4)
#define BC_CHART_SMALL   0.9 /* letters of notes and of texts inside a frame, of the chart's size */

/* The text of an item, where it hides neither a curve nor another text. */
typedef struct bc_chart_label {
    bool shown;
    bool brief;            /* the item's brief text had to do */
    bool far;              /* a line leads from the point to it */
    double from_x, from_y; /* the point it belongs to */
    bc_chart_box box;
    double base; /* its base line */
} bc_chart_label;

typedef struct bc_chart_panel_layout {
    bc_chart_box frame;
    bc_chart_ticks x, y;
    double heading_y; /* base line */
    bool brief_name;  /* of the y axis */
    size_t labels;
    bc_chart_label *label; /* one per item */
} bc_chart_panel_layout;

typedef struct bc_chart_spot {
    double x, y; /* base line */
} bc_chart_spot;

typedef struct bc_chart_line {
    bc_chart_spot at;
    double indent; /* of the text, from `at` */
    char mark[BC_CHART_BRIEF];
    char text[2 * BC_CHART_TEXT];
} bc_chart_line;

typedef struct bc_chart_layout {
    double width, height; /* of the page, in its own units, a hundredth of which are `scale` hundredths of a point */
    double scale;         /* below 1 where the page is too small for its contents */
    double font;
    double left, right; /* of all frames */
    bc_chart_spot title, part;
    bc_chart_panel_layout *panel; /* [panels] */
    bc_chart_spot *key;           /* [keys] */
    size_t lines, line_capacity;
    bc_chart_line *line; /* of the notes */
} bc_chart_layout;

/* `cairo` measures the letters. */
bc_status bc_chart_lay_out(const bc_chart *chart, const bc_plot_options *options, cairo_t *cairo,
                           bc_chart_layout *layout, bc_error *error);
void bc_chart_layout_clear(const bc_chart *chart, bc_chart_layout *layout);

/* Place the texts of a panel's items, for bc_chart_lay_out(). */
bc_status bc_chart_place_labels(const bc_chart_panel *panel, double font, cairo_t *cairo, bc_chart_panel_layout *layout,
                                bc_error *error);

/* Break the notes into lines of `width` at most; *height is what they take. Their places are as if the first line's
 * top were at 0. */
bc_status bc_chart_break_notes(const bc_chart *chart, cairo_t *cairo, double width, bc_chart_layout *layout,
                               double *height, bc_error *error);

/* From..to of an item on the page; a single value still has some width. */
bc_chart_range bc_chart_across(const bc_chart_panel *panel, const bc_chart_box *frame, const bc_chart_item *item);

double bc_chart_sample_width(bc_chart_kind kind, double font); /* of the curve or mark before a key's text */
double bc_chart_mark_radius(double font);

#endif
