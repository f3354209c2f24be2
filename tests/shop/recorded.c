/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recorded.h"
#include <check.h>
#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

recorded *begin_record(void)
{
    recorded *r = calloc(1, sizeof *r);
    ck_assert_ptr_nonnull(r);
    return r;
}

void record(recorded *r, double value, double tolerance, const char *format, ...)
{
    va_list arguments;
    ck_assert_uint_lt(r->figures, MOST_FIGURES);
    va_start(arguments, format);
    ck_assert_int_lt(vsnprintf(r->figure[r->figures].name, sizeof r->figure[r->figures].name, format, arguments),
                     sizeof r->figure[r->figures].name);
    va_end(arguments);
    r->figure[r->figures].value = value;
    r->figure[r->figures].tolerance = tolerance;
    r->figures++;
}

static void write_anew(const recorded *r, const char *path)
{
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    for (size_t i = 0; i < r->figures; i++)
        fprintf(file, "%s %.10g\n", r->figure[i].name, r->figure[i].value);
    ck_assert_int_eq(fclose(file), 0);
}

static bool is_same(double value, double before, double tolerance)
{
    return value == before || (isnan(value) && isnan(before)) ||
           fabs(value - before) <= tolerance + 1e-9 * fabs(before);
}

static void hold_against(const recorded *r, const char *path)
{
    char figure[64] = "";
    double before;
    FILE *file = fopen(path, "r");
    ck_assert_msg(file != NULL, "no file %s; BC_RENEW=yes makes it", path);
    for (size_t i = 0; i < r->figures; i++) {
        ck_assert_msg(fscanf(file, "%63s %lf", figure, &before) == 2 && strcmp(figure, r->figure[i].name) == 0,
                      "%s line %zu: found %s, recorded was %s", path, i + 1, r->figure[i].name, figure);
        ck_assert_msg(is_same(r->figure[i].value, before, r->figure[i].tolerance),
                      "%s line %zu, %s: found %.10g, recorded was %.10g", path, i + 1, figure, r->figure[i].value,
                      before);
    }
    ck_assert_msg(fscanf(file, "%63s", figure) != 1, "%s: %s was recorded and is not found", path, figure);
    fclose(file);
}

void expect_as_recorded(recorded *r, const char *name)
{
    char path[512];
    snprintf(path, sizeof path, BC_SOURCE_DIR "/tests/shop/recorded/%s", name);
    if (getenv("BC_RENEW") != NULL)
        write_anew(r, path);
    else
        hold_against(r, path);
    free(r);
}
