/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_ARENA_H
#define BLOOMCOAT_ARENA_H
/*
 * One allocation per workspace. An arena is measured first and carved afterwards by the same code:
 *
 *     bc_arena arena = {0};
 *     layout(&arena, object);                 // counts bytes, every pointer comes out NULL
 *     if (bc_arena_open(&arena, error)) ...   // one aligned, zeroed allocation
 *     layout(&arena, object);                 // hands out the pieces
 *
 * so an array is named once and cannot be forgotten in a ladder of frees: free(arena.memory) releases everything.
 */
#include <bloomcoat/error.h>
#include <stdbool.h>
#include <stddef.h>

#define BC_ARENA_ALIGNMENT 64 /* a cache line, and one AVX-512 register */

/* Bytes after each piece that nobody may touch. Under AddressSanitizer some, so that what runs past the end of a piece
 * is seen, as it would be had each been allocated alone. */
#define BC_ARENA_GAP 0
#if defined(__SANITIZE_ADDRESS__)
#undef BC_ARENA_GAP
#define BC_ARENA_GAP 64
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#undef BC_ARENA_GAP
#define BC_ARENA_GAP 64
#endif
#endif

typedef struct bc_arena {
    unsigned char *memory; /* NULL while measuring */
    size_t used;
    size_t size;
    bool overflow;
} bc_arena;

/* `count` items of `size` bytes, 64-byte aligned and zero; NULL while measuring. */
void *bc_arena_take(bc_arena *arena, size_t count, size_t size);

/* Allocate what was measured and start handing out. */
bc_status bc_arena_open(bc_arena *arena, bc_error *error);

#endif
