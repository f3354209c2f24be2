/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESK_SYSTEM_CALLS_H
#define BLOOMCOAT_DESK_SYSTEM_CALLS_H
/*
 * System calls that are never needed, taken away by the kernel (seccomp): what a fault in a reader of files could be
 * used for is then out of reach.
 */
#include <stdbool.h>

typedef enum desk_part {
    DESK_SERVES,   /* the desk itself: it has its socket, and starts this very program alone */
    DESK_COMPUTES, /* a command that it started: no other process, no signal to one, no connection */
} desk_part;

/* The path that the desk starts programs by: execve() with any other string, even of the same words, is refused. */
extern const char desk_own_program[];

/* Set for the commands that the desk starts. */
#define DESK_JOB_VARIABLE "BLOOMCOAT_DESK_JOB"

/* From here on, for this thread and all that it starts. What is taken away fails with EPERM (clone3() with ENOSYS, so
 * that clone() is tried, whose arguments a filter can see). false: this kernel, or this build, has no filter. */
bool desk_filter_system_calls(desk_part part);

#endif
