/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "arena.h"
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#if BC_ARENA_GAP > 0
#include <sanitizer/asan_interface.h>
#else
#define ASAN_POISON_MEMORY_REGION(at, size) ((void)(at), (void)(size))
#endif

void *bc_arena_take(bc_arena *arena, size_t count, size_t size)
{
    size_t bytes, rounded;
    void *piece;
    if (size != 0 && count > (SIZE_MAX - BC_ARENA_ALIGNMENT - BC_ARENA_GAP) / size) {
        arena->overflow = true;
        return NULL;
    }
    bytes = count * size;
    rounded = (bytes + BC_ARENA_ALIGNMENT - 1) / BC_ARENA_ALIGNMENT * BC_ARENA_ALIGNMENT + BC_ARENA_GAP;
    if (rounded > SIZE_MAX - arena->used) {
        arena->overflow = true;
        return NULL;
    }
    piece = arena->memory == NULL ? NULL : arena->memory + arena->used;
    if (BC_ARENA_GAP > 0 && piece != NULL)
        ASAN_POISON_MEMORY_REGION((unsigned char *)piece + bytes, rounded - bytes);
    arena->used += rounded;
    return piece;
}

bc_status bc_arena_open(bc_arena *arena, bc_error *error)
{
    if (arena->overflow)
        return bc_fail_memory(error);
    arena->size = arena->used == 0 ? BC_ARENA_ALIGNMENT : arena->used;
    arena->memory = aligned_alloc(BC_ARENA_ALIGNMENT, arena->size);
    if (arena->memory == NULL)
        return bc_fail_memory(error);
    memset(arena->memory, 0, arena->size);
    arena->used = 0;
    return BC_OK;
}
