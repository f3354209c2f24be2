/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "print.h"
#include "utf8.h"
#include <bloomcoat/error.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* A message that was cut may end within a character: that one goes too. */
static void drop_partial_character(char *message)
{
    const size_t length = strlen(message);
    size_t start = length;
    while (start > 0 && length - start < 3 && ((unsigned char)message[start - 1] & 0xc0) == 0x80)
        start--;
    if (start > 0 && (unsigned char)message[start - 1] >= 0xc0 &&
        bc_utf8_decode(message + start - 1, length - start + 1, NULL) == 0)
        message[start - 1] = '\0';
}

bc_status bc_fail(bc_error *error, bc_status status, const char *format, ...)
{
    if (error != NULL) {
        va_list arguments;
        error->status = status;
        va_start(arguments, format);
        if (bc_print_list(error->message, sizeof error->message, format, arguments) >= (int)sizeof error->message)
            drop_partial_character(error->message);
        va_end(arguments);
        bc_escaped_whole(error->message, sizeof error->message);
    }
    return status;
}
