/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_layout.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NOTE_LINE       1.35
#define MOST_NOTE_LINES 4

static bc_chart_line *add_line(bc_chart_layout *layout)
{
    if (layout->lines == layout->line_capacity) {
        const size_t more = layout->line_capacity == 0 ? 8 : 2 * layout->line_capacity;
        bc_chart_line *larger = realloc(layout->line, more * sizeof *larger);
        if (larger == NULL)
            return NULL;
        layout->line = larger;
        layout->line_capacity = more;
    }
    layout->line[layout->lines] = (bc_chart_line){0};
    return &layout->line[layout->lines++];
}

/* How many bytes of `text` fit in `width`, broken at a blank; all of the first word even where it is too long. */
static size_t fitting(cairo_t *cairo, double width, const char *text)
{
    char piece[2 * BC_CHART_TEXT];
    size_t fits = 0, at = strspn(text, " ");
    while (text[at] != '\0') {
        at += strcspn(text + at, " ");
        snprintf(piece, sizeof piece, "%.*s", (int)at, text);
        if (fits > 0 && bc_pen_width(cairo, piece) > width)
            break;
        fits = at;
        at += strspn(text + at, " ");
    }
    return fits;
}

static bc_status break_note(const bc_chart_note *note, cairo_t *cairo, double width, double indent, double line_height,
                            bc_chart_layout *layout, bc_error *error)
{
    const char *rest = note->text;
    for (int count = 1; *rest != '\0'; count++) {
        const size_t take = count == MOST_NOTE_LINES ? strlen(rest) : fitting(cairo, width - indent, rest);
        bc_chart_line *line = add_line(layout);
        if (line == NULL)
            return bc_fail_memory(error);
        snprintf(line->text, sizeof line->text, "%.*s", (int)take, rest);
        bc_pen_shorten(cairo, width - indent, line->text, sizeof line->text);
        if (rest == note->text)
            memcpy(line->mark, note->mark, sizeof line->mark);
        line->indent = indent;
        line->at.y = (double)layout->lines * line_height;
        rest += take;
        rest += strspn(rest, " ");
    }
    return BC_OK;
}

bc_status bc_chart_break_notes(const bc_chart *chart, cairo_t *cairo, double width, bc_chart_layout *layout,
                               double *height, bc_error *error)
{
    const double size = BC_CHART_SMALL * layout->font;
    double indent = 0.0;
    layout->lines = 0;
    bc_pen_font(cairo, size, true);
    for (size_t i = 0; i < chart->notes; i++)
        if (chart->note[i].mark[0] != '\0')
            indent = fmax(indent, bc_pen_width(cairo, chart->note[i].mark) + 0.6 * size);
    bc_pen_font(cairo, size, false);
    for (size_t i = 0; i < chart->notes; i++) {
        const bc_status status =
            break_note(&chart->note[i], cairo, width, chart->note[i].mark[0] == '\0' ? 0.0 : indent, NOTE_LINE * size,
                       layout, error);
        if (status != BC_OK)
            return status;
    }
    *height = layout->lines == 0 ? 0.0 : (double)layout->lines * NOTE_LINE * size + 0.5 * size;
    return BC_OK;
}
