/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "expected.h"
#include <cairo.h>
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BLANKS " \t\n"
#define BLOCK  4    /* pixels, of whose average ... */
#define APART  20.0 /* ... grey may differ by so much of 255: edges are smoothed by the library's version */

static void leave_out(char *text, const char *begin, const char *end)
{
    char *from, *to;
    while ((from = strstr(text, begin)) != NULL && (to = strstr(from, end)) != NULL)
        memmove(from, to + strlen(end), strlen(to + strlen(end)) + 1);
}

/* Without pictures, whose letters are the font's, and without the folder's name: both differ from run to run. And
 * without the style sheet, which is the same in every page. */
static void leave_out_what_differs(char *text)
{
    char *from;
    leave_out(text, "<svg", "</svg>");
    leave_out(text, "<style>", "</style>");
    while ((from = strstr(text, scratch_folder())) != NULL)
        memmove(from, from + strlen(scratch_folder()), strlen(from + strlen(scratch_folder())) + 1);
}

static char *read_whole(const char *path)
{
    FILE *file = fopen(path, "rb");
    char *text = calloc(1, 1 << 20);
    ck_assert_ptr_nonnull(text);
    ck_assert_msg(file != NULL, "no file %s; BC_RENEW=yes makes it", path);
    ck_assert_uint_lt(fread(text, 1, (1 << 20) - 1, file), (1 << 20) - 1);
    fclose(file);
    return text;
}

/* Figures of twelve digits may differ in the last ones from one processor to another, and lines break where the name
 * of the folder makes them. */
static void expect_same(const char *path, const char *found, const char *expected)
{
    const char *f = found, *e = expected;
    while (*f != '\0' || *e != '\0') {
        const char *f_from = f, *e_from = e;
        bool same = *f == *e;
        if (isdigit((unsigned char)*f) && isdigit((unsigned char)*e)) {
            char *f_end, *e_end;
            const double a = strtod(f, &f_end), b = strtod(e, &e_end);
            same = a == b || fabs(a - b) <= 1e-7 * fabs(b);
            f = f_end;
            e = e_end;
        } else if (isspace((unsigned char)*f) && isspace((unsigned char)*e)) {
            const size_t f_blanks = strspn(f, BLANKS), e_blanks = strspn(e, BLANKS);
            const bool breaks = memchr(f, '\n', f_blanks) != NULL || memchr(e, '\n', e_blanks) != NULL;
            same = f_blanks == e_blanks || breaks;
            f += f_blanks;
            e += e_blanks;
        } else {
            f++;
            e++;
        }
        ck_assert_msg(same, "%s: found\n%.120s\nexpected\n%.120s", path, f_from, e_from);
    }
}

void expect_written(const char *name, bc_text *text)
{
    char path[512];
    snprintf(path, sizeof path, BC_SOURCE_DIR "/tests/report/expected/%s", name);
    leave_out_what_differs(text->data);
    if (getenv("BC_RENEW") != NULL) {
        FILE *file = fopen(path, "wb");
        ck_assert_ptr_nonnull(file);
        fputs(text->data, file);
        fclose(file);
    } else {
        char *expected = read_whole(path);
        expect_same(path, text->data, expected);
        free(expected);
    }
    bc_text_clear(text);
}

typedef struct reader {
    const bc_text *text;
    size_t at;
} reader;

static cairo_status_t read_png(void *context, unsigned char *data, unsigned length)
{
    reader *from = context;
    if (length > from->text->length - from->at)
        return CAIRO_STATUS_READ_ERROR;
    memcpy(data, from->text->data + from->at, length);
    from->at += length;
    return CAIRO_STATUS_SUCCESS;
}

static double block_average(cairo_surface_t *surface, int left, int top)
{
    double sum = 0.0;
    for (int y = top; y < top + BLOCK; y++) {
        const unsigned char *line = cairo_image_surface_get_data(surface) + y * cairo_image_surface_get_stride(surface);
        for (int x = left; x < left + BLOCK; x++)
            sum += (line[4 * x] + line[4 * x + 1] + line[4 * x + 2]) / 3.0;
    }
    return sum / (BLOCK * BLOCK);
}

void expect_drawn(const char *name, bc_text *png)
{
    char path[512];
    reader from = {png, 0};
    cairo_surface_t *found = cairo_image_surface_create_from_png_stream(read_png, &from), *expected;
    const int width = cairo_image_surface_get_width(found), height = cairo_image_surface_get_height(found);
    snprintf(path, sizeof path, BC_SOURCE_DIR "/tests/report/expected/%s", name);
    if (getenv("BC_RENEW") != NULL)
        ck_assert_int_eq(cairo_surface_write_to_png(found, path), CAIRO_STATUS_SUCCESS);
    expected = cairo_image_surface_create_from_png(path);
    ck_assert_int_eq(cairo_surface_status(expected), CAIRO_STATUS_SUCCESS);
    ck_assert_int_eq(cairo_image_surface_get_width(expected), width);
    ck_assert_int_eq(cairo_image_surface_get_height(expected), height);
    for (int y = 0; y + BLOCK <= height; y += BLOCK)
        for (int x = 0; x + BLOCK <= width; x += BLOCK)
            ck_assert_msg(fabs(block_average(found, x, y) - block_average(expected, x, y)) <= APART,
                          "%s: differs at pixel %d, %d", name, x, y);
    cairo_surface_destroy(found);
    cairo_surface_destroy(expected);
    bc_text_clear(png);
}
