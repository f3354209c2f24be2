/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_layout.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Lengths in font sizes, unless they say otherwise. */
#define MARGIN         0.7
#define LINE           1.45 /* from base line to base line */
#define NUMBERS        1.5  /* numbers under an axis */
#define BETWEEN        0.9  /* two panels that share their x axis */
#define KEY_APART      1.3
#define TICK_LENGTH    0.4
#define NAME_WIDTH     1.5 /* of the turned name beside the y numbers */
#define LEAST_FRAME    5.5 /* in height */
#define LEAST_WIDTH    12.0
#define X_TICK_WIDTH   4.0
#define Y_TICK_HEIGHT  2.0
#define SMALLER        1.1  /* step by which a page that is too small is laid out larger */
#define PASSES         3    /* the margins depend on numbers that depend on the frames */
#define FRAME_IN_WIDTH 0.36 /* height of a frame of several, in page widths; of one alone more */
#define ALONE_IN_WIDTH 0.48

/* 7 points in a column of 85 mm, 9 on 180 mm. */
static double font_for(double width)
{
    return fmin(fmax(7.0 + (width / BC_POINTS_PER_MM - 85.0) * (2.0 / 95.0), 6.5), 11.0);
}

static double key_width(cairo_t *cairo, double font, const bc_chart_key *key)
{
    return bc_chart_sample_width(key->kind, font) + 0.5 * font + bc_pen_width(cairo, key->text);
}

static double weight_of(const bc_chart_panel *panel)
{
    return panel->weight == 0.0 ? 1.0 : panel->weight;
}

/* Place the entries of one key in rows that begin at `left`, the first at `x`; returns the base line of the last. */
static double flow_keys(const bc_chart *chart, size_t panel, cairo_t *cairo, double x, double y,
                        bc_chart_layout *layout)
{
    static const bc_chart_kind order[] = {BC_CHART_LINE,  BC_CHART_DOTS, BC_CHART_FILL, BC_CHART_BAR, BC_CHART_KEEP_OUT,
                                          BC_CHART_LIMIT, BC_CHART_MARK, BC_CHART_MEAN, BC_CHART_RULE};
    bool first = true;
    for (size_t o = 0; o < sizeof order / sizeof *order; o++) {
        for (size_t i = 0; i < chart->keys; i++) {
            const double width = key_width(cairo, layout->font, &chart->key[i]);
            if (chart->key[i].panel != panel || chart->key[i].kind != order[o])
                continue;
            if (x + width > layout->right && !(first && x == layout->left)) {
                x = layout->left;
                y += LINE * layout->font;
            }
            layout->key[i] = (bc_chart_spot){x, y};
            x += width + KEY_APART * layout->font;
            first = false;
        }
    }
    return y;
}

static bool has_keys(const bc_chart *chart, size_t panel)
{
    for (size_t i = 0; i < chart->keys; i++)
        if (chart->key[i].panel == panel)
            return true;
    return false;
}

/* Title, part and the key of the chart; returns where the panels begin. */
static double lay_out_head(const bc_chart *chart, cairo_t *cairo, bc_chart_layout *layout)
{
    const double font = layout->font;
    double y = MARGIN * font;
    if (chart->title[0] != '\0') {
        y += LINE * font;
        layout->title = (bc_chart_spot){layout->left, y - 0.3 * font};
    }
    if (chart->part[0] != '\0') {
        y += LINE * font;
        layout->part = (bc_chart_spot){layout->left, y - 0.3 * font};
    }
    bc_pen_font(cairo, font, false);
    if (has_keys(chart, BC_CHART_EVERYWHERE))
        y = flow_keys(chart, BC_CHART_EVERYWHERE, cairo, layout->left, y + font, layout) + 0.45 * font;
    return y;
}

/* Heading and key of a panel, above its frame; returns the frame's top. */
static double lay_out_heading(const bc_chart *chart, size_t p, cairo_t *cairo, double y, bc_chart_layout *layout)
{
    const bc_chart_panel *panel = &chart->panel[p];
    const double font = layout->font;
    double x = layout->left;
    if (panel->heading[0] == '\0' && !has_keys(chart, p))
        return y + 0.4 * font;
    layout->panel[p].heading_y = y + 1.1 * font;
    bc_pen_font(cairo, font, false);
    if (panel->heading[0] != '\0')
        x += bc_pen_width(cairo, panel->heading) + 1.4 * font;
    return flow_keys(chart, p, cairo, x, y + 1.1 * font, layout) + 0.55 * font;
}

static double below_frame(const bc_chart_panel *panel, double font)
{
    return panel->x_below ? BETWEEN * font : (NUMBERS + LINE + 0.3) * font;
}

static double widest_number(const bc_chart_ticks *ticks, cairo_t *cairo)
{
    double widest = 0.0;
    for (size_t i = 0; i < ticks->count; i++)
        widest = fmax(widest, bc_pen_width(cairo, ticks->tick[i].text));
    return widest;
}

static void find_panel_ticks(const bc_chart_panel *panel, double font, cairo_t *cairo, bc_chart_panel_layout *layout)
{
    const double width = layout->frame.right - layout->frame.left, height = layout->frame.bottom - layout->frame.top;
    double most = fmax(2.0, floor(width / (X_TICK_WIDTH * font)));
    char name[BC_CHART_TEXT];
    if (panel->x.counts) /* then a step is 1 at least */
        most = fmin(most, ceil(panel->x.range.to - panel->x.range.from));
    bc_chart_find_ticks(panel->x.range, (size_t)most, panel->x.logarithmic, &layout->x);
    if (panel->x.counts)
        layout->x.minor = 1;
    bc_chart_find_ticks(panel->y.range, (size_t)fmax(2.0, floor(height / (Y_TICK_HEIGHT * font))), panel->y.logarithmic,
                        &layout->y);
    bc_pen_font(cairo, font, false);
    bc_chart_axis_label(&panel->y, layout->y.exponent, false, name);
    layout->brief_name = bc_pen_width(cairo, name) > height + 0.5 * font;
}

/* Frames and their headings from `y` on, `unit` being the height of a frame of weight 1; returns where they end. */
static double lay_out_frames(const bc_chart *chart, cairo_t *cairo, double y, double unit, bc_chart_layout *layout)
{
    for (size_t p = 0; p < chart->panels; p++) {
        bc_chart_panel_layout *panel = &layout->panel[p];
        panel->frame.top = lay_out_heading(chart, p, cairo, y, layout);
        panel->frame.bottom = panel->frame.top + unit * weight_of(&chart->panel[p]);
        panel->frame.left = layout->left;
        panel->frame.right = layout->right;
        y = panel->frame.bottom + below_frame(&chart->panel[p], layout->font);
    }
    return y;
}

static double sum_of_weights(const bc_chart *chart)
{
    double sum = 0.0;
    for (size_t p = 0; p < chart->panels; p++)
        sum += weight_of(&chart->panel[p]);
    return sum;
}

/* The left margin that the numbers of the y axes need. */
static double needed_left(const bc_chart *chart, cairo_t *cairo, bc_chart_layout *layout)
{
    const double font = layout->font;
    double widest = 0.0;
    for (size_t p = 0; p < chart->panels; p++) {
        find_panel_ticks(&chart->panel[p], font, cairo, &layout->panel[p]);
        widest = fmax(widest, widest_number(&layout->panel[p].y, cairo));
    }
    return (MARGIN + NAME_WIDTH + TICK_LENGTH) * font + widest;
}

/* The right end of all frames, beyond which half of the x axes' last numbers stands out. */
static double needed_right(const bc_chart *chart, cairo_t *cairo, const bc_chart_layout *layout)
{
    double right = layout->width - 1.2 * layout->font;
    bc_pen_font(cairo, layout->font, false);
    for (size_t p = 0; p < chart->panels; p++) {
        const bc_chart_ticks *ticks = &layout->panel[p].x;
        const bc_chart_tick *last = &ticks->tick[ticks->count == 0 ? 0 : ticks->count - 1];
        const double at = bc_chart_map_x(&chart->panel[p], &layout->panel[p].frame, last->value);
        const double half = 0.5 * bc_pen_width(cairo, last->text);
        if (ticks->count > 0)
            right = fmin(right, layout->right + layout->width - 0.5 * layout->font - at - half);
    }
    return right;
}

/* Lay out a page of the layout's width and (0: any) height; false when the frames come out too small. */
static bc_status lay_out_page(const bc_chart *chart, cairo_t *cairo, double height, bool *fits, bc_chart_layout *layout,
                              bc_error *error)
{
    const double font = layout->font, weights = sum_of_weights(chart);
    double notes = 0.0, unit = layout->width * (chart->panels == 1 ? ALONE_IN_WIDTH : FRAME_IN_WIDTH);
    bc_status status;
    layout->left = 6.0 * font;
    layout->right = layout->width - 1.6 * font;
    for (int pass = 0; pass < PASSES; pass++) {
        const double top = lay_out_head(chart, cairo, layout);
        const double end = lay_out_frames(chart, cairo, top, 0.0, layout);
        status = bc_chart_break_notes(chart, cairo, layout->width - 2.0 * MARGIN * font, layout, &notes, error);
        if (status != BC_OK)
            return status;
        if (height > 0.0)
            unit = (height - end - notes - MARGIN * font) / weights;
        layout->height = lay_out_frames(chart, cairo, top, fmax(unit, 1.0), layout) + notes + MARGIN * font;
        layout->left = needed_left(chart, cairo, layout);
        layout->right = needed_right(chart, cairo, layout);
    }
    for (size_t i = 0; i < layout->lines; i++) {
        layout->line[i].at.x += MARGIN * font;
        layout->line[i].at.y += layout->height - notes - MARGIN * font;
    }
    layout->height = height > 0.0 ? height : layout->height;
    *fits = layout->right - layout->left >= LEAST_WIDTH * font;
    for (size_t p = 0; p < chart->panels; p++)
        *fits = *fits && unit * fmin(1.0, weight_of(&chart->panel[p])) >= LEAST_FRAME * font;
    return BC_OK;
}

static bc_status allocate(const bc_chart *chart, bc_chart_layout *layout, bc_error *error)
{
    *layout = (bc_chart_layout){.scale = 1.0};
    layout->panel = calloc(chart->panels + 1, sizeof *layout->panel);
    layout->key = calloc(chart->keys + 1, sizeof *layout->key);
    if (layout->panel == NULL || layout->key == NULL)
        return bc_fail_memory(error);
    for (size_t p = 0; p < chart->panels; p++) {
        layout->panel[p].label = calloc(chart->panel[p].items + 1, sizeof(bc_chart_label));
        if (layout->panel[p].label == NULL)
            return bc_fail_memory(error);
        layout->panel[p].labels = chart->panel[p].items;
    }
    return BC_OK;
}

bc_status bc_chart_lay_out(const bc_chart *chart, const bc_plot_options *options, cairo_t *cairo,
                           bc_chart_layout *layout, bc_error *error)
{
    const double width = options->width_mm * BC_POINTS_PER_MM, height = options->height_mm * BC_POINTS_PER_MM;
    double larger = 1.0;
    bool fits = false;
    bc_status status = allocate(chart, layout, error);
    while (status == BC_OK && !fits) {
        layout->width = width * larger;
        layout->font = font_for(width);
        layout->scale = 1.0 / larger;
        status = lay_out_page(chart, cairo, height * larger, &fits, layout, error);
        larger *= SMALLER;
    }
    for (size_t p = 0; status == BC_OK && p < chart->panels; p++)
        status = bc_chart_place_labels(&chart->panel[p], layout->font, cairo, &layout->panel[p], error);
    if (status != BC_OK)
        bc_chart_layout_clear(chart, layout);
    return status;
}

void bc_chart_layout_clear(const bc_chart *chart, bc_chart_layout *layout)
{
    for (size_t p = 0; layout->panel != NULL && p < chart->panels; p++)
        free(layout->panel[p].label);
    free(layout->panel);
    free(layout->key);
    free(layout->line);
    *layout = (bc_chart_layout){0};
}
