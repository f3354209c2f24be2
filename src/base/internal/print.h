/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PRINT_H
#define BLOOMCOAT_PRINT_H
/*
 * snprintf() with a decimal point in every locale: whoever calls the library may have chosen one with a comma, and a
 * comma parts the cells of a table.
 */
#include <stdarg.h>
#include <stddef.h>

int bc_print(char *to, size_t size, const char *format, ...) __attribute__((format(printf, 3, 4)));
int bc_print_list(char *to, size_t size, const char *format, va_list arguments) __attribute__((format(printf, 3, 0)));

#endif
