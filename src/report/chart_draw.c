/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_draw.h"
#include <string.h>

static void draw_title(const bc_chart *chart, const bc_chart_layout *layout, cairo_t *cairo)
{
    char text[BC_CHART_TEXT];
    memcpy(text, chart->title, sizeof text);
    bc_pen_font(cairo, 1.1 * layout->font, true);
    bc_pen_shorten(cairo, layout->right - layout->left, text, sizeof text);
    bc_pen_write(cairo, layout->title.x, layout->title.y, BC_PEN_LEFT, false, text);
    memcpy(text, chart->part, sizeof text);
    bc_pen_font(cairo, layout->font, false);
    bc_pen_shorten(cairo, layout->right - layout->left, text, sizeof text);
    bc_pen_write(cairo, layout->part.x, layout->part.y, BC_PEN_LEFT, false, text);
}

static void draw_keys(const bc_chart *chart, const bc_chart_layout *layout, cairo_t *cairo)
{
    const double font = layout->font;
    for (size_t i = 0; i < chart->keys; i++) {
        const bc_chart_key *key = &chart->key[i];
        char text[BC_CHART_TEXT];
        bc_chart_draw_sample(key, layout->key[i].x, layout->key[i].y - 0.35 * font, font, cairo);
        memcpy(text, key->text, sizeof text);
        bc_pen_grey(cairo, 0.0);
        bc_pen_font(cairo, font, false);
        bc_pen_shorten(cairo, layout->right - layout->left - bc_chart_sample_width(key->kind, font) - 0.5 * font, text,
                       sizeof text);
        bc_pen_write(cairo, layout->key[i].x + bc_chart_sample_width(key->kind, font) + 0.5 * font, layout->key[i].y,
                     BC_PEN_LEFT, false, text);
    }
}

static void draw_notes(const bc_chart_layout *layout, cairo_t *cairo)
{
    bc_pen_grey(cairo, 0.0);
    for (size_t i = 0; i < layout->lines; i++) {
        const bc_chart_line *line = &layout->line[i];
        bc_pen_font(cairo, BC_CHART_SMALL * layout->font, true);
        bc_pen_write(cairo, line->at.x, line->at.y, BC_PEN_LEFT, false, line->mark);
        bc_pen_font(cairo, BC_CHART_SMALL * layout->font, false);
        bc_pen_write(cairo, line->at.x + line->indent, line->at.y, BC_PEN_LEFT, false, line->text);
    }
}

void bc_chart_draw(const bc_chart *chart, const bc_chart_layout *layout, cairo_t *cairo)
{
    bc_pen_grey(cairo, 1.0);
    cairo_paint(cairo);
    cairo_scale(cairo, layout->scale, layout->scale);
    bc_pen_grey(cairo, 0.0);
    draw_title(chart, layout, cairo);
    draw_keys(chart, layout, cairo);
    for (size_t p = 0; p < chart->panels; p++) {
        const bc_chart_panel *panel = &chart->panel[p];
        char heading[BC_CHART_TEXT];
        memcpy(heading, panel->heading, sizeof heading);
        bc_pen_grey(cairo, 0.0);
        bc_pen_font(cairo, layout->font, false);
        bc_pen_shorten(cairo, layout->right - layout->left, heading, sizeof heading);
        bc_pen_write(cairo, layout->left, layout->panel[p].heading_y, BC_PEN_LEFT, false, heading);
        bc_chart_draw_items(panel, &layout->panel[p], layout->font, cairo);
        bc_chart_draw_axes(panel, &layout->panel[p], layout->font, cairo);
    }
    draw_notes(layout, cairo);
}
