/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "expected.h"
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Without pictures, whose letters are the font's, and without the folder's name: both differ from run to run. */
static void leave_out_what_differs(char *text)
{
    char *from, *end;
    while ((from = strstr(text, "<svg")) != NULL && (end = strstr(from, "</svg>")) != NULL)
        memmove(from, end + 6, strlen(end + 6) + 1);
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
            same = true;
            f += strspn(f, " \t\n");
            e += strspn(e, " \t\n");
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
