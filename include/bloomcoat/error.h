/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_ERROR_H
#define BLOOMCOAT_ERROR_H
/*
 * How a function says that it failed.
 *
 * Every function that can fail returns a bc_status and, when it is not BC_OK, fills the bc_error the caller passed
 * (which may be NULL). Nothing below cli/ prints or exits. The message is whole: it names the place, what was found and
 * what would be right, so a caller only has to show it.
 */
#include <bloomcoat/api.h>

BC_API_BEGIN

#define BC_ERROR_SIZE 1024

typedef enum bc_status {
    BC_OK = 0,
    BC_ERROR_INPUT,  /* a file, an option or an argument is wrong: the person can mend it */
    BC_ERROR_MEMORY, /* an allocation failed */
    BC_ERROR_IO,     /* the machine failed to read or write: disk full, read error */
} bc_status;

typedef struct bc_error {
    bc_status status;
    char message[BC_ERROR_SIZE]; /* one sentence, UTF-8, no newline at its end; cut, never overrun, when too long */
} bc_error;

/* Fill `error` (if not NULL) from a format and return `status`, so that a failing function can `return bc_fail(...)`.
 */
bc_status bc_fail(bc_error *error, bc_status status, const char *format, ...)
#if defined(__GNUC__)
    __attribute__((format(printf, 3, 4)))
#endif
    ;

/* The one sentence for a failed allocation; returns BC_ERROR_MEMORY. Inline, so that compilers see that it is never OK.
 */
static inline bc_status bc_fail_memory(bc_error *error)
{
    bc_fail(error, BC_ERROR_MEMORY, "out of memory");
    return BC_ERROR_MEMORY;
}

BC_API_END

#endif
