/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "grow.h"
#include <stdint.h>
#include <stdlib.h>

void *bc_grow(void *array, size_t *capacity, size_t count, size_t size)
{
    if (array != NULL && count < *capacity)
        return array;
    size_t wanted = *capacity == 0 ? 16 : *capacity * 2;
    if (*capacity > SIZE_MAX / 2 || wanted > SIZE_MAX / size)
        return NULL;
    void *moved = realloc(array, wanted * size);
    if (moved != NULL)
        *capacity = wanted;
    return moved;
}
