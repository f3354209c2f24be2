/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Texts beside the curves, never on them. What is drawn is entered into a grid of cells of one point; a text is tried
 * at places ever further from its point until one covers empty cells only.
 */
#include "internal/chart_layout.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define ASIDE      2.0  /* points left free at either end of a text */
#define NARROW     12.0 /* points: a region of less width is kept free of texts */
#define NEAR       1.1  /* heights of a text from a point's mark, up to which no line need lead to it */
#define POINT_BAND 2.2  /* points: half the width of a region of one wavelength */

typedef struct cells {
    bc_chart_box frame;
    size_t columns, rows;
    unsigned char *taken;
    unsigned char allowed; /* what a text may cover */
    double last_x, last_y; /* of the curve that is being entered */
} cells;

/* What a cell holds. A text may lie across a region's outline where nothing better is left; a line from a point to its
 * text may cross all but other texts. */
enum { EMPTY, OUTLINE, DRAWN, TEXT };

static unsigned char *cell_at(const cells *grid, double x, double y)
{
    const double column = floor(x - grid->frame.left), row = floor(y - grid->frame.top);
    /* What has no place, as 0 on an axis by decades, is no number. */
    if (!(column >= 0.0 && row >= 0.0 && column < (double)grid->columns && row < (double)grid->rows))
        return NULL;
    return &grid->taken[(size_t)row * grid->columns + (size_t)column];
}

static void take_as(cells *grid, unsigned char what, double x, double y)
{
    unsigned char *cell = cell_at(grid, x, y);
    if (cell != NULL && *cell < what)
        *cell = what;
}

static void take(cells *grid, double x, double y)
{
    take_as(grid, DRAWN, x, y);
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

static void take_text(cells *grid, const bc_chart_box *box)
{
    for (double y = box->top; y < box->bottom + 1.0; y += 1.0)
        for (double x = box->left; x < box->right + 1.0; x += 1.0)
            take_as(grid, TEXT, x, y);
}

static bool crosses_text(const cells *grid, double x0, double y0, double x1, double y1)
{
    const double steps = ceil(2.0 * fmax(fabs(x1 - x0), fabs(y1 - y0))) + 1.0;
    for (double i = 0.0; i <= steps; i += 1.0) {
        const unsigned char *cell = cell_at(grid, x0 + (x1 - x0) * i / steps, y0 + (y1 - y0) * i / steps);
        if (cell != NULL && *cell == TEXT)
            return true;
    }
    return false;
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
            if (row < grid->rows && c < grid->columns && grid->taken[row * grid->columns + c] > grid->allowed)
                return false;
    return true;
}

bc_chart_range bc_chart_across(const bc_chart_panel *panel, const bc_chart_box *frame, const bc_chart_item *item)
{
    bc_chart_range x = {bc_chart_map_x(panel, frame, item->from), bc_chart_map_x(panel, frame, item->to)};
    if (x.to - x.from < 2.0 * POINT_BAND) {
        const double middle = 0.5 * (x.from + x.to);
        x = (bc_chart_range){middle - POINT_BAND, middle + POINT_BAND};
    }
    return x;
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

/* A region's outline, so that no text lies across it; all of a narrow one. */
static void take_region(cells *grid, const bc_chart_item *item, bc_chart_range x, double y)
{
    const double end = item->bad ? grid->frame.bottom : grid->frame.top;
    const bc_chart_box whole = {x.from, fmin(y, end), x.to, fmax(y, end)};
    for (double at = whole.top; at < whole.bottom; at += 1.0) {
        take_as(grid, OUTLINE, x.from, at);
        take_as(grid, OUTLINE, x.to, at);
    }
    if (x.to - x.from < NARROW)
        take_box(grid, &whole);
}

/* Of a region outside a closed line. */
static void take_outline(cells *grid, const bc_chart_panel *panel, const bc_chart_item *item)
{
    for (size_t i = 0; i < item->count; i++) {
        const size_t next = (i + 1) % item->count;
        bc_chart_segment piece = {
            bc_chart_map_x(panel, &grid->frame, item->x[i]), bc_chart_map_y(panel, &grid->frame, item->y[i]),
            bc_chart_map_x(panel, &grid->frame, item->x[next]), bc_chart_map_y(panel, &grid->frame, item->y[next])};
        const double steps = bc_chart_clip(&grid->frame, &piece)
                                 ? ceil(2.0 * fmax(fabs(piece.x1 - piece.x0), fabs(piece.y1 - piece.y0))) + 1.0
                                 : -1.0;
        for (double s = 0.0; s <= steps; s += 1.0)
            take_as(grid, OUTLINE, piece.x0 + (piece.x1 - piece.x0) * s / steps,
                    piece.y0 + (piece.y1 - piece.y0) * s / steps);
    }
}

/* A rule is left out: a text may lie upon it, since what goes on above and below is seen to be one line. */
static void take_item(cells *grid, const bc_chart_panel *panel, const bc_chart_item *item, double radius)
{
    const bc_chart_box *frame = &grid->frame;
    const bc_chart_range x = bc_chart_across(panel, frame, item);
    const double from = item->kind == BC_CHART_MARK ? bc_chart_map_x(panel, frame, item->from) : x.from, to = x.to;
    const double y = bc_chart_map_y(panel, frame, item->low);
    const bool closed = item->kind == BC_CHART_KEEP_OUT && item->count > 0;
    const bool is_level =
        (item->kind == BC_CHART_KEEP_OUT && !closed) || item->kind == BC_CHART_LIMIT || item->kind == BC_CHART_MEAN;
    const double middle = item->kind == BC_CHART_MEAN ? 0.5 * (from + to) : from;
    const bc_chart_box mark = {middle - radius, y - radius, middle + radius, y + radius};
    if (item->kind == BC_CHART_FILL)
        take_fill(grid, panel, item);
    if (item->kind == BC_CHART_LINE)
        bc_chart_trace(panel, frame, item, false, 0.1, take_visit, grid);
    if (is_level)
        take_line(grid, from, y, to, y);
    if (closed)
        take_outline(grid, panel, item);
    else if (item->kind == BC_CHART_KEEP_OUT)
        take_region(grid, item, x, y);
    if (item->kind == BC_CHART_LEVEL)
        take_line(grid, frame->left, y, frame->right, y);
    if (item->kind == BC_CHART_MARK || item->kind == BC_CHART_MEAN)
        take_box(grid, &mark);
    if (item->kind == BC_CHART_BAR)
        take_box(grid, &(bc_chart_box){from, bc_chart_map_y(panel, frame, item->high), to, y});
    for (size_t i = 0; item->kind == BC_CHART_DOTS && i < item->count; i++)
        take(grid, bc_chart_map_x(panel, frame, item->x[i]),
             bc_chart_map_y(panel, frame, (item->scale == 0.0 ? 1.0 : item->scale) * item->y[i]));
}

/* Try the text's box at a place; kept when it is free, and when the line to it, where there is one, crosses no text. */
static bool try_at(cells *grid, double left, double top, double width, double height, bc_chart_label *label)
{
    const bc_chart_box box = {left, top, left + width, top + height};
    const bc_chart_box around = {left - ASIDE, top - 1.0, left + width + ASIDE, top + height + 1.0};
    const double x = fmin(fmax(label->from_x, box.left), box.right), y = fmin(fmax(label->from_y, box.top), box.bottom);
    if (!is_free(grid, &around) || (label->far && crosses_text(grid, label->from_x, label->from_y, x, y)))
        return false;
    label->box = box;
    label->base = top + 0.77 * height;
    label->shown = true;
    take_text(grid, &box);
    if (label->far)
        take_line(grid, label->from_x, label->from_y, x, y);
    return true;
}

/* A text of a point: a line leads to it from where it would not be seen to belong to it. */
static bool try_near(cells *grid, double left, double top, double width, double height, double radius,
                     bc_chart_label *label)
{
    const double across = fmax(fmax(left - label->from_x, label->from_x - left - width), 0.0);
    const double along = fmax(fmax(top - label->from_y, label->from_y - top - height), 0.0);
    label->far = hypot(across, along) > radius + NEAR * height;
    return try_at(grid, left, top, width, height, label);
}

static bool try_mark(cells *grid, double x, double y, double radius, double width, double height, bc_chart_label *label)
{
    static const double reach[] = {0.2, 0.6, 1.2, 2.0, 3.0, 4.2, 5.6, 7.2, 9.0}; /* in heights of a text */
    for (size_t r = 0; r < sizeof reach / sizeof *reach; r++) {
        const double away = radius + reach[r] * height;
        label->from_x = x;
        label->from_y = y;
        /* Above, below; centred, to the right, to the left; then beside. */
        for (int below = 0; below < 2; below++) {
            const double top = below ? y + away : y - away - height;
            if (try_near(grid, x - 0.5 * width, top, width, height, radius, label) ||
                try_near(grid, x + 0.5 * away, top, width, height, radius, label) ||
                try_near(grid, x - 0.5 * away - width, top, width, height, radius, label) ||
                try_near(grid, x + 2.0 * away, top, width, height, radius, label) ||
                try_near(grid, x - 2.0 * away - width, top, width, height, radius, label) ||
                try_near(grid, x + 4.0 * away, top, width, height, radius, label) ||
                try_near(grid, x - 4.0 * away - width, top, width, height, radius, label))
                return true;
        }
        if (try_near(grid, x + away, y - 0.5 * height, width, height, radius, label) ||
            try_near(grid, x - away - width, y - 0.5 * height, width, height, radius, label))
            return true;
    }
    return false;
}

/* A region too narrow for its text: beside it, at any height. */
static bool try_beside(cells *grid, const bc_chart_item *item, double first, double last, double y, double width,
                       double height, bc_chart_label *label)
{
    for (double away = 1.0; away < grid->frame.bottom - grid->frame.top; away += 0.5 * height) {
        const double top = item->bad ? y + away : y - away - height;
        if (try_at(grid, last + 4.0, top, width, height, label) ||
            try_at(grid, first - 4.0 - width, top, width, height, label))
            return true;
    }
    return false;
}

/* Along a level, close to it: no line leads there. */
static bool try_level(cells *grid, const bc_chart_item *item, double from, double to, double y, double width,
                      double height, bc_chart_label *label)
{
    static const double along[] = {0.0, 1.0, 0.5, 0.25, 0.75, 0.125, 0.375, 0.625, 0.875};
    const bool region = item->kind == BC_CHART_KEEP_OUT;
    const double first = fmax(from, grid->frame.left), last = fmin(to, grid->frame.right);
    const double room = fmax(last - first - width - 2.0 - 2.0 * ASIDE, 0.0);
    label->far = false;
    if (region && last - first < width + 4.0 + 2.0 * ASIDE)
        return try_beside(grid, item, first, last, y, width, height, label);
    for (int step = 0; step < (region ? 4 : 2); step++) {
        /* Inside a region, at any depth; a line has two sides. */
        const bool below = region ? item->bad : step == 1;
        const double away = 2.5 + (region ? step * height : 0.0);
        for (size_t i = 0; i < sizeof along / sizeof *along; i++)
            if (try_at(grid, first + 1.0 + ASIDE + along[i] * room, below ? y + away : y - away - height, width, height,
                       label))
                return true;
    }
    return false;
}

static bool try_text(cells *grid, const bc_chart_panel *panel, const bc_chart_item *item, double font, cairo_t *cairo,
                     bc_chart_label *label)
{
    const char *text = label->brief ? item->brief : item->text;
    const double width = bc_pen_width(cairo, text), height = 1.15 * BC_CHART_SMALL * font;
    const double from = bc_chart_map_x(panel, &grid->frame, item->from);
    const double to = bc_chart_map_x(panel, &grid->frame, item->to);
    const double y = bc_chart_map_y(panel, &grid->frame, item->low);
    const bc_chart_range x = bc_chart_across(panel, &grid->frame, item);
    if (text[0] == '\0')
        return false;
    switch (item->kind) {
    case BC_CHART_MARK:
    case BC_CHART_DOTS:
        return try_mark(grid, from, y, bc_chart_mark_radius(font), width, height, label);
    case BC_CHART_MEAN:
        return try_mark(grid, 0.5 * (from + to), y, bc_chart_mark_radius(font), width, height, label);
    case BC_CHART_RULE:
        return try_mark(grid, from, grid->frame.top, 1.0, width, height, label);
    case BC_CHART_KEEP_OUT:
    case BC_CHART_LIMIT:
        return try_level(grid, item, x.from, x.to, y, width, height, label);
    default:
        return false;
    }
}

static void place_text(cells *grid, const bc_chart_panel *panel, const bc_chart_item *item, double font, cairo_t *cairo,
                       bc_chart_label *label)
{
    bool placed = false;
    for (int brief = 0; brief < 2 && !placed; brief++) {
        for (grid->allowed = EMPTY; grid->allowed <= OUTLINE && !placed; grid->allowed++) {
            *label = (bc_chart_label){.brief = brief == 1};
            placed = try_text(grid, panel, item, font, cairo, label);
        }
    }
}

static bool is_point(const bc_chart_item *item)
{
    return item->kind == BC_CHART_MARK || item->kind == BC_CHART_MEAN || item->kind == BC_CHART_DOTS;
}

bc_status bc_chart_place_labels(const bc_chart_panel *panel, double font, cairo_t *cairo, bc_chart_panel_layout *layout,
                                bc_error *error)
{
    cells grid = {.frame = layout->frame};
    grid.columns = (size_t)ceil(layout->frame.right - layout->frame.left);
    grid.rows = (size_t)ceil(layout->frame.bottom - layout->frame.top);
    grid.taken = calloc(grid.columns * grid.rows + 1, 1);
    if (grid.taken == NULL)
        return bc_fail_memory(error);
    bc_pen_font(cairo, BC_CHART_SMALL * font, false);
    for (size_t i = 0; i < panel->items; i++)
        take_item(&grid, panel, &panel->item[i], bc_chart_mark_radius(font));
    /* Levels first: a text that belongs to a point may stand further off, with a line to it. */
    for (int points = 0; points < 2; points++)
        for (size_t i = 0; i < panel->items; i++)
            if (is_point(&panel->item[i]) == (points == 1))
                place_text(&grid, panel, &panel->item[i], font, cairo, &layout->label[i]);
    free(grid.taken);
    return BC_OK;
}
