/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_scale.h"
#include <math.h>

#define LONGEST_RUN 64    /* points that one straight line may replace */
#define FAR_AWAY    1.0e6 /* points: a curve far outside its frame is held there, so that no coordinate overflows */

static double share(const bc_chart_axis *axis, double value)
{
    const bc_chart_range range = axis->range;
    if (axis->logarithmic)
        return value > 0.0 ? log(value / range.from) / log(range.to / range.from) : NAN;
    return (value - range.from) / (range.to - range.from);
}

double bc_chart_map_x(const bc_chart_panel *panel, const bc_chart_box *frame, double x)
{
    return frame->left + (frame->right - frame->left) * share(&panel->x, x);
}

double bc_chart_map_y(const bc_chart_panel *panel, const bc_chart_box *frame, double y)
{
    return frame->bottom - (frame->bottom - frame->top) * share(&panel->y, y);
}

/* One edge of the box: what part of the segment, [*enter, *leave], lies on its inner side. */
static bool cut(double direction, double distance, double *enter, double *leave)
{
    if (direction == 0.0)
        return distance >= 0.0;
    if (direction < 0.0)
        *enter = fmax(*enter, distance / direction);
    else
        *leave = fmin(*leave, distance / direction);
    return *enter <= *leave;
}

bool bc_chart_clip(const bc_chart_box *box, bc_chart_segment *segment)
{
    const double dx = segment->x1 - segment->x0, dy = segment->y1 - segment->y0;
    const bc_chart_segment whole = *segment;
    double enter = 0.0, leave = 1.0;
    if (!isfinite(dx) || !isfinite(dy) || !cut(-dx, whole.x0 - box->left, &enter, &leave) ||
        !cut(dx, box->right - whole.x0, &enter, &leave) || !cut(-dy, whole.y0 - box->top, &enter, &leave) ||
        !cut(dy, box->bottom - whole.y0, &enter, &leave))
        return false;
    if (enter > 0.0) {
        segment->x0 = whole.x0 + enter * dx;
        segment->y0 = whole.y0 + enter * dy;
    }
    if (leave < 1.0) {
        segment->x1 = whole.x0 + leave * dx;
        segment->y1 = whole.y0 + leave * dy;
    }
    return true;
}

typedef struct tracer {
    const bc_chart_panel *panel;
    const bc_chart_box *frame;
    const bc_chart_item *item;
    const double *y;
    double scale;
} tracer;

static double place_x(const tracer *t, size_t i)
{
    return bc_chart_map_x(t->panel, t->frame, t->item->x[i]);
}

static double place_y(const tracer *t, size_t i)
{
    const double y = bc_chart_map_y(t->panel, t->frame, t->scale * t->y[i]);
    return fmin(fmax(y, -FAR_AWAY), FAR_AWAY);
}

/* Whether the points between `first` and `last` lie within `tolerance` of the line through those two. */
static bool is_straight(const tracer *t, size_t first, size_t last, double tolerance)
{
    const double x0 = place_x(t, first), y0 = place_y(t, first);
    const double dx = place_x(t, last) - x0, dy = place_y(t, last) - y0;
    const double length = hypot(dx, dy);
    for (size_t i = first + 1; i < last; i++) {
        const double off = dx * (place_y(t, i) - y0) - dy * (place_x(t, i) - x0);
        if (!(fabs(off) <= tolerance * length))
            return false;
    }
    return true;
}

static bool has_place(const tracer *t, size_t i)
{
    return isfinite(bc_chart_map_x(t->panel, t->frame, t->item->x[i])) &&
           isfinite(bc_chart_map_y(t->panel, t->frame, t->scale * t->y[i]));
}

void bc_chart_trace(const bc_chart_panel *panel, const bc_chart_box *frame, const bc_chart_item *item, bool lower,
                    double tolerance, bc_chart_visit visit, void *context)
{
    const tracer t = {panel, frame, item, lower ? item->lower : item->y, item->scale == 0.0 ? 1.0 : item->scale};
    bool begun = false;
    size_t i = 0;
    while (i + 1 < item->count) {
        size_t next = i + 1;
        bc_chart_segment piece;
        if (!has_place(&t, i) || !has_place(&t, next)) {
            begun = false;
            i = next;
            continue;
        }
        while (next + 1 < item->count && next - i < LONGEST_RUN && has_place(&t, next + 1) &&
               is_straight(&t, i, next + 1, tolerance))
            next++;
        piece = (bc_chart_segment){place_x(&t, i), place_y(&t, i), place_x(&t, next), place_y(&t, next)};
        if (bc_chart_clip(frame, &piece)) {
            if (!begun || piece.x0 != place_x(&t, i) || piece.y0 != place_y(&t, i))
                visit(context, true, piece.x0, piece.y0);
            visit(context, false, piece.x1, piece.y1);
            begun = piece.x1 == place_x(&t, next) && piece.y1 == place_y(&t, next);
        } else {
            begun = false;
        }
        i = next;
    }
}
