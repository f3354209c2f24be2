/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_LETTERING_H
#define BLOOMCOAT_REPORT_LETTERING_H
/*
 * Text on a Cairo surface, shaped by Pango: any script, right-to-left runs in their order, another font where the
 * chosen one has no letter. Text is UTF-8; lengths are in points.
 */
#include <bloomcoat/error.h>
#include <cairo.h>
#include <stdbool.h>
#include <stddef.h>

/* Before anything is drawn: BC_ERROR_MEMORY where there is too little left for it. GLib, Pango and fontconfig end the
 * process, or worse, when an allocation of theirs fails; so it should not come to that. */
bc_status bc_pen_reserve(bc_error *error);

typedef enum bc_pen_align { BC_PEN_LEFT, BC_PEN_CENTRE, BC_PEN_RIGHT } bc_pen_align;

/* Choose the letters of this size, in points, for what is measured and written next. */
void bc_pen_font(cairo_t *cairo, double size, bool bold); /* sans serif */
void bc_pen_code_font(cairo_t *cairo, double size);       /* of one width, for file names and command lines */
double bc_pen_width(cairo_t *cairo, const char *text);
/* `text` with its base line at y; `upwards`: turned by a quarter, reading from below. */
void bc_pen_write(cairo_t *cairo, double x, double y, bc_pen_align align, bool upwards, const char *text);
/* Cut with an ellipsis, between two characters as a reader counts them, where it is wider than `width`; `size` is that
 * of the array. */
void bc_pen_shorten(cairo_t *cairo, double width, char *text, size_t size);

/* Called for each line of a text that is broken to `width`, with its first byte and its length without blanks at its
 * ends. Breaks lie where Unicode allows them (UAX 14), or inside a word that is too long for any line. False ends it.
 */
typedef bool bc_pen_take_line(void *context, size_t start, size_t length);
/* An empty text is one empty line. */
void bc_pen_break(cairo_t *cairo, double width, const char *text, bc_pen_take_line *take, void *context);

#endif
