/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESK_CONFINE_H
#define BLOOMCOAT_DESK_CONFINE_H
/*
 * Holding this process, and all it starts, to the folders it may write in, by the kernel (Landlock).
 */
#include <stddef.h>

/* The last of the folders may be removed itself, for which empty folders beside it can be removed as well. From here on
 * files can be written, made and removed beneath these folders alone (NULL is skipped), and devices be written to.
 * Before any thread is started: a thread that runs is not held. Returns the version of Landlock that holds it; 0: this
 * kernel has none. One before DESK_CONFINES_EMPTYING lets files elsewhere be cut short, which is then the filter's to
 * deny (system_calls.h). */
long desk_confine(size_t folders, const char *const *folder);

#define DESK_CONFINES_EMPTYING 3

#endif
