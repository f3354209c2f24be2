/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart.h"
#include "escaped.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void bc_chart_open(bc_chart *chart, const bc_plot_options *options)
{
    *chart = (bc_chart){0};
    if (options->title != NULL)
        bc_chart_copy(chart, chart->title, sizeof chart->title, options->title);
    if (options->part != NULL)
        bc_chart_copy(chart, chart->part, sizeof chart->part, options->part);
}

void bc_chart_clear(bc_chart *chart)
{
    for (size_t p = 0; p < chart->panels; p++)
        free(chart->panel[p].item);
    for (size_t a = 0; a < chart->arrays; a++)
        free(chart->array[a]);
    free(chart->array);
    free(chart->panel);
    free(chart->key);
    free(chart->note);
    *chart = (bc_chart){0};
}

void bc_chart_copy(bc_chart *chart, char *to, size_t size, const char *from)
{
    char *shown = bc_escaped_copy(from);
    size_t length = shown == NULL ? 0 : strlen(shown);
    chart->failed = chart->failed || shown == NULL;
    if (length >= size) {
        length = size - 1;
        while (length > 0 && ((unsigned char)shown[length] & 0xc0) == 0x80)
            length--;
    }
    if (length > 0)
        memcpy(to, shown, length);
    to[length] = '\0';
    free(shown);
}

/* Room for one more of `count` things of `size` bytes; returns it, all zero. */
static void *grow(bc_chart *chart, void **array, size_t *count, size_t *capacity, size_t size)
{
    void *added;
    if (chart->failed)
        return NULL;
    if (*count == *capacity) {
        const size_t more = *capacity == 0 ? 8 : 2 * *capacity;
        void *larger = realloc(*array, more * size);
        if (larger == NULL) {
            chart->failed = true;
            return NULL;
        }
        *array = larger;
        *capacity = more;
    }
    added = (char *)*array + (*count)++ * size;
    memset(added, 0, size);
    return added;
}

bc_chart_panel *bc_chart_add_panel(bc_chart *chart)
{
    void *array = chart->panel;
    bc_chart_panel *panel = grow(chart, &array, &chart->panels, &chart->panel_capacity, sizeof *panel);
    chart->panel = array;
    return panel;
}

bc_chart_item *bc_chart_add(bc_chart *chart, bc_chart_kind kind)
{
    bc_chart_panel *panel = chart->panels == 0 ? NULL : &chart->panel[chart->panels - 1];
    bc_chart_item *item;
    void *array;
    if (panel == NULL)
        return NULL;
    array = panel->item;
    item = grow(chart, &array, &panel->items, &panel->capacity, sizeof *item);
    panel->item = array;
    if (item != NULL)
        item->kind = kind;
    return item;
}

bc_chart_note *bc_chart_add_note(bc_chart *chart)
{
    void *array = chart->note;
    bc_chart_note *note = grow(chart, &array, &chart->notes, &chart->note_capacity, sizeof *note);
    chart->note = array;
    return note;
}

double *bc_chart_array(bc_chart *chart, size_t count)
{
    void *array = chart->array;
    double **place = grow(chart, &array, &chart->arrays, &chart->array_capacity, sizeof *place);
    chart->array = array;
    if (place == NULL)
        return NULL;
    *place = calloc(count + 1, sizeof **place);
    chart->failed = chart->failed || *place == NULL;
    return *place;
}

void bc_chart_add_key(bc_chart *chart, size_t panel, bc_chart_kind kind, int style, bool bad, const char *text)
{
    void *array = chart->key;
    bc_chart_key *key;
    for (size_t i = 0; i < chart->keys; i++) {
        key = &chart->key[i];
        if (key->panel == panel && key->kind == kind && key->style == style && key->bad == bad &&
            strcmp(key->text, text) == 0)
            return;
    }
    key = grow(chart, &array, &chart->keys, &chart->key_capacity, sizeof *key);
    chart->key = array;
    if (key == NULL)
        return;
    *key = (bc_chart_key){.panel = panel, .kind = kind, .style = style, .bad = bad};
    bc_chart_copy(chart, key->text, sizeof key->text, text);
}
