/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_CHART_H
#define BLOOMCOAT_REPORT_CHART_H
/*
 * A chart: panels under one another, each with two axes and what is drawn between them; a key above, notes below.
 *
 * A report fills a bc_chart and hands it to bc_chart_write(). A failed allocation is kept in `failed` and reported
 * once, at the end. Numbers are shown as they are given: percent, nm, degrees. Arrays are not copied and must live
 * until the chart is written; those of bc_chart_array() do.
 */
#include <bloomcoat/plot.h>

#define BC_CHART_TEXT  320
#define BC_CHART_BRIEF 8
#define BC_STYLE_INK   (-1) /* the style of what is black and solid */

/* What a panel shows, in the order in which it is drawn. */
typedef enum bc_chart_kind {
    BC_CHART_FILL,     /* between lower[] and y[], at x[] */
    BC_CHART_BAR,      /* a rectangle, from..to and low..high */
    BC_CHART_KEEP_OUT, /* from..to, what lies beyond `low` (bad: below it): hatched; with x[] and y[] what lies outside
                          the closed line through them, its text being placed by from, to and low */
    BC_CHART_RULE,     /* an upright line at `from` */
    BC_CHART_LEVEL,    /* a thin line at `low`, across */
    BC_CHART_LIMIT,    /* a level at `low`, from..to, that single points may pass: the limit of a mean */
    BC_CHART_LINE,     /* y[] at x[] */
    BC_CHART_DOTS,     /* the same, point by point; without x[] a text alone, beside `from` and `low` */
    BC_CHART_MEAN,     /* a level at `low` with a diamond; bad: it breaks its limit */
    BC_CHART_MARK,     /* one point, from and low; bad: a cross */
} bc_chart_kind;

typedef struct bc_chart_item {
    bc_chart_kind kind;
    int style; /* bc_chart_color() */
    double from, to, low, high;
    size_t count;
    const double *x, *y, *lower;
    const double *rgb; /* [3] of a bar that is a colour itself; NULL: its style's */
    double scale;      /* of y and lower; 0 counts as 1 */
    bool bad;
    bool open; /* a mark that lets what is behind it be seen */
    char text[BC_CHART_TEXT];   /* is placed where it hides nothing */
    char brief[BC_CHART_BRIEF]; /* takes its place where there is no room */
} bc_chart_item;

typedef struct bc_chart_range {
    double from, to;
} bc_chart_range;

typedef struct bc_chart_axis {
    char name[64];  /* "Reflectance"; with its unit it makes the label */
    char brief[16]; /* "R": where the name has no room */
    char unit[16];
    bc_chart_range range;
    bc_chart_range numbered; /* ticks are left out beyond; from == to: none are */
    bool logarithmic;
    bool counts; /* its numbers count something: ticks at whole ones alone */
} bc_chart_axis;

typedef struct bc_chart_panel {
    char heading[BC_CHART_TEXT];
    bc_chart_axis x, y;
    bool x_below;  /* the panel below has the same x axis, and its numbers serve both */
    double weight; /* share of the height; 0 counts as 1 */
    size_t items, capacity;
    bc_chart_item *item;
} bc_chart_panel;

#define BC_CHART_EVERYWHERE ((size_t)-1)

/* One entry of a key: of the chart, above all panels, or of one panel, after its heading. */
typedef struct bc_chart_key {
    size_t panel; /* BC_CHART_EVERYWHERE: of the chart */
    bc_chart_kind kind;
    int style;
    bool bad;
    char text[BC_CHART_TEXT];
} bc_chart_key;

typedef struct bc_chart_note {
    char mark[BC_CHART_BRIEF]; /* stands before it, as "a" does before the callout that is drawn as a */
    char text[2 * BC_CHART_TEXT];
} bc_chart_note;

typedef struct bc_chart {
    char title[BC_CHART_TEXT];
    char part[BC_CHART_TEXT];
    size_t panels, keys, notes;
    size_t panel_capacity, key_capacity, note_capacity;
    bc_chart_panel *panel;
    bc_chart_key *key;
    bc_chart_note *note;
    size_t arrays, array_capacity;
    double **array;
    bool failed;
} bc_chart;

/* A chart with the title and part of the options. */
void bc_chart_open(bc_chart *chart, const bc_plot_options *options);
void bc_chart_clear(bc_chart *chart);

/* Append an empty one; NULL once an allocation failed. The pointer holds until the next is appended. */
bc_chart_panel *bc_chart_add_panel(bc_chart *chart);
bc_chart_item *bc_chart_add(bc_chart *chart, bc_chart_kind kind); /* to the last panel */
bc_chart_note *bc_chart_add_note(bc_chart *chart);
/* Room for `count` numbers that live as long as the chart, all zero; NULL once an allocation failed. */
double *bc_chart_array(bc_chart *chart, size_t count);
/* An entry of the key, unless the same one is there already. */
void bc_chart_add_key(bc_chart *chart, size_t panel, bc_chart_kind kind, int style, bool bad, const char *text);

/* Draw the chart, append the file to `out`, and release the chart. */
bc_status bc_chart_write(bc_chart *chart, const bc_plot_options *options, bc_text *out, bc_error *error);

/* Text from outside, cut on a character's boundary; what is no UTF-8, or would not print, is escaped. */
void bc_chart_copy(bc_chart *chart, char *to, size_t size, const char *from);

#endif
