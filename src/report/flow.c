/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/flow.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ASCENT   1.02 /* from a line's top to its base line, in sizes of the letters */
#define SMALL    7.5
#define HEAD_GAP 10.0

static const double tone_color[][3] = {[BC_TONE_PLAIN] = {0.07, 0.07, 0.07},
                                       [BC_TONE_GOOD] = {0.02, 0.376, 0.227},
                                       [BC_TONE_CARE] = {0.478, 0.294, 0.0},
                                       [BC_TONE_BAD] = {0.63, 0.07, 0.07}};

static void choose_letters(bc_flow *flow, bc_letters letters)
{
    if (letters.code)
        bc_pen_code_font(flow->cairo, letters.size);
    else
        bc_pen_font(flow->cairo, letters.size, letters.bold);
}

void bc_flow_tone(bc_flow *flow, bc_tone tone)
{
    cairo_set_source_rgb(flow->cairo, tone_color[tone][0], tone_color[tone][1], tone_color[tone][2]);
}

void bc_flow_fill(bc_flow *flow, double left, double top, double right, double bottom)
{
    cairo_rectangle(flow->cairo, left, top, right - left, bottom - top);
    cairo_fill(flow->cairo);
}

/* `length` bytes of a text, with a zero after them; "" without memory. */
static const char *piece(bc_flow *flow, const char *text, size_t length)
{
    flow->scratch.length = 0;
    bc_text_add_bytes(&flow->scratch, text, length);
    flow->failed = flow->failed || flow->scratch.failed;
    return flow->failed ? "" : flow->scratch.data;
}

double bc_flow_text_width(bc_flow *flow, bc_letters letters, const char *text)
{
    choose_letters(flow, letters);
    return bc_pen_width(flow->cairo, text);
}

double bc_flow_word_width(bc_flow *flow, bc_letters letters, const char *text)
{
    double widest = 0.0;
    choose_letters(flow, letters);
    while (*(text += strspn(text, " ")) != '\0') {
        const size_t length = strcspn(text, " ");
        widest = fmax(widest, bc_pen_width(flow->cairo, piece(flow, text, length)));
        text += length;
    }
    return widest;
}

void bc_lines_clear(bc_lines *lines)
{
    free(lines->line);
    *lines = (bc_lines){0};
}

typedef struct taker {
    bc_flow *flow;
    bc_lines *lines;
} taker;

static bool take_line(void *context, size_t start, size_t length)
{
    const taker *to = context;
    bc_lines *lines = to->lines;
    if (lines->count == lines->capacity) {
        const size_t more = lines->capacity == 0 ? 8 : 2 * lines->capacity;
        bc_line *larger = realloc(lines->line, more * sizeof *larger);
        if (larger == NULL) {
            to->flow->failed = true;
            return false;
        }
        lines->line = larger;
        lines->capacity = more;
    }
    lines->line[lines->count++] = (bc_line){start, length};
    return true;
}

void bc_flow_break(bc_flow *flow, bc_letters letters, const char *text, double width, bc_lines *lines)
{
    *lines = (bc_lines){.text = text};
    choose_letters(flow, letters);
    bc_pen_break(flow->cairo, width, text, take_line, &(taker){flow, lines});
}

void bc_flow_write(bc_flow *flow, bc_letters letters, const bc_lines *lines, size_t which, double x, double y,
                   bc_pen_align align)
{
    if (which >= lines->count)
        return;
    choose_letters(flow, letters);
    bc_pen_write(flow->cairo, x, y + ASCENT * letters.size, align, false,
                 piece(flow, lines->text + lines->line[which].start, lines->line[which].length));
}

double bc_flow_page_height(const bc_flow *flow)
{
    return flow->bottom - flow->top;
}

double bc_flow_room(const bc_flow *flow)
{
    return flow->bottom - flow->y;
}

/* A single line, shortened where it is too long. */
static void write_small(bc_flow *flow, double x, double base, double width, bc_pen_align align, const char *text)
{
    char shortened[BC_CHART_TEXT];
    const size_t length = strnlen(text, sizeof shortened - 1);
    memcpy(shortened, text, length);
    shortened[length] = '\0';
    while (length > 0 && strlen(text) > length && ((unsigned char)text[strlen(shortened)] & 0xc0) == 0x80)
        shortened[strlen(shortened) - 1] = '\0'; /* not in the middle of a character */
    choose_letters(flow, (bc_letters){.size = SMALL});
    bc_pen_shorten(flow->cairo, width, shortened, sizeof shortened);
    bc_pen_write(flow->cairo, x, base, align, false, shortened);
}

void bc_flow_start_page(bc_flow *flow)
{
    const bc_document *document = flow->document;
    const double foot = flow->bottom + 22.0;
    char number[64];
    if (flow->page > 0)
        cairo_show_page(flow->cairo);
    flow->page++;
    flow->y = flow->top;
    snprintf(number, sizeof number, "Page %zu of %zu", flow->page, flow->pages);
    cairo_save(flow->cairo); /* what is being written goes on in its own colour */
    bc_pen_grey(flow->cairo, 0.35);
    write_small(flow, flow->left, foot, 200.0, BC_PEN_LEFT, BC_DOCUMENT_MAKER);
    write_small(flow, flow->right, foot, 200.0, BC_PEN_RIGHT, number);
    if (flow->page > 1) {
        const double half = 0.48 * (flow->right - flow->left);
        write_small(flow, flow->left, flow->top - HEAD_GAP, half, BC_PEN_LEFT, document->title);
        if (document->part != NULL)
            write_small(flow, flow->right, flow->top - HEAD_GAP, half, BC_PEN_RIGHT, document->part);
    }
    cairo_restore(flow->cairo);
}

void bc_flow_need(bc_flow *flow, double height)
{
    if (flow->y + height > flow->bottom && flow->y > flow->top)
        bc_flow_start_page(flow);
}

void bc_flow_space(bc_flow *flow, double height)
{
    if (flow->y > flow->top)
        flow->y += height;
}

void bc_flow_paragraph(bc_flow *flow, bc_letters letters, const char *text, double left, double right)
{
    const double height = BC_LINE_HEIGHT * letters.size;
    bc_lines lines;
    bc_flow_break(flow, letters, text, right - left, &lines);
    if (lines.count <= 4) /* a short one stays together, of a long one no line stays alone */
        bc_flow_need(flow, (double)lines.count * height);
    for (size_t i = 0; i < lines.count; i++) {
        bc_flow_need(flow, lines.count > 1 && (i == 0 || i + 2 == lines.count) ? 2.0 * height : height);
        bc_flow_write(flow, letters, &lines, i, left, flow->y, BC_PEN_LEFT);
        flow->y += height;
    }
    bc_lines_clear(&lines);
}
