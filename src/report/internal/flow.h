/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_FLOW_H
#define BLOOMCOAT_REPORT_FLOW_H
/*
 * Text that flows down the pages of a PDF. Places and lengths are in points, y downwards.
 *
 * Everything is drawn twice: first onto nothing, to learn how many pages there are.
 */
#include "chart_pen.h"
#include "document.h"

typedef struct bc_flow {
    cairo_t *cairo;
    const bc_document *document;
    double width, height; /* of the paper */
    double more;          /* of a page alone: height for a picture beyond its least */
    double left, right, top, bottom;
    double y;           /* where the next thing begins */
    size_t page, pages; /* pages 0: not known yet */
    bc_text scratch;
    bool failed; /* no memory */
} bc_flow;

typedef struct bc_letters {
    double size;
    bool bold, code;
} bc_letters;

#define BC_LINE_HEIGHT 1.38 /* in sizes of the letters */

void bc_flow_start_page(bc_flow *flow);
/* Go to a new page unless `height` fits on this one, or nothing is on it yet. */
void bc_flow_need(bc_flow *flow, double height);
/* The height of an empty page, and what is left of this one. */
double bc_flow_page_height(const bc_flow *flow);
double bc_flow_room(const bc_flow *flow);
void bc_flow_space(bc_flow *flow, double height); /* dropped at the top of a page */

/* A text broken into lines of `width` at most, as bc_pen_break() does it. */
typedef struct bc_line {
    size_t start, length; /* bytes of the text */
} bc_line;
typedef struct bc_lines {
    const char *text;
    size_t count, capacity;
    bc_line *line;
} bc_lines;
void bc_flow_break(bc_flow *flow, bc_letters letters, const char *text, double width, bc_lines *lines);
void bc_lines_clear(bc_lines *lines);

double bc_flow_text_width(bc_flow *flow, bc_letters letters, const char *text);
/* The widest word of a text. */
double bc_flow_word_width(bc_flow *flow, bc_letters letters, const char *text);
/* One of the lines, its top at y; in the colour that is set. */
void bc_flow_write(bc_flow *flow, bc_letters letters, const bc_lines *lines, size_t which, double x, double y,
                   bc_pen_align align);
void bc_flow_tone(bc_flow *flow, bc_tone tone);
void bc_flow_fill(bc_flow *flow, double left, double top, double right, double bottom);

/* A text between two x, over as many pages as it takes; letters of a line height's size. */
void bc_flow_paragraph(bc_flow *flow, bc_letters letters, const char *text, double left, double right);
void bc_flow_table(bc_flow *flow, const bc_block *block);

#endif
