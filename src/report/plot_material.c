/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_pen.h"
#include "internal/chart_scale.h"
#include "internal/plot_words.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define POINTS       801
#define MOST_DOTS    60   /* rows of a table that are still seen one by one */
#define DECADES_FROM 30.0 /* largest over smallest k, from which k stands on a logarithmic axis */
#define NOTE_SIZE    240

typedef struct table {
    double *x, *n, *k;             /* [POINTS], as they are interpolated */
    double *row_x, *row_n, *row_k; /* [rows] */
    size_t rows;
    void *memory;
} table;

static bc_status load(const bc_dispersion *material, table *all, bc_error *error)
{
    double from_nm, to_nm, *next;
    all->rows = bc_dispersion_rows(material);
    all->memory = next = calloc(3 * (POINTS + all->rows), sizeof(double));
    if (next == NULL)
        return bc_fail_memory(error);
    all->x = next;
    all->n = all->x + POINTS;
    all->k = all->n + POINTS;
    all->row_x = all->k + POINTS;
    all->row_n = all->row_x + all->rows;
    all->row_k = all->row_n + all->rows;
    bc_dispersion_range(material, &from_nm, &to_nm);
    for (size_t i = 0; i < POINTS; i++)
        all->x[i] = i + 1 == POINTS ? to_nm : from_nm + (to_nm - from_nm) * (double)i / (POINTS - 1);
    for (size_t row = 0; row < all->rows; row++)
        bc_dispersion_row(material, row, &all->row_x[row], &all->row_n[row], &all->row_k[row]);
    return bc_dispersion_index(material, POINTS, all->x, all->n, all->k, error);
}

static void add_curve(bc_chart *chart, const table *all, const double *value, const double *row_value)
{
    bc_chart_item *item = bc_chart_add(chart, BC_CHART_LINE);
    if (item == NULL)
        return;
    item->count = POINTS;
    item->x = all->x;
    item->y = value;
    item = all->rows > MOST_DOTS ? NULL : bc_chart_add(chart, BC_CHART_DOTS);
    if (item == NULL)
        return;
    item->count = all->rows;
    item->x = all->row_x;
    item->y = row_value;
    item->style = BC_STYLE_INK;
    bc_chart_add_key(chart, 0, BC_CHART_LINE, 0, false, "interpolated");
    bc_chart_add_key(chart, 0, BC_CHART_DOTS, BC_STYLE_INK, false, "rows of the table");
}

static bc_plot_extent extent_of(const table *all, const double *row_value, bool positive)
{
    bc_plot_extent extent = BC_PLOT_NO_EXTENT;
    for (size_t row = 0; row < all->rows; row++)
        if (!positive || row_value[row] > 0.0)
            bc_plot_stretch(&extent, 1, &all->row_x[row], &row_value[row], -HUGE_VAL, HUGE_VAL);
    return extent;
}

static bc_chart_panel *add_panel(bc_chart *chart, const table *all, const char *name)
{
    bc_chart_panel *panel = bc_chart_add_panel(chart);
    if (panel == NULL)
        return NULL;
    snprintf(panel->y.name, sizeof panel->y.name, "%s", name);
    bc_plot_wavelength_axis(all->row_x[0], all->row_x[all->rows - 1], &panel->x);
    return panel;
}

static void add_n(bc_chart *chart, const bc_dispersion *material, const table *all)
{
    const bc_plot_extent extent = extent_of(all, all->row_n, false);
    const double room = fmax(0.06 * (extent.most - extent.least), 1e-4 * extent.most);
    bc_chart_panel *panel = add_panel(chart, all, "n");
    if (panel == NULL)
        return;
    bc_chart_copy(chart, panel->heading, sizeof panel->heading, bc_dispersion_name(material));
    panel->x_below = bc_dispersion_absorbs(material);
    panel->y.range = bc_chart_whole_steps((bc_chart_range){extent.least - room, extent.most + room}, 5);
    add_curve(chart, all, all->n, all->row_n);
}

/* k may run from 1e-8 to 1: then by decades. Where it is 0 there is no point on such an axis. */
static void add_k(bc_chart *chart, const table *all)
{
    const bc_plot_extent extent = extent_of(all, all->row_k, true);
    bc_chart_panel *panel = add_panel(chart, all, "k");
    if (panel == NULL)
        return;
    panel->y.logarithmic = extent.most > DECADES_FROM * extent.least;
    panel->y.range = panel->y.logarithmic
                         ? (bc_chart_range){pow(10.0, floor(log10(extent.least))), pow(10.0, ceil(log10(extent.most)))}
                         : bc_chart_whole_steps((bc_chart_range){0.0, 1.06 * extent.most}, 5);
    add_curve(chart, all, all->k, all->row_k);
}

static bool any_zero(const table *all)
{
    for (size_t row = 0; row < all->rows; row++)
        if (all->row_k[row] == 0.0)
            return true;
    return false;
}

static void add_notes(bc_chart *chart, const bc_dispersion *material, const table *all)
{
    const bool by_decades = chart->panels > 0 && chart->panel[chart->panels - 1].y.logarithmic;
    const char *source = bc_dispersion_note(material, "source");
    bc_chart_note *note = by_decades && any_zero(all) ? bc_chart_add_note(chart) : NULL;
    char text[NOTE_SIZE];
    if (note != NULL)
        snprintf(note->text, sizeof note->text, "Where no k is drawn it is 0.");
    note = source == NULL ? NULL : bc_chart_add_note(chart);
    if (note == NULL)
        return;
    bc_plot_name(chart, text, sizeof text, source);
    snprintf(note->text, sizeof note->text, "Source: %s", text);
}

bc_status bc_plot_material(const bc_dispersion *material, const bc_plot_options *options, bc_text *out, bc_error *error)
{
    table all = {0};
    bc_chart chart;
    bc_status status;
    if (bc_dispersion_is_constant(material))
        return bc_fail(error, BC_ERROR_INPUT, "'%s' is a constant index; it has no table to draw",
                       bc_dispersion_name(material));
    status = load(material, &all, error);
    if (status == BC_OK) {
        bc_chart_open(&chart, options);
        add_n(&chart, material, &all);
        if (bc_dispersion_absorbs(material))
            add_k(&chart, &all);
        add_notes(&chart, material, &all);
        status = bc_chart_write(&chart, options, out, error);
    }
    free(all.memory);
    return status;
}
