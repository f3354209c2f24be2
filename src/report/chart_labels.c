/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Texts beside the curves, never on them. What is drawn is entered into a grid of cells of one point; a text is tried at
 * places ever further from its point until one covers empty cells only.
 */
#include "internal/chart_layout.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LABEL_FONT 0.92 /* of the chart's */

typedef struct cells {
    bc_chart_box frame;
    size_t columns, rows;
    unsigned char *taken;
    double last_x, last_y; /* of the curve that is being entered */
} cells;

static void take(cells *grid, double x, double y)
{
    const double column = floor(x - grid->frame.left), row = floor(y - grid->frame.top);
    if (column >= 0.0 && row >= 0.0 && column < (double)grid->columns && row < (double)grid->rows)
        grid->taken[(size_t)row * grid->columns + (size_t)column] = 1;
}

static void take_line(cells *grid, double x0, double y0, double x1, double y1)
{
    const double steps = ceil(2.0 * fmax(fabs(x1 - x0), fabs(y1 - y0))) + 1.0;
    for (double i = 0.0; i <= steps; i += 1.0)
        take(grid, x0 + (x1 - x0) * i / steps, y0 + (y1 - y0) * i / steps);
}

static void take_box(cells *grid, const bc_chart_box *box)
{
    for (double y = box->top; y < box->bottom + 1.0; y += 1.0)
        for (double x = box->left; x < box->right + 1.0; x += 1.0)
            take(grid, x, y);
}

static void take_visit(void *context, bool move, double x, double y)
{
    cells *grid = context;
    if (!move)
        take_line(grid, grid->last_x, grid->last_y, x, y);
    grid->last_x = x;
    grid->last_y = y;
}

static bool is_free(const cells *grid, const bc_chart_box *box)
{
    if (box->left < grid->frame.left + 1.0 || box->right > grid->frame.right - 1.0 ||
        box->top < grid->frame.top + 1.0 || box->bottom > grid->frame.bottom - 1.0)
        return false;
    for (size_t row = (size_t)(box->top - grid->frame.top); row <= (size_t)(box->bottom - grid->frame.top); row++)
        for (size_t c = (size_t)(box->left - grid->frame.left); c <= (size_t)(box->right - grid->frame.left); c++)
            if (row < grid->rows && c < grid->columns && grid->taken[row * grid->columns + c] != 0)
                return false;
    return true;
}

/* What lies between the edges of a band of percentiles. */
static void take_fill(cells *grid, const bc_chart_panel *panel, const bc_chart_item *item)
{
    const double scale = item->scale == 0.0 ? 1.0 : item->scale;
    for (size_t i = 0; i < item->count; i++) {
        const double x = bc_chart_map_x(panel, &grid->frame, item->x[i]);
        const double top = fmax(bc_chart_map_y(panel, &grid->frame, scale * item->y[i]), grid->frame.top);
        const double bottom = fmin(bc_chart_map_y(panel, &grid->frame, scale * item->lower[i]), grid->frame.bottom);
        if (bottom >= top)
            take_line(grid, x, top, x, bottom);
    }
}

static void take_item(cells *grid, const bc_chart_panel *panel, const bc_chart_item *item, double radius)
{
    const bc_chart_box *frame = &grid->frame;
    const double from = bc_chart_map_x(panel, frame, item->from), to = bc_chart_map_x(panel, frame, item->to);
    const double y = bc_chart_map_y(panel, frame, item->low);
    const bool is_level =
        item->kind == BC_CHART_KEEP_OUT || item->kind == BC_CHART_LIMIT || item->kind == BC_CHART_MEAN;
    const double middle = item->kind == BC_CHART_MEAN ? 0.5 * (from + to) : from;
    const bc_chart_box mark = {middle - radius, y - radius, middle + radius, y + radius};
    if (item->kind == BC_CHART_FILL)
        take_fill(grid, panel, item);
    if (item->kind == BC_CHART_LINE)
        bc_chart_trace(panel, frame, item, false, 0.1, take_visit, grid);
    if (is_level)
        take_line(grid, from, y, to, y);
    if (item->kind == BC_CHART_RULE)
        take_line(grid, from, frame->top, from, frame->bottom);
    if (item->kind == BC_CHART_MARK || item->kind == BC_CHART_MEAN)
        take_box(grid, &mark);
    if (item->kind == BC_CHART_BAR)
        take_box(grid, &(bc_chart_box){from, bc_chart_map_y(panel, frame, item->high), to, y});
    for (size_t i = 0; item->kind == BC_CHART_DOTS && i < item->count; i++)
        take(grid, bc_chart_map_x(panel, frame, item->x[i]),
             bc_chart_map_y(panel, frame, (item->scale == 0.0 ? 1.0 : item->scale) * item->y[i]));
}

/* Try the text's box around a place; kept when it is free. */
static bool try_at(cells *grid, double left, double top, double width, double height, bc_chart_label *label)
{
    const bc_chart_box box = {left, top, left + width, top + height};
    const bc_chart_box around = {left - 1.0, top - 1.0, left + width + 1.0, top + height + 1.0};
    if (!is_free(grid, &around))
        return false;
    label->box = box;
    label->base = top + 0.77 * height;
    label->shown = true;
    take_box(grid, &box);
    return true;
}

static bool try_mark(cells *grid, double x, double y, double radius, double width, double height,
                     bc_chart_label *label)
{
    static const double reach[] = {0.2, 0.6, 1.2, 2.0, 3.0, 4.2, 5.6, 7.2, 9.0}; /* in heights of a text */
    for (size_t r = 0; r < sizeof reach / sizeof *reach; r++) {
        const double away = radius + reach[r] * height;
        label->far = reach[r] > 1.0;
        /* Above, below; centred, to the right, to the left; then beside. */
        for (int below = 0; below < 2; below++) {
            const double top = below ? y + away : y - away - height;
            if (try_at(grid, x - 0.5 * width, top, width, height, label) ||
                try_at(grid, x + 0.5 * away, top, width, height, label) ||
                try_at(grid, x - 0.5 * away - width, top, width, height, label) ||
                try_at(grid, x + 2.0 * away, top, width, height, label) ||
                try_at(grid, x - 2.0 * away - width, top, width, height, label))
                return true;
        }
        if (try_at(grid, x + away, y - 0.5 * height, width, height, label) ||
            try_at(grid, x - away - width, y - 0.5 * height, width, height, label))
            return true;
    }
    return false;
}

/* Along a level: on its far side first, that is inside a region to keep out of. */
static bool try_level(cells *grid, const bc_chart_item *item, double from, double to, double y, double width,
                      double height, bc_chart_label *label)
{
    static const double along[] = {0.0, 1.0, 0.5, 0.25, 0.75};
    const bool down_first = item->kind == BC_CHART_KEEP_OUT && item->bad;
    const double first = fmax(from, grid->frame.left), last = fmin(to, grid->frame.right);
    const double room = fmax(last - first - width - 4.0, 0.0);
    label->far = false;
    for (int step = 0; step < 4; step++) {
        const double away = 2.0 + 1.0 * step * height;
        for (size_t i = 0; i < sizeof along / sizeof *along; i++)
            if (try_at(grid, first + 2.0 + along[i] * room, down_first ? y + away : y - away - height, width, height,
                       label))
                return true;
    }
    for (size_t i = 0; item->kind != BC_CHART_KEEP_OUT && i < sizeof along / sizeof *along; i++)
        if (try_at(grid, first + 2.0 + along[i] * room, y + 2.0, width, height, label))
            return true;
    return false;
}

static bool try_text(cells *grid, const bc_chart_panel *panel, const bc_chart_item *item, double font, cairo_t *cairo,
                     bc_chart_label *label)
{
    const char *text = label->brief ? item->brief : item->text;
    const double width = bc_pen_width(cairo, text), height = 1.15 * LABEL_FONT * font;
    const double from = bc_chart_map_x(panel, &grid->frame, item->from);
    const double to = bc_chart_map_x(panel, &grid->frame, item->to);
    const double y = bc_chart_map_y(panel, &grid->frame, item->low);
    if (text[0] == '\0')
        return false;
    switch (item->kind) {
    case BC_CHART_MARK:
        return try_mark(grid, from, y, bc_chart_mark_radius(font), width, height, label);
    case BC_CHART_MEAN:
        return try_mark(grid, 0.5 * (from + to), y, bc_chart_mark_radius(font), width, height, label);
    case BC_CHART_RULE:
        return try_mark(grid, from, grid->frame.top, 1.0, width, height, label);
    case BC_CHART_KEEP_OUT:
    case BC_CHART_LIMIT:
        return try_level(grid, item, from, to, y, width, height, label);
    default:
        return false;
    }
}

static void place_text(cells *grid, const bc_chart_panel *panel, const bc_chart_item *item, double font,
                       cairo_t *cairo, bc_chart_label *label)
{
    *label = (bc_chart_label){0};
    if (try_text(grid, panel, item, font, cairo, label))
        return;
    label->brief = true;
    (void)try_text(grid, panel, item, font, cairo, label);
}

bc_status bc_chart_place_labels(const bc_chart_panel *panel, double font, cairo_t *cairo,
                                bc_chart_panel_layout *layout, bc_error *error)
{
    cells grid = {.frame = layout->frame};
    grid.columns = (size_t)ceil(layout->frame.right - layout->frame.left);
    grid.rows = (size_t)ceil(layout->frame.bottom - layout->frame.top);
    grid.taken = calloc(grid.columns * grid.rows + 1, 1);
    if (grid.taken == NULL)
        return bc_fail_memory(error);
    bc_pen_font(cairo, LABEL_FONT * font, false);
    for (size_t i = 0; i < panel->items; i++)
        take_item(&grid, panel, &panel->item[i], bc_chart_mark_radius(font));
    /* Points first: a level may be named anywhere along it. */
    for (size_t i = 0; i < panel->items; i++)
        if (panel->item[i].kind == BC_CHART_MARK || panel->item[i].kind == BC_CHART_MEAN)
            place_text(&grid, panel, &panel->item[i], font, cairo, &layout->label[i]);
    for (size_t i = 0; i < panel->items; i++)
        if (panel->item[i].kind != BC_CHART_MARK && panel->item[i].kind != BC_CHART_MEAN)
            place_text(&grid, panel, &panel->item[i], font, cairo, &layout->label[i]);
    free(grid.taken);
    return BC_OK;
}
