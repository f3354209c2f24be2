/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_CHART_SCALE_H
#define BLOOMCOAT_REPORT_CHART_SCALE_H
/*
 * From numbers to places: ticks, ranges, mapping and clipping. Places are in points (1/72 inch), y downwards.
 */
#include "chart.h"

#define BC_MOST_TICKS 24

typedef struct bc_chart_tick {
    double value;
    char text[24]; /* UTF-8, "C" decimal point, a true minus sign; empty: a tick without a number */
} bc_chart_tick;

typedef struct bc_chart_ticks {
    size_t count;
    bc_chart_tick tick[BC_MOST_TICKS];
    double step;  /* between ticks; 0 on a logarithmic axis */
    size_t minor; /* parts that small ticks divide a step into */
    int exponent; /* the numbers are in units of ten to this power */
} bc_chart_ticks;

/* The range widened to whole steps. */
bc_chart_range bc_chart_whole_steps(bc_chart_range range, size_t most);
/* Ticks inside the range, their numbers with the decimals that the step needs. */
void bc_chart_find_ticks(bc_chart_range range, size_t most, bool logarithmic, bc_chart_ticks *ticks);
/* "Reflectance (%)", "Reflectance (10⁻⁶ %)", "n". */
void bc_chart_axis_label(const bc_chart_axis *axis, int exponent, bool brief, char to[BC_CHART_TEXT]);
/* "10⁻⁶" */
void bc_chart_power_of_ten(int exponent, char to[24]);

typedef struct bc_chart_box {
    double left, top, right, bottom;
} bc_chart_box;

double bc_chart_map_x(const bc_chart_panel *panel, const bc_chart_box *frame, double x);
double bc_chart_map_y(const bc_chart_panel *panel, const bc_chart_box *frame, double y);

typedef struct bc_chart_segment {
    double x0, y0, x1, y1;
} bc_chart_segment;

/* Cut a segment to the box (Liang and Barsky, ACM Trans. Graph. 3, 1 (1984)); false when nothing of it lies inside. */
bool bc_chart_clip(const bc_chart_box *box, bc_chart_segment *segment);

/* The places of an item's curve one by one; points that a straight line replaces within `tolerance` are left out.
 * Visits visible pieces only: `move` begins a new one. */
typedef void (*bc_chart_visit)(void *context, bool move, double x, double y);
void bc_chart_trace(const bc_chart_panel *panel, const bc_chart_box *frame, const bc_chart_item *item, bool lower,
                    double tolerance, bc_chart_visit visit, void *context);

#endif
