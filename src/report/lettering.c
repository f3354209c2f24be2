/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/lettering.h"
#include <math.h>
#include <pango/pangocairo.h>
#include <stdlib.h>
#include <string.h>

/* On every Debian machine with our packages; fontconfig finds another where it is missing. */
#define FAMILY      "DejaVu Sans"
#define CODE_FAMILY "DejaVu Sans Mono"

#define ELLIPSIS "…"

/* A drawing with the letters of several fonts was seen to take 20 MB, and 180 MB of addresses: Pango reads fonts in
 * threads of its own, each with a stack and a heap. AddressSanitizer, which takes terabytes of addresses, marks every
 * byte of a block as it comes and goes: three quarters of the suite's time. */
#ifdef __SANITIZE_ADDRESS__
#define RESERVE ((size_t)1 << 20)
#else
#define RESERVE ((size_t)256 << 20)
#endif

bc_status bc_pen_reserve(bc_error *error)
{
    void *reserve = malloc(RESERVE);
    if (reserve == NULL)
        return bc_fail_memory(error);
    free(reserve);
    return BC_OK;
}

void bc_pen_font(cairo_t *cairo, double size, bool bold)
{
    cairo_select_font_face(cairo, FAMILY, CAIRO_FONT_SLANT_NORMAL,
                           bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(cairo, size);
}

void bc_pen_code_font(cairo_t *cairo, double size)
{
    cairo_select_font_face(cairo, CODE_FAMILY, CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(cairo, size);
}

static const cairo_user_data_key_t layout_key;

/* The layout that goes with a Cairo context, made when it is first wanted: making one costs more than what it is for.
 */
static PangoLayout *layout_of(cairo_t *cairo)
{
    PangoLayout *layout = cairo_get_user_data(cairo, &layout_key);
    if (layout == NULL) {
        cairo_font_options_t *options = cairo_font_options_create();
        layout = pango_cairo_create_layout(cairo);
        /* Pango takes those of the surface alone by itself. */
        cairo_get_font_options(cairo, options);
        pango_cairo_context_set_font_options(pango_layout_get_context(layout), options);
        cairo_font_options_destroy(options);
        /* Letters stand where their outlines put them, at any resolution. */
        pango_context_set_round_glyph_positions(pango_layout_get_context(layout), FALSE);
        pango_layout_set_single_paragraph_mode(layout, TRUE);
        pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
        if (cairo_set_user_data(cairo, &layout_key, layout, g_object_unref) != CAIRO_STATUS_SUCCESS)
            g_error("out of memory"); /* as GLib ends the program when it finds none */
    }
    return layout;
}

/* The text in the letters that are chosen: Cairo keeps those, so that cairo_save() and cairo_restore() hold for them
 * too. */
static PangoLayout *lay_out(cairo_t *cairo, const char *text)
{
    PangoLayout *layout = layout_of(cairo);
    PangoFontDescription *font = pango_font_description_new();
    cairo_font_face_t *face = cairo_get_font_face(cairo);
    cairo_matrix_t size;
    cairo_get_font_matrix(cairo, &size);
    pango_font_description_set_family(font, cairo_toy_font_face_get_family(face));
    if (cairo_toy_font_face_get_weight(face) == CAIRO_FONT_WEIGHT_BOLD)
        pango_font_description_set_weight(font, PANGO_WEIGHT_BOLD);
    pango_font_description_set_absolute_size(font, size.yy * PANGO_SCALE);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);
    pango_layout_set_width(layout, -1);
    pango_layout_set_text(layout, text, -1);
    pango_cairo_update_layout(cairo, layout);
    return layout;
}

static double width_of(PangoLayout *layout)
{
    int width, height;
    pango_layout_get_size(layout, &width, &height);
    return (double)width / PANGO_SCALE;
}

double bc_pen_width(cairo_t *cairo, const char *text)
{
    return width_of(lay_out(cairo, text));
}

void bc_pen_write(cairo_t *cairo, double x, double y, bc_pen_align align, bool upwards, const char *text)
{
    PangoLayout *layout;
    double width;
    cairo_save(cairo);
    cairo_translate(cairo, x, y);
    if (upwards)
        cairo_rotate(cairo, -M_PI / 2.0);
    layout = lay_out(cairo, text);
    width = align == BC_PEN_LEFT ? 0.0 : width_of(layout);
    cairo_move_to(cairo, align == BC_PEN_LEFT ? 0.0 : align == BC_PEN_RIGHT ? -width : -0.5 * width, 0.0);
    pango_cairo_show_layout_line(cairo, pango_layout_get_line_readonly(layout, 0));
    cairo_restore(cairo);
}

void bc_pen_shorten(cairo_t *cairo, double width, char *text, size_t size)
{
    PangoLayout *layout = lay_out(cairo, text);
    PangoLogAttr *at;
    const char *end = text + strlen(text);
    GString *trial;
    int count;
    if (width_of(layout) <= width)
        return;
    pango_layout_get_log_attrs(layout, &at, &count); /* one for each character, and one for the end */
    trial = g_string_new(NULL);
    for (int c = count - 1; c-- > 0;) {
        end = g_utf8_prev_char(end);
        if (!at[c].is_cursor_position || (c > 0 && end[-1] == ' '))
            continue;
        g_string_truncate(trial, 0);
        g_string_append_len(trial, text, end - text);
        g_string_append(trial, ELLIPSIS);
        pango_layout_set_text(layout, trial->str, -1);
        if (trial->len < size && width_of(layout) <= width)
            break;
        g_string_truncate(trial, 0);
    }
    memcpy(text, trial->str, trial->len + 1);
    g_string_free(trial, TRUE);
    g_free(at);
}

void bc_pen_break(cairo_t *cairo, double width, const char *text, bc_pen_take_line *take, void *context)
{
    PangoLayout *layout = pango_layout_copy(lay_out(cairo, text)); /* who takes a line may measure others */
    bool more = true;
    pango_layout_set_width(layout, (int)floor(width * PANGO_SCALE));
    for (GSList *i = pango_layout_get_lines_readonly(layout); i != NULL && more; i = i->next) {
        const PangoLayoutLine *line = i->data;
        size_t start = (size_t)line->start_index, end = start + (size_t)line->length;
        while (end > start && text[end - 1] == ' ')
            end--;
        while (start < end && text[start] == ' ')
            start++;
        more = take(context, start, end - start);
    }
    g_object_unref(layout);
}
