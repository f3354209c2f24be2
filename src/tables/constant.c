/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "constant.h"
#include "number.h"
#include <string.h>

#define LONGEST 63

static bool is_glass_code(const char *name)
{
    return strlen(name) == 6 && strspn(name, "0123456789") == 6;
}

/* Number in the first `length` bytes of `text`, or -1 (which no range takes) when it is too large or too small. */
static double leading_number(const char *text, size_t length)
{
    char copy[LONGEST + 1];
    double value = -1;
    memcpy(copy, text, length);
    copy[length] = '\0';
    if (bc_number_parse(copy, 0, &value) != BC_NUMBER_OK)
        return -1;
    return value;
}

/* `name` is at most LONGEST bytes and holds no blanks or commas. */
static bc_constant_kind parse_plain(const char *name, double *n, double *k, const char **expected)
{
    size_t sign = name[0] == '+' || name[0] == '-' ? 1 : 0;
    size_t real = bc_number_length(name + sign);
    const char *rest = name + sign + real;
    if (real == 0)
        return BC_CONSTANT_NONE;
    *expected = "a constant index n from 0.01 to 20 (a glass goes by its six-digit code)";
    *n = leading_number(name, sign + real);
    *k = 0;
    if (*rest != '\0') {
        bool only_imaginary = (*rest == 'i' || *rest == 'j') && rest[1] == '\0';
        size_t imaginary = *rest == '+' || *rest == '-' ? bc_number_length(rest + 1) : 0;
        const char *unit = rest + 1 + imaginary;
        if (only_imaginary)
            *expected = "a constant with its real part, n - ik, such as 3.1-3.3i";
        else if (imaginary == 0 || (*unit != 'i' && *unit != 'j') || unit[1] != '\0')
            return BC_CONSTANT_NONE;
        else if (*unit == 'j')
            *expected = "'i' for the imaginary unit, as in 3.1-3.3i";
        else if (*rest == '+')
            *expected = "an absorbing constant written with a minus, such as 3.1-3.3i: N = n - ik with k >= 0";
        if (only_imaginary || *unit == 'j' || *rest == '+')
            return BC_CONSTANT_WRONG;
        *k = leading_number(rest + 1, imaginary);
    }
    if (!(*n >= 0.01 && *n <= 20))
        return BC_CONSTANT_WRONG;
    *expected = "a constant n - ik with k from 0 to 100";
    return *k >= 0 && *k <= 100 ? BC_CONSTANT_GOOD : BC_CONSTANT_WRONG;
}

/* Without blanks, and with points for commas. */
static void tidy(const char *name, char out[LONGEST + 1])
{
    for (; *name != '\0'; name++) {
        if (*name == ' ' || *name == '\t')
            continue;
        *out = *name;
        if (*out == ',')
            *out = '.';
        out++;
    }
    *out = '\0';
}

bc_constant_kind bc_constant_parse(const char *name, double *n, double *k, const char **expected)
{
    char tidied[LONGEST + 1];
    if (strlen(name) > LONGEST || is_glass_code(name))
        return BC_CONSTANT_NONE;
    if (strpbrk(name, " \t,") == NULL)
        return parse_plain(name, n, k, expected);
    tidy(name, tidied);
    if (parse_plain(tidied, n, k, expected) == BC_CONSTANT_NONE)
        return BC_CONSTANT_NONE;
    *expected = "a constant such as 1.38 or 3.1-3.3i, with a decimal point and without blanks";
    return BC_CONSTANT_WRONG;
}
