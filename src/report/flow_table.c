/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/flow.h"
#include <math.h>
#include <string.h>

#define SIZE      7.8
#define CODE_SIZE 6.4
#define GAP       11.0 /* between columns */
#define PAD       2.6  /* above and below the text of a row */
#define LEAST     0.05 /* of the table: no column gets narrower for the sake of the others' words */
#define MOST_WORD 0.3  /* of the table: longer words are broken */
#define PASSES    4
#define NARROW    0.14 /* of the table: a column that needs no more is not broken at all */
#define FULL      0.6  /* a table wider than this is stretched to the whole width */
#define LINE      (BC_LINE_HEIGHT * SIZE)

/* What the columns of a table would like to have. */
typedef struct wishes {
    double natural[BC_DOCUMENT_COLUMNS]; /* the widest cell in one line */
    double least[BC_DOCUMENT_COLUMNS];   /* the widest word */
    double mean[BC_DOCUMENT_COLUMNS];    /* of all cells: one long cell does not starve the other columns */
} wishes;

typedef struct table {
    const bc_block *block;
    wishes wishes;
    double left[BC_DOCUMENT_COLUMNS], width[BC_DOCUMENT_COLUMNS];
    double right; /* of the last column */
    bc_lines cell[BC_DOCUMENT_COLUMNS];
    size_t lines; /* of the row at hand */
} table;

static bc_letters letters_of(const bc_block *block, size_t index)
{
    const bool heading = index < block->columns;
    const bool code = !heading && block->code[index % block->columns];
    return (bc_letters){code ? CODE_SIZE : SIZE, heading || block->cell[index].tone == BC_TONE_BAD, code};
}

static void measure(bc_flow *flow, const bc_block *block, wishes *w)
{
    const double rows = (double)(block->cells / block->columns); /* NOLINT(bugprone-integer-division): whole rows */
    for (size_t i = 0; i < block->cells; i++) {
        const size_t column = i % block->columns;
        const bc_letters letters = letters_of(block, i);
        const double width = bc_flow_text_width(flow, letters, block->cell[i].text);
        w->natural[column] = fmax(w->natural[column], width);
        w->mean[column] += width / rows;
        w->least[column] = fmax(w->least[column], bc_flow_word_width(flow, letters, block->cell[i].text));
    }
}

static double sum(size_t count, const double *value)
{
    double total = 0.0;
    for (size_t i = 0; i < count; i++)
        total += value[i];
    return total;
}

/* Words stay whole where there is room. */
static void give_least(size_t columns, double room, const wishes *w, double width[])
{
    double whole;
    for (size_t i = 0; i < columns; i++)
        width[i] = w->natural[i] <= NARROW * room ? w->natural[i] : fmin(w->least[i], MOST_WORD * room);
    whole = sum(columns, width);
    for (size_t i = 0; i < columns && whole > room; i++)
        width[i] = fmax(LEAST * room, width[i]) * room / (whole + LEAST * room * (double)columns);
}

/* What is left goes to the columns by how much text is in them, and to none more than it can use. */
static void share_room(size_t columns, double room, const wishes *w, double width[])
{
    give_least(columns, room, w, width);
    for (int pass = 0; pass < PASSES; pass++) {
        const double left = room - sum(columns, width);
        double want[BC_DOCUMENT_COLUMNS], all;
        for (size_t i = 0; i < columns; i++)
            want[i] = width[i] < w->natural[i] ? w->mean[i] : 0.0;
        all = sum(columns, want);
        if (left <= 0.0 || all <= 0.0)
            return;
        for (size_t i = 0; i < columns; i++)
            width[i] = fmin(fmax(w->natural[i], width[i]), width[i] + left * want[i] / all);
    }
}

static void lay_out(bc_flow *flow, table *t)
{
    const size_t columns = t->block->columns;
    const double all = flow->right - flow->left, room = all - GAP * (double)(columns - 1);
    double x = flow->left, total;
    measure(flow, t->block, &t->wishes);
    total = sum(columns, t->wishes.natural);
    if (total > room)
        share_room(columns, room, &t->wishes, t->width);
    else
        for (size_t i = 0; i < columns; i++)
            t->width[i] = t->wishes.natural[i] + (total > FULL * room ? (room - total) / (double)columns : GAP);
    for (size_t i = 0; i < columns; i++) {
        t->left[i] = x;
        t->right = x + t->width[i];
        x += t->width[i] + GAP;
    }
}

static void break_row(bc_flow *flow, table *t, size_t first)
{
    t->lines = 1;
    for (size_t i = 0; i < t->block->columns; i++) {
        t->cell[i] = (bc_lines){0};
        if (first + i >= t->block->cells)
            continue;
        /* a hair more, so that rounding does not break what was measured to fit */
        bc_flow_break(flow, letters_of(t->block, first + i), t->block->cell[first + i].text, t->width[i] + 0.01,
                      &t->cell[i]);
        t->lines = t->cell[i].count > t->lines ? t->cell[i].count : t->lines;
    }
}

static void rule(bc_flow *flow, const table *t, double grey, double thick)
{
    bc_pen_grey(flow->cairo, grey);
    bc_flow_fill(flow, t->left[0], flow->y - 0.5 * thick, t->right, flow->y + 0.5 * thick);
}

/* Lines from..to of the row that was broken, and the rule beneath it. */
static void draw_lines(bc_flow *flow, const table *t, size_t first, size_t from, size_t to)
{
    flow->y += PAD;
    for (size_t i = 0; i < t->block->columns && first + i < t->block->cells; i++) {
        const bool right = t->block->right[i];
        const bc_letters letters = letters_of(t->block, first + i);
        const double lower = letters.code ? 0.5 * (SIZE - CODE_SIZE) : 0.0;
        bc_flow_tone(flow, t->block->cell[first + i].tone);
        for (size_t line = from; line < to; line++)
            bc_flow_write(flow, letters, &t->cell[i], line, right ? t->left[i] + t->width[i] : t->left[i],
                          flow->y + lower + LINE * (double)(line - from), right ? BC_PEN_RIGHT : BC_PEN_LEFT);
    }
    flow->y += LINE * (double)(to - from) + PAD;
    rule(flow, t, first == 0 ? 0.3 : 0.82, first == 0 ? 0.8 : 0.5);
}

static void draw_heading(bc_flow *flow, table *t)
{
    break_row(flow, t, 0);
    draw_lines(flow, t, 0, 0, t->lines);
    for (size_t i = 0; i < t->block->columns; i++)
        bc_lines_clear(&t->cell[i]);
}

static double height_of(size_t lines)
{
    return LINE * (double)lines + 2.0 * PAD;
}

/* A row goes to the next page as a whole; only one that is higher than a page is cut, between its lines. */
static void draw_row(bc_flow *flow, table *t, size_t first)
{
    const double page = bc_flow_page_height(flow) - 3.0 * LINE - 2.0 * PAD;
    break_row(flow, t, first);
    for (size_t from = 0, to; from < t->lines; from = to) {
        double room = bc_flow_room(flow);
        if (height_of(t->lines - from) > room && (height_of(t->lines - from) <= page || room < height_of(4))) {
            bc_lines kept[BC_DOCUMENT_COLUMNS];
            const size_t lines = t->lines;
            memcpy(kept, t->cell, sizeof kept);
            bc_flow_start_page(flow);
            draw_heading(flow, t);
            memcpy(t->cell, kept, sizeof kept);
            t->lines = lines;
            room = bc_flow_room(flow);
        }
        to = height_of(t->lines - from) <= room ? t->lines : from + (size_t)fmax(1.0, (room - 2.0 * PAD) / LINE);
        draw_lines(flow, t, first, from, to);
    }
    for (size_t i = 0; i < t->block->columns; i++)
        bc_lines_clear(&t->cell[i]);
}

void bc_flow_table(bc_flow *flow, const bc_block *block)
{
    table t = {.block = block};
    if (block->cells < block->columns)
        return;
    lay_out(flow, &t);
    bc_flow_space(flow, 2.0);
    bc_flow_need(flow, height_of(2) + height_of(3)); /* the headings never stay alone */
    draw_heading(flow, &t);
    for (size_t first = block->columns; first < block->cells && !flow->failed; first += block->columns)
        draw_row(flow, &t, first);
    flow->y += 4.0;
}
