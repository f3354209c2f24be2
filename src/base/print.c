/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "print.h"
#include <locale.h>
#include <stdio.h>

int bc_print_list(char *to, size_t size, const char *format, va_list arguments)
{
    const locale_t plain = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    const locale_t before = plain == (locale_t)0 ? (locale_t)0 : uselocale(plain);
    /* NOLINTNEXTLINE(clang-analyzer-valist.Uninitialized): the caller's; the analyzer does not follow it that far */
    const int length = vsnprintf(to, size, format, arguments);
    if (plain != (locale_t)0) {
        uselocale(before);
        freelocale(plain);
    }
    return length;
}

int bc_print(char *to, size_t size, const char *format, ...)
{
    va_list arguments;
    int length;
    va_start(arguments, format);
    length = bc_print_list(to, size, format, arguments);
    va_end(arguments);
    return length;
}
