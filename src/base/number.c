/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "number.h"
#include "print.h"
#include <float.h>
#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* More than any number that a person or a spreadsheet writes. */
#define LONGEST 120

static size_t digits(const char *text)
{
    return strspn(text, "0123456789");
}

size_t bc_number_length(const char *text)
{
    size_t whole = digits(text);
    size_t length = whole, fraction = 0;
    if (text[length] == '.') {
        fraction = digits(text + length + 1);
        length += 1 + fraction;
    }
    if (whole + fraction == 0)
        return 0;
    if (text[length] == 'e' || text[length] == 'E') {
        size_t sign = text[length + 1] == '+' || text[length + 1] == '-' ? 1 : 0;
        size_t exponent = digits(text + length + 1 + sign);
        if (exponent > 0)
            length += 1 + sign + exponent;
    }
    return length;
}

double bc_number_read(const char *text, char **end)
{
    locale_t plain = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    if (end != NULL)
        *end = (char *)text;
    if (plain == (locale_t)0)
        return NAN;
    double value = strtod_l(text, end, plain);
    freelocale(plain);
    return value;
}

/* `text` is known to be a number: copy it with its exponent raised by `shift`. */
static void shift_exponent(const char *text, int shift, char *out, size_t size)
{
    size_t mantissa = strcspn(text, "eE");
    long exponent = text[mantissa] == '\0' ? 0 : strtol(text + mantissa + 1, NULL, 10);
    if (exponent > 100000)
        exponent = 100000;
    if (exponent < -100000)
        exponent = -100000;
    snprintf(out, size, "%.*se%ld", (int)mantissa, text, exponent + shift);
}

static int has_comma_for_point(const char *text)
{
    char copy[LONGEST + 1];
    const char *comma = strchr(text, ',');
    if (comma == NULL || strlen(text) > LONGEST)
        return 0;
    memcpy(copy, text, strlen(text) + 1);
    copy[comma - text] = '.';
    size_t sign = copy[0] == '+' || copy[0] == '-' ? 1 : 0;
    return bc_number_length(copy + sign) != 0 && copy[sign + bc_number_length(copy + sign)] == '\0';
}

bc_number_status bc_number_parse(const char *text, int shift, double *value)
{
    char shifted[LONGEST + 32];
    size_t sign = text[0] == '+' || text[0] == '-' ? 1 : 0;
    size_t length = bc_number_length(text + sign);
    if (length == 0 || text[sign + length] != '\0' || sign + length > LONGEST)
        return has_comma_for_point(text) ? BC_NUMBER_COMMA : BC_NUMBER_NONE;
    shift_exponent(text, shift, shifted, sizeof shifted);
    double number = bc_number_read(shifted, NULL);
    if (isnan(number))
        return BC_NUMBER_NONE;
    if (isinf(number))
        return BC_NUMBER_TOO_LARGE;
    size_t mantissa = strcspn(text, "eE");
    size_t significant = strcspn(text, "123456789");
    if (fabs(number) < DBL_MIN && significant < mantissa)
        return BC_NUMBER_TOO_SMALL;
    *value = number;
    return BC_NUMBER_OK;
}

const char *bc_number_remark(bc_number_status status)
{
    static const char *const remark[] = {
        [BC_NUMBER_OK] = "",
        [BC_NUMBER_NONE] = " (not a number)",
        [BC_NUMBER_COMMA] = " (the decimal sign is a point)",
        [BC_NUMBER_TOO_LARGE] = " (too large for a number)",
        [BC_NUMBER_TOO_SMALL] = " (too small for a number other than 0)",
    };
    return remark[status];
}

const char *bc_number_format(double value, char out[BC_NUMBER_SIZE])
{
    double back;
    bc_print(out, BC_NUMBER_SIZE, "%.15g", value);
    back = bc_number_read(out, NULL);
    if (back < value || back > value)
        bc_print(out, BC_NUMBER_SIZE, "%.17g", value);
    return out;
}
