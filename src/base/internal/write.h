/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_WRITE_H
#define BLOOMCOAT_WRITE_H
#include <stddef.h>

/* Write all bytes to an open file, on after an interrupted, short or for the moment impossible write. Returns 0, or the
 * errno of the write that failed. */
int bc_write_all(int file, const char *bytes, size_t count);

#endif
