/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/error.h>
#include <stdarg.h>
#include <stdio.h>

bc_status bc_fail(bc_error *error, bc_status status, const char *format, ...)
{
    if (error != NULL) {
        va_list arguments;
        error->status = status;
        va_start(arguments, format);
        vsnprintf(error->message, sizeof error->message, format, arguments);
        va_end(arguments);
    }
    return status;
}

bc_status bc_fail_memory(bc_error *error)
{
    return bc_fail(error, BC_ERROR_MEMORY, "out of memory");
}
