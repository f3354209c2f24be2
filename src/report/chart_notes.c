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

typedef struct note_lines {
    bc_chart_layout *layout;
    const bc_chart_note *note;
    cairo_t *cairo;
    double width, indent, line_height;
    int count;
    bool failed;
} note_lines;

/* The last line that a note may have takes all that is left, shortened. */
static bool take_line(void *context, size_t start, size_t length)
{
    note_lines *to = context;
    const char *text = to->note->text + start;
    const bool last = ++to->count == MOST_NOTE_LINES;
    bc_chart_line *line = add_line(to->layout);
    if (line == NULL) {
        to->failed = true;
        return false;
    }
    snprintf(line->text, sizeof line->text, "%.*s", last ? (int)strlen(text) : (int)length, text);
    if (last)
        bc_pen_shorten(to->cairo, to->width, line->text, sizeof line->text);
    if (to->count == 1)
        memcpy(line->mark, to->note->mark, sizeof line->mark);
    line->indent = to->indent;
    line->at.y = (double)to->layout->lines * to->line_height;
    return !last;
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
        const bc_chart_note *note = &chart->note[i];
        const double before = note->mark[0] == '\0' ? 0.0 : indent;
        note_lines lines = {layout, note, cairo, width - before, before, NOTE_LINE * size, 0, false};
        bc_pen_break(cairo, width - before, note->text, take_line, &lines);
        if (lines.failed)
            return bc_fail_memory(error);
    }
    *height = layout->lines == 0 ? 0.0 : (double)layout->lines * NOTE_LINE * size + 0.5 * size;
    return BC_OK;
}
