/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_GROW_H
#define BLOOMCOAT_GROW_H
/*
 * Arrays whose length is not known beforehand.
 */
#include <stdbool.h>
#include <stddef.h>

/* Make room for one more item of `size` bytes after `count`. Returns the array, moved or not, or NULL when there is no
 * memory: the old array is then still valid and still the caller's to free. */
void *bc_grow(void *array, size_t *capacity, size_t count, size_t size);

#endif
