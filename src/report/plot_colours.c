/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/plot_colours.h"
#include "internal/chart_scale.h"
#include "internal/numbers.h"
#include "print.h"
#include <math.h>

#define ROOM          0.12 /* of the range, around what it must reach */
#define LEAST_LAB     1.0  /* of a* and b*, shown at least */
#define LEAST_XY      0.01
#define STEPS         6
#define MOST_DOTS     ((size_t)200)
#define CIRCLE_POINTS 120
#define CORNER        0.8    /* of the radius: the height of a text beside a circle */
#define FARTHEST      1000.0 /* from a reference, in a* and b* */
#define HALVINGS      50
#define FAR           10.0 /* ranges: beyond the frame whatever the axis */

bc_colour_panel bc_colour_panel_of(const bc_callout *callout, bool chromaticity)
{
    return (bc_colour_panel){callout, callout, chromaticity, {HUGE_VAL, -HUGE_VAL}, {HUGE_VAL, -HUGE_VAL}};
}

bool bc_is_chromaticity(const bc_callout *callout)
{
    return callout->colour == BC_COLOUR_X || callout->colour == BC_COLOUR_Y || callout->colour == BC_ELLIPSE_XY;
}

bool bc_colour_panel_holds(const bc_colour_panel *panel, const bc_callout *callout)
{
    return bc_same_colour(panel->callout, callout) && bc_is_chromaticity(callout) == panel->chromaticity;
}

static double across_of(const bc_colour_panel *panel, const bc_colour *colour)
{
    return panel->chromaticity ? colour->x : colour->a;
}

static double up_of(const bc_colour_panel *panel, const bc_colour *colour)
{
    return panel->chromaticity ? colour->y : colour->b;
}

static void reach(bc_chart_range *range, double from, double to)
{
    if (!isfinite(from) || !isfinite(to))
        return;
    range->from = fmin(range->from, from);
    range->to = fmax(range->to, to);
}

void bc_colour_panel_reach(bc_colour_panel *panel, size_t count, const bc_colour *colour)
{
    for (size_t i = 0; i < count; i++) {
        reach(&panel->across, across_of(panel, &colour[i]), across_of(panel, &colour[i]));
        reach(&panel->up, up_of(panel, &colour[i]), up_of(panel, &colour[i]));
    }
}

/* The point of an ellipse at this turn of its own parameter. */
static void on_ellipse(const bc_callout *callout, double turn, double *x, double *y)
{
    const bc_ellipse *ellipse = &callout->ellipse;
    const double c = cos(ellipse->turn_rad), s = sin(ellipse->turn_rad);
    const double u = 100.0 * callout->limit * ellipse->half_axis[0] * cos(turn);
    const double v = 100.0 * callout->limit * ellipse->half_axis[1] * sin(turn);
    *x = ellipse->centre[0] + c * u - s * v;
    *y = ellipse->centre[1] + s * u + c * v;
}

/* The point in this direction from the reference where a colour as light as it differs by the limit. */
static void at_difference(const bc_callout *callout, double turn, double *x, double *y)
{
    const bc_colour reference = {.L = callout->reference[0], .a = callout->reference[1], .b = callout->reference[2]};
    double near = 0.0, far = FARTHEST;
    for (int halving = 0; halving < HALVINGS; halving++) {
        const double middle = 0.5 * (near + far);
        const bc_colour there = {
            .L = reference.L, .a = reference.a + middle * cos(turn), .b = reference.b + middle * sin(turn)};
        if (bc_colour_difference(&reference, &there) < 100.0 * callout->limit)
            near = middle;
        else
            far = middle;
    }
    *x = reference.a + far * cos(turn);
    *y = reference.b + far * sin(turn);
}

/* The point of a closed limit in the panel's plane at this turn about its middle. */
static void on_limit(const bc_callout *callout, double turn, double *x, double *y)
{
    if (callout->colour == BC_COLOUR_DIFFERENCE)
        at_difference(callout, turn, x, y);
    else
        on_ellipse(callout, turn, x, y);
}

static bool has_own_middle(const bc_callout *callout)
{
    return bc_callout_is_ellipse(callout) || callout->colour == BC_COLOUR_DIFFERENCE;
}

void bc_colour_panel_reach_limit(bc_colour_panel *panel, const bc_callout *callout)
{
    const double from = 100.0 * (callout->target - callout->limit), to = 100.0 * (callout->target + callout->limit);
    for (int i = 0; has_own_middle(callout) && i < CIRCLE_POINTS; i++) {
        double x, y;
        on_limit(callout, 2.0 * M_PI * i / CIRCLE_POINTS, &x, &y);
        reach(&panel->across, x, x);
        reach(&panel->up, y, y);
    }
    if (callout->colour == BC_NO_COLOUR || has_own_middle(callout))
        return;
    if (callout->colour != BC_COLOUR_B && callout->colour != BC_COLOUR_Y)
        reach(&panel->across, from, to);
    if (callout->colour != BC_COLOUR_A && callout->colour != BC_COLOUR_X)
        reach(&panel->up, from, to);
}

static bc_chart_range with_room(bc_chart_range range, double least)
{
    double room;
    if (!(range.to >= range.from))
        range = (bc_chart_range){0.0, least};
    room = fmax(ROOM * (range.to - range.from), 0.5 * least);
    return bc_chart_whole_steps((bc_chart_range){range.from - room, range.to + room}, STEPS);
}

/* Where the light itself, and grey, has its place. */
static void add_white(bc_chart *chart, const bc_colour *white, const bc_colour_panel *panel)
{
    bc_chart_item *item = bc_chart_add(chart, BC_CHART_LEVEL);
    if (item != NULL)
        item->low = up_of(panel, white);
    item = bc_chart_add(chart, BC_CHART_RULE);
    if (item != NULL)
        item->from = item->to = across_of(panel, white);
}

bc_chart_panel *bc_colour_panel_add(bc_chart *chart, bc_colour_panel *panel)
{
    static const char *const name[2][2] = {{"a*", "b*"}, {"x", "y"}};
    const double least = panel->chromaticity ? LEAST_XY : LEAST_LAB;
    bc_chart_panel *added = bc_chart_add_panel(chart);
    bc_illuminant illuminant;
    bc_observer observer;
    bc_colour white;
    char light[BC_CHART_TEXT];
    if (added == NULL)
        return NULL;
    bc_callout_view(panel->callout, &illuminant, &observer);
    bc_colour_white(illuminant, observer, &white);
    bc_colour_panel_reach(panel, 1, &white);
    panel->across = added->x.range = with_room(panel->across, least);
    panel->up = added->y.range = with_room(panel->up, least);
    bc_plot_light(light, panel->light);
    bc_print(added->heading, sizeof added->heading, "Colour of the %s, %s, %s° observer; %.120s",
             panel->callout->quantity == BC_R ? "reflection" : "transmitted light", bc_illuminant_word(illuminant),
             observer == BC_OBSERVER_2 ? "2" : "10", light);
    bc_print(added->x.name, sizeof added->x.name, "%s", name[panel->chromaticity][0]);
    bc_print(added->y.name, sizeof added->y.name, "%s", name[panel->chromaticity][1]);
    add_white(chart, &white, panel);
    return added;
}

/* A circle about the target, an ellipse, the line of a colour difference, or a strip that reaches far beyond the frame.
 */
static void outline(const bc_colour_panel *panel, const bc_callout *callout, bc_chart_item *item, double *x, double *y)
{
    const double middle = 100.0 * callout->target, half = 100.0 * callout->limit;
    const bool upright = callout->colour == BC_COLOUR_A || callout->colour == BC_COLOUR_X;
    const double wide = FAR * (panel->across.to - panel->across.from), high = FAR * (panel->up.to - panel->up.from);
    const bool ellipse = has_own_middle(callout), round = callout->colour == BC_CHROMA || ellipse;
    double top = CORNER * half;
    item->count = round ? CIRCLE_POINTS : 4;
    item->x = x;
    item->y = y;
    for (size_t i = 0; i < item->count; i++) {
        const double turn = 2.0 * M_PI * (double)i / CIRCLE_POINTS;
        const double right = i == 1 || i == 2 ? 1.0 : -1.0, above = i >= 2 ? 1.0 : -1.0;
        x[i] = round ? half * cos(turn) : upright ? middle + right * half : right * wide;
        y[i] = round ? half * sin(turn) : upright ? above * high : middle + above * half;
        if (ellipse) {
            on_limit(callout, turn, &x[i], &y[i]);
            top = i == 0 ? y[i] : fmax(top, y[i]);
        }
    }
    /* The text: beside a strip that is upright, above one that lies, in a corner beside a circle. */
    item->from = upright ? middle + half : panel->across.from;
    item->to = panel->across.to;
    item->low = upright ? panel->up.from : round ? top : middle + half;
}

void bc_colour_panel_add_limit(bc_chart *chart, const bc_colour_panel *panel, const bc_callout *callout,
                               const char *letter)
{
    double *x, *y;
    char limit[BC_PLOT_LIMIT];
    bc_chart_item *item;
    if (callout->colour == BC_NO_COLOUR)
        return;
    x = bc_chart_array(chart, CIRCLE_POINTS);
    y = bc_chart_array(chart, CIRCLE_POINTS);
    item = bc_chart_add(chart, BC_CHART_KEEP_OUT);
    if (x == NULL || y == NULL || item == NULL)
        return;
    outline(panel, callout, item, x, y);
    bc_plot_limit(callout, limit);
    bc_print(item->text, sizeof item->text, "%s%s%s", letter, letter[0] == '\0' ? "" : ": ", limit);
    bc_print(item->brief, sizeof item->brief, "%s", letter);
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_KEEP_OUT, 0, false, "outside the limit");
}

static void add_points(bc_chart *chart, const bc_colour_panel *panel, size_t count, const bc_colour *colour, int style,
                       bool joined)
{
    double *x = bc_chart_array(chart, count), *y = bc_chart_array(chart, count);
    for (int line = joined && count > 1; line >= 0; line--) {
        bc_chart_item *item = bc_chart_add(chart, line == 1 ? BC_CHART_LINE : BC_CHART_DOTS);
        if (x == NULL || y == NULL || item == NULL)
            return;
        item->count = count;
        item->x = x;
        item->y = y;
        item->style = style;
    }
    for (size_t i = 0; i < count; i++) {
        x[i] = across_of(panel, &colour[i]);
        y[i] = up_of(panel, &colour[i]);
    }
}

void bc_colour_panel_add_path(bc_chart *chart, const bc_colour_panel *panel, const bc_colour_path *path, int style)
{
    add_points(chart, panel, path->count, path->colour, style, true);
    for (size_t end = 0; end < 2 && path->count > 1; end++) {
        const size_t i = end == 0 ? 0 : path->count - 1;
        const double x = across_of(panel, &path->colour[i]), y = up_of(panel, &path->colour[i]);
        bc_chart_item *item = isfinite(x) && isfinite(y) ? bc_chart_add(chart, BC_CHART_DOTS) : NULL;
        if (item == NULL)
            continue;
        item->from = item->to = x;
        item->low = y;
        item->style = style;
        bc_print(item->text, sizeof item->text, "%.3g°", bc_degrees(path->aoi_rad[i]));
    }
}

void bc_colour_panel_add_cloud(bc_chart *chart, const bc_colour_panel *panel, size_t count, const bc_colour *colour,
                               int style)
{
    add_points(chart, panel, count < MOST_DOTS ? count : MOST_DOTS, colour, style, false);
}

void bc_colour_panel_add_mark(bc_chart *chart, const bc_colour_panel *panel, const bc_colour *colour, bool bad,
                              const char *text, const char *brief)
{
    const double x = across_of(panel, colour), y = up_of(panel, colour);
    bc_chart_item *item = isfinite(x) && isfinite(y) ? bc_chart_add(chart, BC_CHART_MARK) : NULL;
    if (item == NULL)
        return;
    item->from = item->to = x;
    item->low = y;
    item->bad = bad;
    item->open = true; /* runs lie about it */
    bc_print(item->text, sizeof item->text, "%s", text);
    bc_print(item->brief, sizeof item->brief, "%s", brief);
}
